"""What stands behind a pause that is to be lifted: signs, their newest day, whose word it takes."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.flows.facts import Alert, ClientRecord, Facts, Hold
from core.red_flags.signs import clinician_due
from core.vocabulary import AlertLevel, Sign


@dataclass(frozen=True, slots=True)
class Ground:
    """Why training is paused, as it stands now.

    Attributes:
        since: when the pause, or an alert that stands open without one, began.
        signs: all of it, each once.
        newest_at: when the newest of them was told; the pause itself where there is none.
        clinician: nobody's word but a clinician's lifts it.
        restart: the next sessions begin at the easiest rungs; a coach's own pause is no such case.
    """

    hold: Hold | None
    alert: Alert | None
    since: datetime
    signs: tuple[Sign, ...]
    newest_at: datetime
    clinician: bool
    restart: bool

    @property
    def own(self) -> str:
        """Why a coach has paused training herself, where a sign has come to it; else ""."""
        paused = self.hold.because if self.hold is not None else ""
        return paused if self.alert is not None and paused not in set(Sign) else ""

    @property
    def unseen(self) -> Alert | None:
        """The alert that no coach has seen yet."""
        return self.alert if self.alert is not None and self.alert.seen_at is None else None


def ground_of(record: ClientRecord, facts: Facts) -> Ground | None:
    """What lifting would put an end to; ``None`` when nothing holds this client."""
    hold, alert = facts.hold(record.id), facts.open_alert(record.id)
    starts = [one.placed_at for one in (hold,) if one] + [one.raised_at for one in (alert,) if one]
    if not starts:
        return None
    since = min(starts)
    listed = list(_listed(record, since, facts))
    signs = [*(alert.signs if alert else ()), *(hold.signs if hold else ())]
    if hold is not None and hold.because in set(Sign):
        signs.append(Sign(hold.because))
    rules = facts.reference.signs
    signs += [
        sign for one in listed for sign in one.signs if rules[sign].level is AlertLevel.MENTION
    ]
    newest = [*starts, *(one.newest_sign_at for one in (*listed, alert) if one is not None)]
    clinician = clinician_due(
        signs,
        alert.level if alert is not None else None,
        record.client.known_conditions,
        rules,
    )
    told = alert is not None or (hold is not None and bool(hold.signs))
    return Ground(
        hold,
        alert,
        since,
        tuple(dict.fromkeys(signs)),
        max(newest),
        clinician,
        restart=clinician or (hold is not None and told),
    )


def newest_day(ground: Ground, record: ClientRecord) -> date:
    """The client's day on which the newest sign was told: nobody can have cleared it before."""
    return record.person.local(ground.newest_at).date()


def _listed(record: ClientRecord, since: datetime, facts: Facts) -> Iterator[Alert]:
    """Signs that are only listed (fever) but want a clinician here: still fresh as the pause began.

    A sign that the client denied is listed too; its own level tells it from these.
    """
    rules = facts.reference.signs
    weak = {
        sign: rule
        for sign, rule in rules.items()
        if rule.level is AlertLevel.MENTION
        and rule.lift.needs_clinician(record.client.known_conditions)
    }
    if not weak:
        return
    fresh = max(rule.past_after_days for rule in weak.values())
    for one in facts.alerts([record.id], (facts.now - since).days + 1 + fresh):
        still = any(
            since - one.raised_at < timedelta(days=weak[sign].past_after_days)
            for sign in one.signs
            if sign in weak
        )
        if still and one.level is AlertLevel.MENTION and not one.for_other:
            yield one
