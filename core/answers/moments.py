"""Days, times of day and days of the week, told in a sentence."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

from core.answers.said import Clause, is_figure, numbered, value_of
from core.answers.words import SentenceWords, Understood

WEEK = range(1, 8)
LATEST_SHORT_YEAR = 60
FEW_WORDS = 3


def read_time(text: str, words: SentenceWords, *, first: int = 4) -> Understood[str] | None:
    """A time in the morning or later, as "HH:MM".

    Args:
        first: hours below it are of the afternoon.
    """
    clock = text.replace("'", "").replace("\u2019", "")
    said = numbered(clock, words, words.lists["oclock"], words.choices["clock"])
    found: list[tuple[str, bool]] = []
    for clause in said:
        evening = words.lists["evening"].stands_in(clause)
        for start, hour, minute in _clocks(clause, words):
            after = clause[start : start + 5]
            pm = evening or words.lists["pm"].stands_in(after)
            am = words.lists["am"].stands_in(after)
            if (pm and hour < 12) or (not am and hour < first):
                hour += 12
            if am and hour == 12:
                hour = 0
            chosen = words.lists["choosing"].stands_in(clause[:start])
            if words.lists["not_at"].stands_in(clause[max(0, start - 2) : start]):
                continue
            found.append((f"{hour % 24:02d}:{minute:02d}", chosen))
    if not found and any(_at_noon(clause, words) for clause in said):
        return Understood("12:00")
    if not found:
        return None
    values = {value for value, _chosen in found}
    chosen_ones = [value for value, chosen in found if chosen]
    if len(values) == 1:
        return Understood(found[0][0])
    return Understood(chosen_ones[-1], sure=False) if len(set(chosen_ones)) == 1 else None


def _at_noon(clause: Clause, words: SentenceWords) -> bool:
    hits = words.lists["noon"].hits(clause)
    return any(not words.lists["not_at"].stands_in(clause[: hit.start][-2:]) for hit in hits)


def _clocks(clause: Clause, words: SentenceWords) -> list[tuple[int, int, int]]:
    """Each time of a clause: where it begins, hour, minute."""
    found = []
    at = 0
    while at < len(clause):
        word = clause[at]
        figure = is_figure(word)
        before = words.choices["clock"].hits(clause[max(0, at - 3) : at])
        if not figure:
            at += 1
            continue
        if ":" in word or ("." in word and len(word.rpartition(".")[2]) == 2):
            hour, minute = (int(part) for part in word.replace(".", ":").split(":")[:2])
            if hour < 24 and minute < 60:
                found.append((at, hour, minute))
            at += 1
            continue
        value = int(value_of(word)) if value_of(word) % 1 == 0 else -1
        follows = clause[at + 1] if at + 1 < len(clause) else ""
        follower = int(value_of(follows)) if is_figure(follows) and follows.isdigit() else -1
        past = clause[at + 1 : at + 2]
        if past and words.lists["past"].are(past) and is_figure((clause + [""] * 3)[at + 2]):
            hour = int(value_of(clause[at + 2]))
            if value < 60 and 1 <= hour <= 12:
                found.append((at, hour, value))
            at += 3
            continue
        if past and words.lists["to"].are(past) and is_figure((clause + [""] * 3)[at + 2]):
            hour = int(value_of(clause[at + 2]))
            if 0 < value < 60 and 1 <= hour <= 12:
                found.append((at, (hour - 2) % 12 + 1, 60 - value))
            at += 3
            continue
        if len(word) in (3, 4) and word.isdigit() and int(word) % 100 < 60 and int(word) < 2400:
            found.append((at, int(word) // 100, int(word) % 100))
        elif 1 <= value <= 23:
            if before and before[-1].end == len(clause[max(0, at - 3) : at]):
                shift = int(before[-1].code)
                minutes = value * 60 + shift
                found.append((at, minutes // 60, minutes % 60))
            elif follower >= 10 and follower < 60:
                found.append((at, value, follower))
                at += 1
            elif not words.lists["spans"].stands_in([follows]):
                found.append((at, value, 0))
        at += 1
    return found


def read_weekdays(text: str, words: SentenceWords) -> Understood[tuple[int, ...]] | None:
    """Days of the week from 1 (Monday), in order: named, all but some, or a span."""
    span = re.sub(r"(?<![-\w])([^\W\d_]+)-([^\W\d_]+)(?![-\w])", r"\1 to \2", text)
    said = numbered(
        span, words, words.lists["all_days"], words.lists["except_days"], words.lists["day_names"]
    )
    chosen: list[int] = []
    left_out: list[int] = []
    hedged = False
    for clause in [_after_choosing(one, words) for one in said]:
        before = len(chosen)
        if words.lists["all_days"].stands_in(clause):
            chosen += WEEK
        hedged = hedged or words.lists["or_days"].stands_in(clause)
        for name, days_of in (("weekdays", range(1, 6)), ("weekend", (6, 7))):
            for hit in words.lists[name].hits(clause)[:1]:
                excepted = words.lists["except_days"].stands_in(
                    clause[max(0, hit.start - 3) : hit.start]
                ) or words.lists["taken_day"].stands_in(clause[hit.end : hit.end + 3])
                (left_out if excepted else chosen).extend(days_of)
                hedged = hedged or excepted
        out = False
        span_from = 0
        for at, word in enumerate(clause):
            if words.lists["except_days"].stands_in([word]) or words.lists["except_days"].stands_in(
                clause[max(0, at - 1) : at + 1]
            ):
                out = True
            day = words.weekdays.get(word)
            if day is None:
                continue
            taken = words.lists["taken_day"].stands_in(clause[at + 1 : at + 3])
            if span_from and words.lists["up_to"].stands_in(clause[span_from - 1 : at]) and chosen:
                chosen += range(chosen[-1] + 1, day + 1)
            elif out or taken:
                left_out.append(day)
            else:
                chosen.append(day)
            hedged = hedged or out or taken
            span_from = at + 1
        whole = any(
            words.lists[one].stands_in(clause) for one in ("all_days", "weekdays", "weekend")
        )
        hedged = hedged or (whole and 0 < before < len(chosen))
        if len(chosen) > before and words.lists["only"].stands_in(clause):
            break
    if left_out and not chosen and len(set(left_out)) < len(WEEK) and said:
        return None
    days = tuple(sorted(set(chosen) - set(left_out)))
    return Understood(days, sure=not hedged or set(WEEK) <= set(chosen)) if days else None


def _after_choosing(clause: Clause, words: SentenceWords) -> Clause:
    """What follows "put me down for" and its like; the clause where nothing does."""
    hits = words.lists["choosing_days"].hits(clause)
    return clause[hits[-1].end :] if hits else clause


def read_date(
    text: str, today: date, words: SentenceWords, *, ahead: bool = False
) -> Understood[str] | None:
    """A day as "2026-09-14", or a month as "2026-09".

    Args:
        ahead: a day without a year is the next one; else the last one.
    """
    endings = "|".join(sorted(words.lists["ordinal_endings"].vocabulary))
    bare = re.sub(rf"(?<=\d)(?:{endings})\b", "", text.casefold())
    bare = re.sub(r"(?<=\d)[./-](?=\d)", " ", bare)
    said = numbered(bare, words, words.lists["month_names"])
    found = []
    whole = [word for part in said for word in part]
    for clause in [*said, whole]:
        found += _dates(clause, today, words, ahead=ahead)
        if found:
            break
    if not found:
        return None
    days = [word for clause in said for word in clause if word.isdigit() and len(word) < 3]
    about = any(words.lists["about"].stands_in(clause) for clause in said)
    several = len(set(days)) > 1 and len(found[0]) > len("2026-09") and found[0].count("-") == 2
    named = sum(word in words.months for clause in said for word in clause)
    plain = not about and not (several and named > 1)
    return Understood(found[0], sure=len(set(found)) == 1 and plain)


def _dates(clause: Clause, today: date, words: SentenceWords, *, ahead: bool) -> list[str]:
    named = _named_day(clause, today, words, ahead=ahead)
    if named:
        return [named]
    weekday = any(word in words.weekdays for word in clause)
    in_weeks = any(words.lists["week_span"].stands_in([word]) for word in clause)
    if weekday and in_weeks and not _names_a_month(clause, words):
        return []
    months_ago = _months_back(clause, today, words)
    if months_ago:
        return [months_ago]
    relative = _relative(clause, today, words, ahead=ahead)
    if relative is not None:
        return [relative.isoformat()]
    numeric = _numeric(clause)
    if numeric:
        return numeric
    months = [(at, words.months[word]) for at, word in enumerate(clause) if word in words.months]
    months = [(at, month) for at, month in months if not _is_verb(clause, at, words)]
    if len({month for _at, month in months}) != 1:
        return []
    at, month = months[0]
    years = _years(clause)
    short = _short_year(clause, at)
    years = years or ([short] if short else [])
    year = years[0] if years else _year_of(month, today, clause, words, ahead=ahead)
    near = [
        clause[place]
        for place in (at - 1, at - 2, at - 3, at + 1, at + 2)
        if 0 <= place < len(clause)
    ]
    days = [int(one) for one in near if one.isdigit() and len(one) <= 2 and 1 <= int(one) <= 31]
    if years and str(years[0])[:2] in near and str(years[0])[2:] in near:
        days = [one for one in days if str(one) not in (str(years[0])[:2], str(years[0])[2:])] or (
            [int(str(years[0])[:2])] if near.count(str(years[0])[:2]) > 2 else []
        )
    if short:
        days = [one for one in days if one != short % 100] or days
    if days and words.lists["just_after"].stands_in(clause[:at]):
        days = []
    if not days:
        return [f"{year}-{month:02d}"]
    try:
        day = date(year, month, days[0])
    except ValueError:
        return []
    if not years and not ahead and day > today:
        try:
            day = day.replace(year=year - 1)
        except ValueError:
            # 29 February: the year before had none, and which leap year is meant nobody said.
            return []
    return [day.isoformat()]


def _named_day(clause: Clause, today: date, words: SentenceWords, *, ahead: bool) -> str:
    """ "Christmas Eve": the last one, or the next; "" for other words, and for days about it."""
    text = f" {' '.join(clause)} "
    for name, on in words.named_days.items():
        place = text.find(f" {name} ")
        about = words.lists["just_after"].stands_in(text[:place].split()[-2:])
        if place < 0 or about or _names_a_month(clause, words):
            continue
        month, day_of = (int(part) for part in on.split("-"))
        this_year = date(today.year, month, day_of)
        year = today.year + (ahead and this_year < today) - (not ahead and this_year > today)
        year = _years(clause)[0] if _years(clause) else year
        return date(year, month, day_of).isoformat()
    return ""


def _months_back(clause: Clause, today: date, words: SentenceWords) -> str:
    """ "Last month", "the 20th of last month", "two months ago"; "" for other words."""
    back = -1
    if words.lists["last_month"].stands_in(clause):
        back = 1
    elif words.lists["this_month"].stands_in(clause):
        back = 0
    for at, word in enumerate(clause):
        ago = words.lists["ago"].stands_in(clause[at + 1 : at + 3])
        if words.lists["month_span"].stands_in([word]) and ago:
            before = clause[at - 1] if at else ""
            back = int(value_of(before)) if is_figure(before) else 1
            if words.lists["couple"].stands_in(clause[max(0, at - 2) : at]):
                return ""
            month = today.year * 12 + today.month - 1 - back
            return f"{month // 12}-{month % 12 + 1:02d}"
    if back < 0 or _names_a_month(clause, words):
        return ""
    month = today.year * 12 + today.month - 1 - back
    days = [int(word) for word in clause if word.isdigit() and 1 <= int(word) <= 31]
    named = f"{month // 12}-{month % 12 + 1:02d}"
    return f"{named}-{days[0]:02d}" if len(days) == 1 else named


def _short_year(clause: Clause, at: int) -> int:
    """The year of "5 June 25", or 0."""
    before = clause[at - 1] if at else ""
    after = clause[at + 1] if at + 1 < len(clause) else ""
    both = before.isdigit() and after.isdigit() and len(after) == 2
    return 2000 + int(after) if both and int(after) < LATEST_SHORT_YEAR else 0


def _is_verb(clause: Clause, at: int, words: SentenceWords) -> bool:
    """Whether "may" or "march" is a verb."""
    doubtful = clause[at] in words.lists["month_or_verb"].vocabulary
    before = clause[at - 1] if at else ""
    after = clause[at + 1] if at + 1 < len(clause) else ""
    month_like = (
        before.isdigit() or after.isdigit() or words.lists["before_month"].stands_in([before])
    )
    alone = at == 0 and len(clause) <= FEW_WORDS
    return doubtful and not (month_like or alone)


def _years(clause: Clause) -> list[int]:
    whole = [
        int(word)
        for word in clause
        if word.isdigit() and len(word) == 4 and 1900 <= int(word) <= 2200
    ]
    if whole:
        return whole
    return [
        int(one + two)
        for one, two in pairwise(clause)
        if one in ("19", "20") and two.isdigit() and len(two) == 2
    ]


def _year_of(month: int, today: date, clause: Clause, words: SentenceWords, *, ahead: bool) -> int:
    for place, word in enumerate(clause):
        ago = words.lists["ago"].stands_in(clause[place + 1 : place + 3])
        if words.lists["year_span"].stands_in([word]) and ago:
            before = clause[place - 1] if place else ""
            return today.year - (int(value_of(before)) if is_figure(before) else 1)
    if words.lists["last_year"].stands_in(clause):
        return today.year - 1
    if words.lists["this_year"].stands_in(clause):
        return today.year
    if ahead:
        return today.year + (month < today.month)
    return today.year - (month > today.month)


def _numeric(clause: Clause) -> list[str]:
    """ "3 / 8 / 2026" as day and month, unless only the other way fits; "2026 / 9"."""
    figures = [(at, word) for at, word in enumerate(clause) if word.isdigit()]
    for at in range(len(figures) - 1):
        places = [place for place, _word in figures[at : at + 3]]
        numbers = [int(word) for _place, word in figures[at : at + 3]]
        adjacent = places[1] - places[0] == 1
        month_and_year = 1 <= numbers[0] <= 12 and 1900 <= numbers[1] <= 2200
        if adjacent and month_and_year and len(figures) == len(places):
            return [f"{numbers[1]}-{numbers[0]:02d}"]
        if len(numbers) == 3 and places[2] - places[0] == 2:
            one, two, three = numbers
            year, month, day = (one, two, three) if one > 31 else (three, two, one)
            year += 2000 if year < 100 else 0
            if month > 12 >= day:
                month, day = day, month
            try:
                return [date(year, month, day).isoformat()]
            except ValueError:
                continue
    return []


def _relative(clause: Clause, today: date, words: SentenceWords, *, ahead: bool) -> date | None:
    for code, days in (("before_yesterday", -2), ("today", 0), ("yesterday", -1), ("tomorrow", 1)):
        whole = words.lists["ago"].stands_in(clause)
        if (
            not whole
            and words.lists[f"day_{code}"].stands_in(clause)
            and not _names_a_month(clause, words)
        ):
            return today + timedelta(days=days)
    for at, word in enumerate(clause):
        spans = words.choices["span"].hits([word])
        if spans and words.lists["ago"].stands_in(clause[at + 1 : at + 4]):
            before = clause[at - 1] if at else ""
            count = int(value_of(before)) if is_figure(before) else 1
            shifted = words.lists["day_yesterday"].stands_in(clause) or words.lists[
                "day_tomorrow"
            ].stands_in(clause)
            if shifted or words.lists["couple"].stands_in(clause[max(0, at - 2) : at]):
                return None
            return today - timedelta(days=count * int(spans[0].code))
    for at, word in enumerate(clause):
        day = words.weekdays.get(word)
        before = clause[at - 1] if at else ""
        if day is None or _names_a_month(clause, words):
            continue
        gone = words.lists["just_gone"].stands_in(clause[at + 1 : at + 3])
        if words.lists["last"].stands_in([before]) or gone:
            return today - timedelta(days=(today.isoweekday() - day - 1) % 7 + 1)
        if words.lists["next"].stands_in([before]):
            return today + timedelta(days=(day - today.isoweekday() - 1) % 7 + 1)
        if ahead:
            return today + timedelta(days=(day - today.isoweekday() - 1) % 7 + 1)
    return None


def _names_a_month(clause: Sequence[str], words: SentenceWords) -> bool:
    return any(word in words.months for word in clause)
