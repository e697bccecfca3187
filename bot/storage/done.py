"""Logged sets, finished sessions and told pains as the rules see them."""

from bot.storage.tables import PainRow, SessionRow, SetRow
from core.dose.history import PainTold, SessionDone, SetDone, Unit
from core.vocabulary import Family, Spare


def set_done(row: SetRow) -> SetDone:
    """A logged set as the rules see it."""
    return SetDone(
        on=row.on_date,
        family=Family(row.family),
        step_key=row.step_key,
        demand=row.demand,
        unit=Unit(row.unit),
        amount=row.amount,
        left=row.left,
        slip=row.slip,
        pain=row.pain,
        planned=row.planned,
        stop_at_left=row.stop_at_left,
        lowest_good_left=row.lowest_good_left,
        eased=row.eased,
        day_shift=row.day_shift,
        planned_top=row.planned_top,
    )


def session_done(row: SessionRow) -> SessionDone:
    """A finished session as the rules see it."""
    return SessionDone(
        row.on_date,
        None if row.effort is None else round(row.effort),
        None if row.minutes is None else round(row.minutes),
    )


def pain_done(row: PainRow) -> PainTold:
    """A told pain as the rules see it."""
    return PainTold(
        on=row.on_date,
        family=Family(row.family) if row.family else None,
        where=Spare(row.where) if row.where else None,
        how_much=row.how_much,
        sharp=row.sharp,
        settled=row.settled,
    )
