"""A client gets the days of another client's week, as far as they train."""

from bot.flows.coach.client import week as coach_week
from tests.bot.flows.coach.test_coach_walks import practice
from tests.support.facts import ANN, BOB, COACH
from tests.support.talk import Talk


def test_the_days_of_another_client_are_taken_over():
    facts = practice(COACH)
    facts.joined(ANN)
    facts.save(ANN, week={"days": {"1": ["push", "pull"]}, "sets": {"1": {"pull": 1}}})
    talk = Talk(coach_week, facts)
    talk.begin(client=str(BOB.id))
    talk.tap("copy")

    assert talk.text == "Whose week shall Bob get? Bob's own limits stay."

    talk.tap(f"from~{ANN.id}")
    assert facts.answers(BOB)["week"]["days"]["1"] == ["push", "pull"]
    assert facts.answers(BOB)["week"]["sets"]["1"] == {"pull": 1}
