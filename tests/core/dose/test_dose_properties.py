"""What no history, ladder or client may break."""

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from core.dose.bounds import LARGEST_RISE, LARGEST_RISE_OVER_HOLE
from core.dose.history import Unit
from core.dose.prescription import DoseCode
from tests.support.dose_cases import (
    clients,
    ladders,
    live_through,
    told_sets,
)

ABOUT = 1.0 + 1e-9


@st.composite
def lives(draw):
    ladder = draw(ladders())
    client = draw(clients(ladder))
    told = draw(st.lists(told_sets(), min_size=1, max_size=25))
    eased = draw(st.lists(st.sampled_from([False, False, True]), max_size=25))
    return client, ladder, told, eased


def usable(client, ladder):
    return [
        step
        for step in ladder
        if step.rung not in client.limits.forbidden
        and not step.stresses & client.protected
        and all(getattr(client.kit, need.value) for need in step.needs)
        and step.demand <= client.limits.ceilings.get(step.family, step.demand) * ABOUT
    ]


@settings(max_examples=150, deadline=None)
@given(lives())
def test_never_a_spared_joint_a_forbidden_rung_missing_kit_or_over_the_ceiling(life):
    client, ladder, told, eased = life
    allowed = usable(client, ladder)
    for _, given_, _ in live_through(client, ladder, told, eased):
        # A loop must get a number; where nothing is allowed it says so.
        if given_.reasons[0].code is DoseCode.NOTHING_ALLOWED:
            continue
        assert given_.step in allowed


@settings(max_examples=150, deadline=None)
@given(lives())
def test_never_more_than_fifteen_percent_up_but_across_a_hole_of_the_ladder(life):
    client, ladder, told, eased = life
    steps = usable(client, ladder)
    last = None
    for _, given_, _ in live_through(client, ladder, told, eased):
        if given_.reasons[0].code is DoseCode.NOTHING_ALLOWED:
            continue
        if last is not None and given_.step.demand > last * LARGEST_RISE * ABOUT:
            between = [s for s in steps if last * ABOUT < s.demand < given_.step.demand]
            assert not between
            assert given_.step.demand <= last * LARGEST_RISE_OVER_HOLE * ABOUT
            assert given_.tell_coach
            assert given_.sets == 1
            assert given_.amount == given_.low
        last = given_.step.demand


@settings(max_examples=150, deadline=None)
@given(lives())
def test_never_a_step_up_on_an_ease_off_day_or_after_a_gap(life):
    client, ladder, told, eased = life
    last_day, last = None, None
    for on, given_, _ in live_through(client, ladder, told, eased):
        if given_.reasons[0].code is DoseCode.NOTHING_ALLOWED:
            # Not a choice: a loop must get a number, and says that nothing is allowed.
            continue
        gap = last_day is not None and (on - last_day).days >= 14
        if last is not None and (given_.eased or gap) and last_day != on:
            assert given_.step.demand <= last * ABOUT
        last_day, last = on, given_.step.demand


@settings(max_examples=150, deadline=None)
@given(lives())
def test_never_hard_on_consecutive_days(life):
    hard_days = {on for on, given_, _ in live_through(*life) if given_.stop_at_left <= 3}
    assert not any(day + timedelta(days=1) in hard_days for day in hard_days)


@settings(max_examples=100, deadline=None)
@given(lives())
def test_never_under_eight_repetitions_nor_outside_the_range_of_the_aim(life):
    for _, given_, _ in live_through(*life):
        assert given_.unit is Unit.REPS
        assert 8 <= given_.low <= given_.amount <= given_.high <= 20


@settings(max_examples=100, deadline=None)
@given(lives())
def test_a_slip_steps_down_at_once_or_the_step_was_the_lowest(life):
    client, ladder, told, eased = life
    last, slipped = None, False
    for (_, given_, _), set_told in zip(
        live_through(client, ladder, told, eased), told, strict=True
    ):
        if slipped:
            lower = [s for s in usable(client, ladder) if s.demand < last]
            assert given_.step.demand < last or not lower
        last, slipped = given_.step.demand, set_told[2]


@settings(max_examples=60, deadline=None)
@given(lives())
def test_the_same_history_gives_the_same_answers(life):
    client, ladder, told, eased = life
    first = [found[:2] for found in live_through(client, ladder, told, eased)]
    second = [found[:2] for found in live_through(client, ladder, told, eased)]
    assert first == second


@settings(max_examples=60, deadline=None)
@given(lives())
def test_every_answer_has_a_reason(life):
    for _, given_, _ in live_through(*life):
        assert given_.reasons
