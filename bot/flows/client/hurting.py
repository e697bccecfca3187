"""It hurts: where, how much, sharp or not; and what becomes of the movement (the pain rule)."""

from bot.flows.changes import LogPain
from bot.flows.client.cards import SLOT, changed, is_careful_joint, show_change
from bot.flows.machine import Begin, Event, EventKind, Rows, Say, State, Turn, rows_of
from bot.flows.record.planning import Training
from core.dose.history import PainTold
from core.readiness.morning_questions import PainPlace, PainReport, PainSince
from core.readiness.pain_rule import pain_rule
from core.readiness.scales import PAIN, UnusableAnswer, parse_number
from core.vocabulary import AlertLevel, Family, Sign, Spare, TextLevel

STEPS = ("hurt_where", "hurt_level", "hurt_sharp")
PLACES: Rows = rows_of(
    "where=knee where=hip",
    "where=back where=shoulder",
    "where=wrist where=elbow",
    "where=ankle where=neck",
    "where=other",
    "where=chest",
)
LEVELS: Rows = rows_of(
    "pain=0 pain=1 pain=2 pain=3",
    "pain=4 pain=5 pain=6 pain=7",
    "pain=8 pain=9 pain=10",
)


def ask_where(state: State) -> Turn:
    """Open the questions about a pain."""
    say = Say("session/hurt_where", rows=_rows(PLACES, state), slot=SLOT)
    return Turn(state.at("hurt_where"), says=(say,))


def _rows(rows: Rows, state: State) -> Rows:
    """In a running session there is always a way out."""
    return (*rows, *rows_of("stop")) if state.answers.get("running") else rows


def step_hurting(state: State, event: Event, training: Training) -> Turn:
    """Take one event while the pain is asked about."""
    value = event.value.strip().casefold()
    if event.kind is EventKind.RESUME:
        return _ask(state)
    if state.step == "hurt_where":
        where = value.removeprefix("where=")
        if where == "chest":
            return chest_pain()
        if where in {*Spare, "other"}:
            return _ask(state.at("hurt_level", where=where))
    elif state.step == "hurt_level":
        level = parse_number(value.removeprefix("pain="), PAIN)
        if not isinstance(level, UnusableAnswer):
            return _ask(state.at("hurt_sharp", level=int(level)))
    elif value in ("sharp", "dull", "yes", "no"):
        return _settle(state, value in ("sharp", "yes"), training)
    return Turn(state, understood=False)


def chest_pain() -> Turn:
    """Pain in the chest is not measured: it starts the red-flag flow."""
    args = {
        "level": TextLevel.EMERGENCY.value,
        "if_unanswered": TextLevel.EMERGENCY.value,
        "signs": [Sign.CHEST_PAIN.value],
    }
    return Turn(None, begin=(Begin("safety", args),))


def alarm_of(told: str, level: int, *, careful: bool) -> Begin | None:
    """The red-flag flow for a pain that the coach must hear of at once, by the pain rule.

    Args:
        told: where, as :data:`PLACES` names it.
        careful: a replaced joint.
    """
    place = PainPlace(told) if told in set(PainPlace) else PainPlace.ELSEWHERE
    rule = pain_rule(PainReport(place, level, PainSince.TODAY), careful=careful)
    if rule is None or rule.alert not in (AlertLevel.URGENT, AlertLevel.EMERGENCY):
        return None
    args = {
        "level": rule.alert.value,
        "if_unanswered": TextLevel.URGENT.value,
        "signs": [rule.sign.value] if rule.sign else [],
        "why": {"group": "readiness", "code": rule.code.value, "numbers": dict(rule.numbers)},
    }
    return Begin("safety", args)


def _ask(state: State) -> Turn:
    if state.step == "hurt_where":
        return ask_where(state)
    if state.step == "hurt_level":
        return Turn(state, says=(Say("session/hurt_level", rows=_rows(LEVELS, state), slot=SLOT),))
    return Turn(
        state,
        says=(Say("session/hurt_sharp", rows=_rows(rows_of("sharp dull"), state), slot=SLOT),),
    )


def _settle(state: State, sharp: bool, training: Training) -> Turn:
    told = str(state.answers["where"])
    where = Spare(told) if told in set(Spare) else None
    level, at = int(state.answers["level"]), int(state.answers["at"])
    family = Family(training.items[at]["family"])
    record = training.place.record
    logged = LogPain(record.id, PainTold(training.place.today, family, where, level, sharp))
    alarm = alarm_of(told, level, careful=is_careful_joint(record, where))
    if alarm is not None:
        # As with pain in the chest, the alert ends the session and its watch over silence.
        return Turn(None, changes=(logged,), begin=(alarm,))
    after = changed("hurts", training, at, pain=(where, level, sharp))
    return show_change(state, after, training, (logged,))
