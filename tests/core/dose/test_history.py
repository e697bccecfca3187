"""What was done, on a day that has become a later one than today."""

from datetime import date

from core.dose.history import History, PainTold, SessionDone
from core.vocabulary import Family, Spare

MONDAY, TUESDAY = date(2026, 3, 2), date(2026, 3, 3)


def test_what_was_told_west_of_the_date_line_is_of_today_east_of_it() -> None:
    pain = PainTold(TUESDAY, Family.SQUAT, Spare.KNEE, 7)
    told = History(sessions=(SessionDone(MONDAY), SessionDone(TUESDAY)), pains=(pain,))
    assert told.by(TUESDAY) is told
    seen = told.by(MONDAY)
    assert [one.on for one in (*seen.sessions, *seen.pains)] == [MONDAY] * 3
    assert seen.pains[0].how_much == 7
