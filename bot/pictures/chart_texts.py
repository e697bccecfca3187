"""What a chart shows, for those who cannot see it: its kind, its figures with units, each value."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from bot.reference.words import Words

MOST_DAYS = 8
"""So many of the last days of a movement are told one by one."""


def in_words(chart: str, data: Mapping[str, Any], words: Words) -> str:
    """A chart in words.

    Args:
        chart: its kind, a key of ``charts.yaml``.
        data: what it is drawn from.
    """
    told = [str(words.word("charts", chart, "kind")), *_OF[chart](data, words)]
    return " ".join(one for one in told if one)


def _weekly_load(data: Mapping[str, Any], words: Words) -> Sequence[str]:
    minutes, usual = data["minutes"], data["usual"]
    spread = _said(
        words, "weekly_load", "spread", low=min(minutes), high=max(minutes), last=minutes[-1]
    )
    known = "" if usual is None else _said(words, "weekly_load", "usual", usual=usual)
    pairs = zip(data["weeks"], minutes, strict=True)
    return spread, known, _listed(f"{day}: {one:.0f}" for day, one in pairs)


def _readiness(data: Mapping[str, Any], words: Words) -> Sequence[str]:
    known = [one for one in data["distances"] if one is not None]
    plans = words.word("names", "chart_words")
    days = zip(data["days"], data["plans"], data["distances"], strict=True)
    return (
        _said(words, "readiness", "spread", low=min(known), high=max(known), last=known[-1]),
        _said(words, "readiness", "usual", low=data["low"], high=data["high"]),
        _listed(
            f"{day}: {plans[plan]}" + (f", {far:+.1f}" if far is not None else "")
            for day, plan, far in days
            if plan
        ),
    )


def _movement_climb(data: Mapping[str, Any], words: Words) -> Sequence[str]:
    first = data["capacity"][0]
    percent = [100 * one / first for one in data["capacity"]]
    likely = {key: 100 * data[key][-1] / first for key in ("low", "high")}
    pairs = list(zip(data["days"], percent, strict=True))[-MOST_DAYS:]
    return (
        _said(
            words, "movement_climb", "spread", low=min(percent), high=max(percent), last=percent[-1]
        ),
        _said(words, "movement_climb", "usual", **likely),
        _listed(f"{day}: {one:.0f} %" for day, one in pairs),
    )


def _climb(data: Mapping[str, Any], words: Words) -> Sequence[str]:
    return [
        _said(
            words,
            "climb",
            "spread",
            name=_capital(data["names"][family]),
            since=_day(data[family][0][0]),
            low=min(percent for _, percent in data[family]),
            high=max(percent for _, percent in data[family]),
            last=data[family][-1][1],
        )
        for family in data["order"]
    ]


_OF: Mapping[str, Callable[[Mapping[str, Any], Words], Sequence[str]]] = {
    "weekly_load": _weekly_load,
    "readiness": _readiness,
    "movement_climb": _movement_climb,
    "climb": _climb,
}


def _said(words: Words, chart: str, what: str, **figures: float | str) -> str:
    return str(words.word("charts", chart, what)).format(**figures)


def _listed(values: Iterable[str]) -> str:
    told = ", ".join(values)
    return f"{told}." if told else ""


def _day(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day.day} {day:%b}"


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]
