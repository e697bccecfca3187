"""What a logged set lets the coach know: one line each on her list, none of it chased."""

from bot.flows.changes import Change, RaiseAlert, SaveProfile
from bot.flows.client.cards import coach_hears
from bot.flows.reasons import Reason
from bot.flows.record.planning import Training
from core.client.care import is_careful
from core.client.steering import cares_of
from core.dose.capacity import Capacity, after_set
from core.dose.family_record import failing_begins
from core.dose.history import Ended, SessionDone, SetDone
from core.dose.prescription import DoseCode, DoseReason
from core.dose.too_hard import effort_ceiling, keeps_failing, over_ceiling
from core.vocabulary import AlertLevel, Family

WATCH_ASKED_ON = "watch_asked_on"
"""Profile key: the day on which the coach was asked to watch a set; she is asked once."""


_WATCH = "watch_a_set"


def news_of_set(training: Training, done: SetDone) -> tuple[Change, ...]:
    """Two sessions at none left; numbers that do not fit; a set that should be watched."""
    record, facts = training.place.record, training.facts
    news: list[Change] = []
    before = facts.history(record.id).of_family(done.family)
    if done.family is not Family.BALANCE and failing_begins(before, done):
        cares = cares_of(record.client, facts.reference.catalogue.steering)
        at_once = done.ended is Ended.COULD_NOT or is_careful(record.client, cares)
        fewer, down = DoseCode.FEWER_AFTER_NONE_LEFT, DoseCode.DOWN_AFTER_NONE_LEFT
        why = DoseReason(down if at_once else fewer)
        news.append(coach_hears(training.place, why, done.family))
    sets = facts.history(record.id).sets
    if keeps_failing((*sets, done), done.on) and not keeps_failing(sets, done.on):
        news.append(coach_hears(training.place, DoseReason(DoseCode.KEEPS_FAILING), done.family))
    known = facts.capacity(record.id)
    now = after_set(known, done)
    if _begins_to_doubt(known, now):
        news.append(_line(training, "words_do_not_fit"))
    elif now.wants_watching and _nobody_watched(training):
        news.append(_line(training, _WATCH))
        asked = {WATCH_ASKED_ON: training.place.today.isoformat()}
        news.append(SaveProfile(record.id, asked))
    return tuple(news)


def tells_of_set(news: tuple[Change, ...]) -> bool:
    """Whether such news says something of the set itself; a wish to watch one does not."""
    lines = (one.why for one in news if isinstance(one, RaiseAlert))
    return any(why is not None and why.code != _WATCH for why in lines)


def set_taken_back(training: Training, family: Family) -> RaiseAlert:
    """A line where the set that the coach has read of was told by mistake."""
    return _line(training, "set_taken_back", family=family.value)


def news_of_effort(training: Training, effort: float) -> tuple[Change, ...]:
    """A line for the coach where this and the last effort lay over the ceiling."""
    record, today = training.place.record, training.place.today
    cares = cares_of(record.client, training.facts.reference.catalogue.steering)
    ceiling = effort_ceiling(careful=is_careful(record.client, cares))
    sessions = training.facts.history(record.id).sessions
    now = (*sessions, SessionDone(today, round(effort)))
    if not over_ceiling(now, ceiling, today) or over_ceiling(sessions, ceiling, today):
        return ()
    numbers = {"effort": effort, "ceiling": ceiling}
    why = Reason("coach", "effort_over_ceiling", numbers)
    return (RaiseAlert(record.id, AlertLevel.MENTION, (), why=why, holds=False),)


def _nobody_watched(training: Training) -> bool:
    """Whether the coach has not watched a set, and was not asked to."""
    record = training.place.record
    watched = training.facts.history(record.id).watched
    return not watched and not record.answers.get(WATCH_ASKED_ON)


def _begins_to_doubt(before: Capacity, now: Capacity) -> bool:
    return now.doubted_on is not None and now.doubted_on != before.doubted_on


def _line(training: Training, code: str, **numbers: str) -> RaiseAlert:
    name = training.place.record.person.name
    why = Reason("coach", code, {"name": name, **numbers})
    return RaiseAlert(training.place.record.id, AlertLevel.MENTION, (), why=why, holds=False)
