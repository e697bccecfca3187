"""Joining: taps, typed answers, leaving and coming back, changing, and what the coach hears."""

from typing import Any

import pytest

from bot.flows.changes import FinishJoin, SaveProfile, SetPerson, SetSchedule, WithdrawClearance
from bot.flows.joining import join
from bot.flows.joining.questions import JOIN_FORM
from bot.flows.machine import Event, EventKind, Turn
from bot.reference.catalogue import LANGUAGE
from core.vocabulary import PersonId
from tests.support.facts import ANN, BOB, COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk

TAPPED: tuple[str, ...] = ("skip", "none", "yes", "keep")
TYPED = {
    "phone": "021 555 123",
    "home": "12 Hill Road, Napier",
    "contact_name": "Tom, my son",
    "contact_phone": "021 555 999",
    "birth_year": "1948",
}
CHOSEN = {
    "consent": "agree",
    "country": "NZ",
    "zone": "Pacific/Auckland",
    "sex": "f",
    "active": "no",
    "wish": "light_or_moderate",
    "checkin_at": "0730",
    "days": "135",
}


def start(facts: Record | None = None) -> Talk:
    talk = Talk(join, facts or Record(ANN))
    talk.begin()
    return talk


def answer(talk: Talk, chosen: dict[str, Any] | None = None) -> None:
    """One answer as a healthy client gives it; ``chosen`` overrides by question."""
    key = talk.step
    wish = {**CHOSEN, **TYPED, **(chosen or {})}.get(key)
    offered = [button.value.rpartition("~")[2] for button in talk.buttons()]
    if isinstance(wish, list):
        for code in wish:
            if code in offered:
                talk.choose(code)
            else:
                talk.type(code)
        talk.choose("done" if wish else "none")
    elif wish is None:
        talk.choose(next(code for code in TAPPED if code in offered))
    elif wish in offered:
        talk.choose(wish)
    else:
        talk.type(wish)


def answer_all(talk: Talk, chosen: dict[str, Any] | None = None, until: str = "review") -> int:
    """Answer up to a step; gives how many answers it took."""
    for number in range(80):
        if talk.step == until:
            return number
        answer(talk, chosen)
    raise AssertionError(f"joining never came to {until}; it stands at {talk.step}")


class Counted(Talk):
    """Counts every tap and every typed answer, each tick of a list by itself."""

    events = 0

    def _event(self, kind: EventKind, *rest: Any, **more: Any) -> Turn:
        self.events += kind is not EventKind.BEGIN
        return super()._event(kind, *rest, **more)


@pytest.mark.parametrize(
    ("chosen", "most"),
    [
        ({}, 40),
        (
            {
                "conditions_heart": ["pressure"],
                "conditions_other": ["diabetes"],
                "doctor_said": "never",
                "medicines_any": "some",
                "medicines_heart": ["ace_or_arb"],
                "medicines_breath": ["sulfonylurea"],
                "medicines_other": ["ssri"],
                "replaced_joints": ["left knee"],
                "operation1_on": "last_month",
                "operation1_limits": ["bend"],
                "operation1_bend": "90",
                "operation1_until": "12",
            },
            55,
        ),
    ],
)
def test_joining_takes_no_more_taps_than_it_may(chosen: dict[str, Any], most: int):
    """Each tick counts: a healthy client, and one with conditions, medicines and an operation."""
    talk = Counted(join, Record(ANN))
    talk.begin()
    answer_all(talk, chosen)
    talk.tap("right")

    assert talk.state is None
    assert talk.events <= most


def test_the_country_comes_first_and_its_emergency_number_is_shown_back():
    talk = start()
    talk.choose("agree")

    assert talk.step == "country"

    talk.choose("NZ")

    assert talk.text.startswith("New Zealand: emergency 111. Right?")
    assert SetPerson(ANN.id, country="NZ") in talk.turn.changes


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("england", "emergency 999"),
        ("Austria", "emergency 144"),
        ("Fiji", "your local emergency number, or 112"),
        ("Mexico", "your local emergency number, or 112"),
        ("new zeland", "emergency 111"),
    ],
)
def test_any_country_may_be_typed_and_an_unknown_number_is_never_guessed(typed: str, number: str):
    talk = start()
    talk.choose("agree")
    talk.type(typed)

    assert number in talk.text


def test_a_wrong_country_is_asked_again():
    talk = start()
    talk.choose("agree")
    talk.choose("GB")
    talk.choose("no")

    assert talk.step == "country"
    assert "country" not in talk.given


def test_a_country_with_one_clock_asks_for_no_town():
    talk = start()
    talk.choose("agree")
    talk.choose("DE")

    assert SetPerson(ANN.id, zone="Europe/Berlin") in talk.turn.changes

    talk.choose("yes")

    assert talk.step == "called"


def test_a_town_of_the_same_name_in_another_country_is_not_taken():
    """London in Ontario must not give the clock of London in England."""
    talk = start()
    talk.choose("agree")
    talk.choose("CA")
    talk.choose("yes")
    talk.type("London")

    assert talk.step == "zone"

    talk.type("Montreal")

    assert talk.given["zone"] == "America/Toronto"


@pytest.mark.parametrize(
    ("said", "zone"),
    [
        ("Nelson is the closest", "Pacific/Auckland"),
        ("that would be Porirua, dear", "Pacific/Auckland"),
        ("I am not far from Wellington", None),
        ("we live out on the Chatham Islands", "Pacific/Chatham"),
        ("the Chathams, not Nelson", None),
        ("somewhere in the Chathams", None),
        ("you may call me Gwennie", None),
    ],
)
def test_the_nearest_town_is_found_in_a_sentence_or_asked_again(said: str, zone: str | None):
    """Ours: one clock for all places but those on the islands; in doubt the question again."""
    talk = start()
    talk.choose("agree")
    talk.choose("NZ")
    talk.choose("yes")
    talk.type(said)

    assert talk.given.get("zone") == zone
    assert talk.step == ("called" if zone else "zone")


@pytest.mark.parametrize(
    ("said", "zone", "asked"),
    [
        ("Nelson in New Zealand", "Pacific/Auckland", "called"),
        ("Lisbon, Portugal", "Europe/Lisbon", "called"),
        ("I live in Porto, Portugal", "Europe/Lisbon", "called"),
        ("Perth, Australia", "Australia/Perth", "called"),
        ("Madeira, Portugal", "Atlantic/Madeira", "called"),
        # Nothing tells which of its clocks.
        ("I live in Portugal", None, "zone"),
        ("I live in New Zealand.", None, "zone"),
        ("Funchal, Portugal", None, "zone"),
    ],
)
def test_a_town_told_with_its_country_is_not_asked_again(said: str, zone: str | None, asked: str):
    """Ours; a country alone has no clock where it has several."""
    talk = start()
    talk.choose("agree")
    talk.type(said)
    assert talk.step == "country_right"
    talk.choose("yes")

    assert talk.given.get("zone") == zone
    assert talk.step == asked


def test_the_clock_of_a_country_that_was_wrong_is_forgotten():
    talk = start()
    talk.choose("agree")
    talk.type("Madeira, Portugal")
    talk.choose("no")
    assert talk.step == "country"
    assert "zone" not in talk.given
    talk.type("I live in Portugal")
    talk.choose("yes")

    assert talk.step == "zone"


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("contact_name", "I'm a woman"),
        ("contact_name", "12 March 1950"),
        ("contact_name", "what do you mean by that?"),
        ("home", "12 March 1950"),
        ("home", "12/3/1950"),
        ("home", "I am a man."),
        ("called", "I'm a woman"),
    ],
)
def test_what_plainly_answers_another_question_is_asked_back(key: str, said: str):
    """Ours: a date is no address, a sex no name."""
    talk = start()
    answer_all(talk, until=key)
    talk.type(said)

    assert talk.step == key
    assert talk.given.get(key) is None


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("contact_name", "my wife"),
        ("contact_name", "April"),
        ("contact_name", "Will"),
        ("home", "12 May Road, Napier"),
        ("home", "Rose Cottage, Nelson"),
        ("home", "March Lane 12, Nelson"),
    ],
)
def test_odd_names_and_streets_are_taken_as_typed(key: str, said: str):
    talk = start()
    answer_all(talk, until=key)
    talk.type(said)

    assert talk.given[key] == said


def test_in_a_country_with_many_clocks_a_town_in_a_sentence_is_one_of_those_offered():
    talk = start()
    talk.choose("agree")
    talk.choose("AU")
    talk.choose("yes")
    talk.type("Ballarat is the nearest")

    assert talk.step == "zone"

    talk.type("We are close to Perth")

    assert talk.given["zone"] == "Australia/Perth"


def test_consent_says_what_is_kept_who_sees_it_and_that_it_is_no_emergency_service():
    text = start().text

    for part in ("I keep your answers", "Only your coach", "NOT an emergency service", "erase"):
        assert part in text


def test_without_consent_nothing_is_kept_and_the_coach_hears_it():
    talk = start()
    talk.choose("decline")

    assert not talk.turn.changes
    assert [say.to for say in talk.turn.says] == [None, COACH.id]
    assert talk.turn.quiet

    talk.choose("agree")

    assert talk.step == "country"


def test_every_answer_may_be_typed():
    talk = start()
    for words in (
        "yes", "New Zealand", "right", "wellington", "Annie", "021 555 123", "12 Hill Road",
        "Tom", "+64 21 555 999", "I was born in 1948", "lady", "see my sister in town",
        "angina and high blood pressure", "done", "vertigo", "done", "left knee", "done",
        "cataract", "done", "2019", "bending, no kneeling", "done", "110 degrees", "12 weeks",
        "last month", "none", "skip", "none", "nope", "never",
        "nothing else", "yes", "bisoprolol, warfarin", "done", "none", "nothing", "knee", "done",
        "no", "twice", "yes", "a stick", "yes",
        "5 ft 5", "62 kg", "17 inches", "8 cm", "92", "none", "18 cm", "2", "light", "yes", "no",
        "half past seven", "mondays and thursdays",
    ):  # fmt: skip
        talk.type(words)
        assert talk.turn.understood, (talk.step, words)

    assert talk.step == "review"
    assert talk.given["country"] == "NZ"
    assert talk.given["zone"] == "Pacific/Auckland"
    assert talk.given["conditions_heart"] == ["angina", "pressure"]
    assert talk.given["replaced_joints"] == ["left knee"]
    assert talk.given["own_aim"] == "see my sister in town"
    assert talk.given["operations"] == ["eye"]
    assert talk.given["operation1_until"] == 12
    assert talk.given["falls"] == 2
    assert talk.given["walking_aid"] == "stick"
    assert talk.given["medicines_heart"] == ["beta_blocker", "blood_thinner"]
    assert talk.given["stature_cm"] == pytest.approx(165.1)
    assert talk.given["chair"] == pytest.approx(43.2)
    assert talk.given["checkin_at"] == "07:30"
    assert talk.given["days"] == "14"


def test_a_second_tap_of_a_shaky_thumb_never_answers_the_next_question():
    talk = start()
    answer_all(talk, until="wall")
    talk.tap("wall~yes")
    talk.tap("wall~yes")

    assert talk.step == "mat"
    assert "mat" not in talk.given
    assert talk.turn.understood
    assert not talk.turn.says


def test_a_button_of_an_older_question_is_stale():
    talk = start()
    answer_all(talk, until="wall")
    talk.tap("floor~no")

    assert not talk.turn.understood


def test_back_goes_to_the_question_before_and_the_new_answer_counts():
    talk = start()
    answer_all(talk, until="home")
    talk.choose("go_back")

    assert talk.step == "phone"

    talk.type("021 777 000")

    assert talk.given["phone"] == "+6421777000"
    assert talk.step == "home"


def test_the_joint_called_back_is_not_the_way_back():
    talk = start()
    answer_all(talk, until="spares")
    talk.choose("back")
    talk.type("my lower back")
    talk.type("knee")
    talk.choose("done")

    assert talk.given["spares"] == ["knee", "back"]


def test_a_command_is_not_taken_for_an_address():
    talk = start()
    answer_all(talk, until="home")
    talk.type("menu")

    assert not talk.turn.understood


def test_joining_can_be_left_and_taken_up_at_the_same_question():
    facts = Record(ANN)
    talk = start(facts)
    answer_all(talk, until="medicines_any")
    again = start(facts)

    assert again.step == "medicines_any"
    assert dict(again.given) == dict(talk.given)

    talk.resume()

    assert talk.step == "medicines_any"
    assert talk.text.startswith("Do you take any medicines?")


def test_skipped_questions_are_not_asked_again_after_a_break():
    facts = Record(ANN)
    answer_all(start(facts), until="chair")

    assert start(facts).step == "chair"


def test_a_pacemaker_asks_for_its_date_and_takes_the_latest_possible_day():
    talk = start()
    answer_all(talk, {"conditions_heart": ["pacemaker"]}, until="pacemaker_on")
    talk.type("March 2026")

    assert talk.given["pacemaker_on"] == "2026-03-31"


def test_a_condition_taken_back_takes_its_follow_up_with_it():
    facts = Record(ANN)
    talk = start(facts)
    answer_all(talk, {"conditions_heart": ["pacemaker"], "pacemaker_on": "recent"})
    talk.tap("change")
    talk.tap("pick~health")
    talk.tap("pick~conditions_heart")
    talk.choose("none")

    assert "pacemaker_on" not in talk.given
    assert "pacemaker_on" not in facts.answers(ANN)
    assert talk.step == "review"


def test_unsure_of_the_medicines_is_kept_as_unknown():
    facts = Record(ANN)
    answer_all(start(facts), {"medicines_any": "not_sure"})

    assert facts.answers(ANN)["medicines"] == ["unknown"]
    assert [medicine.value for medicine in facts.client(ANN.id).client.medicines] == ["unknown"]


def test_medicines_of_no_class_on_the_lists_are_unknown_too():
    facts = Record(ANN)
    answer_all(start(facts), {"medicines_any": "some"})

    assert facts.answers(ANN)["medicines"] == ["unknown"]


def test_half_a_list_of_conditions_is_never_kept_as_a_whole_one():
    facts = Record(ANN)
    answer_all(start(facts), {"conditions_heart": ["heart"]}, until="conditions_other")

    assert "conditions" not in facts.answers(ANN)


def test_the_contact_cannot_be_reached_on_the_clients_own_phone():
    talk = start()
    answer_all(talk, until="contact_phone")
    talk.type(TYPED["phone"])

    assert talk.step == "contact_phone"
    assert "your own number" in talk.text


def test_yes_to_all_answers_is_the_end_and_insists_on_no_number():
    talk = start()
    answer_all(talk)
    talk.type("yes")

    assert talk.state is None
    assert FinishJoin(ANN.id) in talk.turn.changes


def test_a_shared_phone_number_is_an_answer():
    talk = start()
    answer_all(talk, until="phone")

    assert talk.turn.says[-1].asks_contact

    talk.share("+64 21 555 123")

    assert talk.given["phone"] == "+6421555123"


def test_an_early_checkin_shortens_the_quiet_hours():
    talk = start()
    answer_all(talk, until="checkin_at")
    talk.choose("0630")

    wanted = SetSchedule(ANN.id, checkin_at="06:30", quiet_until="06:30")
    assert wanted in talk.turn.changes


def test_the_end_tells_the_client_and_the_coach_and_starts_no_plan():
    facts = Record(ANN)
    talk = start(facts)
    answer_all(talk)
    talk.tap("right")

    assert talk.state is None
    assert FinishJoin(ANN.id) in talk.turn.changes
    _mine, coachs = talk.turn.says
    assert coachs.to == COACH.id
    assert ("client", "11") in {(b.handler, b.ref) for row in coachs.rows for b in row}
    assert "You get no plan until Robin says you may start." in talk.said[-2][1].text
    assert "No doctor's word needed" in talk.text
    assert not facts.is_cleared(ANN)
    assert "joining" not in facts.answers(ANN)


@pytest.mark.parametrize(
    ("chosen", "decision", "needs_doctor"),
    [
        ({}, "start", False),
        ({"conditions_heart": ["heart"]}, "clearance_first", True),
        ({"screening_signs": ["chest"]}, "clearance_first", True),
        ({"screening_signs": ["chest"], "active": "yes"}, "stop_until_cleared", True),
        ({"conditions_other": ["diabetes"], "active": "yes"}, "continue_moderate", False),
        ({"conditions_other": ["arthritis"], "active": "yes"}, "continue", True),
        (
            {"conditions_other": ["diabetes"], "active": "yes", "wish": "vigorous"},
            "clearance_for_vigorous",
            True,
        ),
        (
            {
                "conditions_other": ["diabetes"],
                "active": "yes",
                "wish": "vigorous",
                "doctor_said": "March 2026",
                "doctor_name": "Dr Singh",
                "changed_since": "no",
            },
            "continue",
            False,
        ),
        (
            {
                "conditions_other": ["diabetes"],
                "doctor_said": "March 2026",
                "doctor_name": "Dr Singh",
                "changed_since": "no",
                "replaced_joints": ["left hip"],
                "operation1_on": "last_month",
            },
            "clearance_first",
            True,
        ),
        ({"active": "yes", "wish": "vigorous"}, "continue", False),
    ],
)
def test_the_coach_gets_the_proposal_of_the_screening_table(
    chosen: dict[str, Any], decision: str, needs_doctor: bool
):
    """Decisions by the table of Riebe 2015; arthritis is a rule of this practice."""
    talk = start()
    answer_all(talk, chosen)
    talk.tap("right")
    values = talk.turn.says[-1].values

    assert values["decision"] == decision
    assert values["needs_doctor"] is needs_doctor


def test_the_wish_is_asked_only_of_those_who_are_active_already():
    for active in (False, True):
        talk = start()
        answer_all(talk, {"active": "yes" if active else "no"})
        assert ("wish" in talk.given) is active


def test_the_coach_reads_how_long_the_proposal_holds_and_whether_hard_work_may_come():
    """Riebe 2015: twelve months; on vigorous work the row decides."""
    for chosen, later in (({}, "Hard work may come later"), (SOME_DISEASE, "moderate at most")):
        talk = start()
        answer_all(talk, chosen)
        talk.tap("right")
        assert later in talk.text
        assert "Good until 21 May 2027, or until health changes." in talk.text


SOME_DISEASE = {"conditions_other": ["diabetes"], "active": "yes"}


def test_a_changed_medicine_of_a_client_who_trains_eases_the_days_after_it():
    facts = with_bob(Record(BOB))
    facts.cleared(BOB)
    talk = Talk(join, facts)
    talk.begin(review=True)
    talk.tap("change")
    talk.tap("pick~medicines")
    talk.tap("pick~medicines_other")
    talk.choose("stimulant")
    talk.choose("done")
    talk.tap("right")

    assert SaveProfile(BOB.id, {"medicine_changed_on": "2026-05-21"}) in talk.turn.changes


def test_new_health_answers_of_a_cleared_client_withdraw_the_clearance():
    facts = with_bob(Record(BOB))
    facts.cleared(BOB)
    talk = Talk(join, facts)
    talk.begin(review=True)
    talk.tap("change")
    talk.tap("pick~health")
    talk.tap("pick~conditions_other")
    talk.choose("diabetes")
    talk.choose("done")
    talk.tap("right")

    assert WithdrawClearance(BOB.id, "conditions_other") in talk.turn.changes
    assert "Your training waits" in talk.said[-2][1].text


def test_a_new_phone_is_welcomed_and_the_coach_is_told():
    talk = Talk(join, with_bob(Record(BOB)))
    talk.begin(rebound=True)

    assert [say.template for say in talk.turn.says] == ["join/welcome_back", "coach/new_phone"]
    assert talk.state is None


def test_the_record_holds_what_the_rules_of_core_read():
    facts = Record(ANN)
    answer_all(start(facts), {"conditions_heart": ["heart"], "spares": ["knee"], "bench": "90"})
    client = facts.client(ANN.id).client

    assert client.birth_year == 1948
    assert [condition.value for condition in client.conditions] == ["heart"]
    assert [spare.value for spare in client.spares] == ["knee"]
    assert client.kit.bench == 90.0
    assert client.training_days == (1, 3, 5)
    assert client.zone == "Pacific/Auckland"


def test_each_question_is_answered_by_every_button_that_it_offers():
    """No dead button: each of them answers, ticks, or goes back."""
    talk = start()
    chosen = {
        "conditions_heart": ["pacemaker", "angina"],
        "replaced_joints": ["left hip", "right hip"],
        "operations": ["hip"],
        **{f"operation{number}_limits": ["bend", "weight"] for number in (1, 2, 3)},
        **{f"operation{number}_on": "this_month" for number in (1, 2, 3)},
        "medicines_any": "some",
        "days": "own",
        "pacemaker_on": "recent",
        "doctor_said": "March 2025",
        "training_days": ["1"],
        "active": "yes",
    }
    seen = []
    while talk.step != "review":
        seen.append(talk.step)
        standing = talk.state
        assert standing is not None
        for button in talk.buttons():
            turn = join.step(standing, _tap(button.value), talk.facts)
            assert turn.understood, button.value
        answer(talk, chosen)

    assert sorted(seen) == sorted(JOIN_FORM.by_key)


def _tap(value: str) -> Event:
    return Event(EventKind.TAP, value)


def test_nobody_but_the_client_is_written_to_by_her_answers():
    talk = start()
    answer_all(talk)
    subjects = {
        change.client_id for change in talk.facts.applied if isinstance(change, SaveProfile)
    }

    assert subjects == {PersonId(11)}


def test_a_second_stumble_offers_a_button_and_no_longer_text():
    talk = start()
    answer_all(talk, until="birth_year")
    talk.type("a good while ago")
    once = len(talk.text)
    assert "message" not in {button.value for button in talk.buttons()}
    talk.type("before the war, dear")
    assert "message" in {button.value for button in talk.buttons()}
    assert len(talk.text) <= once
    talk.type("1948")
    assert talk.given["birth_year"] == 1948


def test_no_question_of_joining_asks_two_things():
    folder = LANGUAGE / "join"
    asking = [path for path in folder.glob("*.j2") if "form/question.j2" in path.read_text("utf-8")]
    assert len(asking) > 40
    for path in asking:
        asked = (
            path.read_text("utf-8").partition("{% block ask %}")[2].partition("{% endblock %}")[0]
        )
        if path.stem != "country_right":  # its two marks stand in two branches
            assert asked.count("?") <= 1, path.stem
