"""The closed loop: its lines, its errors, its promises to whoever drives it."""

import io
import json

import pytest

from bot.cli.closed_loop import Loop, run_loop
from tests.support.loaded import catalogue

CATALOGUE = catalogue()
KIT = {"chair": 43, "bench": 90, "table": 75, "bottle": 1.5, "band": "light"}
PROFILE = {
    "age": 70,
    "sex": "f",
    "stature_cm": 165,
    "mass_kg": 70,
    "conditions": [],
    "medicines": [],
    "spares": [],
    "kit": KIT,
    "aim": "open",
    "families": ["push", "squat", "brace", "balance"],
}
GOOD = {"sleep": 4, "tiredness": 4, "soreness": 3, "stress": 4, "mood": 4, "ill": False}


class Line:
    """A loop that takes and gives objects."""

    def __init__(self, **profile):
        self.loop = Loop(CATALOGUE)
        self.profile = self.say(profile={**PROFILE, **profile})

    def say(self, **line):
        return json.loads(self.loop.answer(json.dumps(line)))

    def morning(self, day, **changes):
        return self.say(morning={"date": f"2026-01-{day:02}", **GOOD, **changes})

    def session(self, family="push", left=2, **changes):
        given = self.say(next={"family": family})
        told = {"family": family, "reps": given["reps"], "left": left, "slip": False, "pain": 0}
        assert self.say(set={**told, **changes}) == {}
        return given


def test_a_profile_is_accepted():
    assert Line().profile == {"ok": True}


def test_the_next_set_names_rung_dial_demand_reps_and_why():
    line = Line()
    line.morning(5)
    given = line.say(next={"family": "push"})
    assert set(given) == {
        "rung",
        "dial",
        "demand",
        "reps",
        "stop_at_left",
        "aim_left",
        "calibration",
        "predicted_left",
        "unit",
        "why",
    }
    assert given["demand"] > 0
    assert 8 <= given["reps"] <= 20
    assert given["stop_at_left"] == 3
    assert given["unit"] == "reps"
    assert given["why"][0]["code"] == "first_time"


def test_holds_are_in_seconds():
    line = Line()
    assert line.say(next={"family": "brace"})["unit"] == "seconds"
    assert line.say(next={"family": "balance"})["unit"] == "seconds"


def test_a_morning_is_judged():
    answer = Line().morning(5)
    assert answer["day"] == "as_planned"
    assert 0 <= answer["readiness"] <= 100
    assert 0 <= answer["certainty"] <= 1
    assert answer["reasons"]


def test_a_bad_morning_eases_the_day_and_the_next_set():
    line = Line()
    for day in range(1, 20):
        line.morning(day)
        if day % 2:
            usual = line.session()
    answer = line.morning(21, sleep=1, tiredness=1, mood=2)
    assert answer["day"] != "as_planned"
    assert line.say(next={"family": "push"})["demand"] < usual["demand"]


def test_illness_rests_and_a_missing_morning_does_not():
    line = Line()
    assert line.morning(5, ill=True)["day"] == "rest"
    missing = line.say(morning={"date": "2026-01-20", "missing": True})
    assert missing["day"] == "as_planned"
    assert "no_answer" in [reason["code"] for reason in missing["reasons"]]


def test_after_six_sessions_the_client_stops_with_one_left():
    line = Line()
    stops = []
    for day in range(5, 25, 2):
        line.morning(day)
        stops.append(line.session()["stop_at_left"])
        assert line.say(end={"effort": 5, "minutes": 30}) == {}
    assert stops == [3] * 6 + [1] * 4


def test_a_client_with_high_pressure_stops_with_three_left_for_ever():
    line = Line(conditions=["pressure"])
    for day in range(5, 25, 2):
        line.morning(day)
        last = line.session()
    assert last["stop_at_left"] == 3


def test_a_profile_line_forgets_the_client_before():
    line = Line()
    line.morning(5)
    first = line.say(next={"family": "push"})
    for _ in range(3):
        line.session(left=0, slip=True)
    line.say(profile=PROFILE)
    line.morning(5)
    assert line.say(next={"family": "push"}) == first


def test_without_mornings_every_session_is_a_new_day():
    line = Line()
    whys = []
    for _ in range(8):
        whys.append(line.session()["why"][0]["code"])
        line.say(end={})
    assert whys[0] == "first_time"
    assert "hard_yesterday" not in whys


def test_training_on_the_day_after_hard_work_is_light():
    line = Line()
    for day in (5, 6):
        line.morning(day)
        given = line.session()
    assert given["stop_at_left"] == 4
    assert given["why"][0]["code"] == "hard_yesterday"


def test_a_number_comes_back_even_where_nothing_is_allowed():
    line = Line()
    line.morning(5)
    for _ in range(30):
        given = line.session(pain=5)
    assert given["demand"] > 0
    assert given["reps"] >= 8
    assert given["why"][0]["code"] == "nothing_allowed"


def test_unknown_kit_and_keys_are_ignored():
    line = Line(kit={**KIT, "trapeze": 3}, shoe_size=41)
    assert line.profile == {"ok": True}


def test_kit_that_is_null_false_or_0_is_not_there():
    none = Line(kit={"chair": 43})
    said = Line(kit={"chair": 43, "bench": 0, "table": False, "bottle": None, "band": False})
    assert said.profile == {"ok": True}
    assert said.say(next={"family": "push"}) == none.say(next={"family": "push"})


def test_a_family_without_a_rung_is_told_from_one_that_is_not_in_the_profile():
    line = Line(spares=["shoulder"])
    assert line.profile == {"ok": True, "nothing_for": ["push"]}
    without = line.say(next={"family": "push"})["error"]
    not_wanted = line.say(next={"family": "lunge"})["error"]
    assert without == "This body and kit have no rung of push."
    assert not_wanted == "lunge is not among the families of the profile."


def test_days_and_mornings_may_be_missing():
    line = Line()
    line.morning(5)
    line.session()
    line.say(end={"effort": 5, "minutes": 30})
    answer = line.say(morning={"date": "2026-01-07", "missing": True})
    assert answer["day"] == "as_planned"
    assert [reason["code"] for reason in answer["reasons"]] == ["no_answer"]
    # Nothing is said of the eighth to the thirtieth.
    line.morning(31)
    assert line.say(next={"family": "push"})["why"][0]["code"] == "after_gap"


def test_five_and_more_left_are_the_same():
    five, twelve = Line(), Line()
    five.session(left=5)
    twelve.session(left=12)
    assert five.say(next={"family": "push"}) == twelve.say(next={"family": "push"})


@pytest.mark.parametrize(
    "line",
    [
        "not json",
        "[]",
        "7",
        "{}",
        '{"morning": {"date": "2026-01-05"}, "end": {}}',
        '{"next": "push"}',
        '{"next": {"family": "swim"}}',
        '{"next": {}}',
        '{"next": {"family": ["push"]}}',
        '{"next": {"family": "lunge"}}',
        '{"set": {"family": "squat", "reps": 10, "left": 2}}',
        '{"set": {"family": "push", "reps": -1, "left": 2}}',
        '{"set": {"family": "push", "reps": NaN, "left": 2}}',
        '{"set": {"family": "push", "reps": "many", "left": 2}}',
        '{"set": {"family": "push", "reps": 10, "left": 2, "slip": "no"}}',
        '{"set": {"family": "push", "reps": 10, "left": 2, "ended": "bored"}}',
        '{"set": {"family": "push", "reps": 10, "left": 2, "pain": 11}}',
        '{"morning": {"date": "yesterday"}}',
        '{"morning": {"date": "2026-01-01"}}',
        '{"morning": {"date": "2026-01-06", "sleep": 9}}',
        '{"profile": {"age": "old"}}',
        '{"profile": {"conditions": ["cough"]}}',
        '{"profile": {"conditions": "heart"}}',
        '{"profile": {"spares": [["knee"]]}}',
        '{"profile": {"aim": "fame"}}',
        '{"profile": {"kit": {"band": "steel"}}}',
        '{"profile": {"kit": {"chair": -3}}}',
        '{"profile": {"sex": "x"}}',
        "[" * 100_000,
        '{"next": ' + '{"a": ' * 5000,
        "x" * 200_000,
    ],
)
def test_a_bad_line_gets_one_sentence_and_changes_nothing(line):
    good = Line()
    good.morning(5)
    good.say(next={"family": "push"})
    before = good.say(next={"family": "push"})
    answer = json.loads(good.loop.answer(line))
    assert list(answer) == ["error"]
    assert answer["error"].endswith(".")
    assert "\n" not in answer["error"]
    assert good.say(next={"family": "push"}) == before


def test_a_profile_comes_first():
    answer = json.loads(Loop(CATALOGUE).answer('{"next": {"family": "push"}}'))
    assert answer == {"error": "A profile line comes first."}


class FlushCounter(io.StringIO):
    """Output that counts its flushes."""

    flushes = 0

    def flush(self):
        self.flushes += 1


def test_each_answer_is_one_line_flushed_at_once_and_empty_lines_are_passed_over():
    out = FlushCounter()
    lines = [json.dumps({"profile": PROFILE}), "", "oops", '{"next": {"family": "push"}}']
    run_loop((line + "\n" for line in lines), out)
    answers = out.getvalue().splitlines()
    assert len(answers) == out.flushes == 3
    assert [next(iter(json.loads(answer))) for answer in answers] == ["ok", "error", "rung"]
