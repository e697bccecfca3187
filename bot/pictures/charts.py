"""Charts for a phone: plain data to PNG bytes, drawn by matplotlib without a screen.

Each chart is 720 pixels wide with large letters. Nothing is said by colour alone: plans differ by
mark, ranges by hatching, and every mark has its word beside the chart. All words are handed in.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from io import BytesIO
from textwrap import fill
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

WIDTH_PX, DPI = 720, 120
GROUND = "#faf5ea"
INK = "#2b2a33"
SOFT = "#8f8778"
GRID = "#e2d8c3"
PLUM = "#6d3a63"
SAND = "#e6d3b0"
BLUE = "#2f6f9f"
RUST = "#c8451b"

PLAN_MARKS: Mapping[str, tuple[str, str]] = {
    "as_planned": ("o", PLUM),
    "ease_off": ("D", BLUE),
    "rest": ("X", RUST),
}
"""Mark and colour of a day plan."""

RANGE: Mapping[str, Any] = {
    "facecolor": SAND,
    "edgecolor": "#cdb484",
    "hatch": "//",
    "linewidth": 0,
}
"""How a usual or likely range is filled: told from the ground by its hatching, too."""


def _chart(height_px: int, title: str, left: float = 0.115) -> tuple[Figure, Axes]:
    figure = Figure(figsize=(WIDTH_PX / DPI, height_px / DPI), dpi=DPI, facecolor=GROUND)
    FigureCanvasAgg(figure)
    # Room in pixels: title and legend above, day labels below.
    bottom, top = 52 / height_px, 1.0 - 104 / height_px
    axes = figure.add_axes((left, bottom, 0.955 - left, top - bottom))
    axes.set_facecolor(GROUND)
    figure.text(
        0.03, 1.0 - 30 / height_px, title, fontsize=16, color=INK, weight="bold", va="center"
    )

    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(SOFT)
    axes.tick_params(colors=INK, labelsize=11.5, length=0, pad=6)
    axes.grid(axis="y", color=GRID, linewidth=1.2)
    axes.set_axisbelow(True)
    return figure, axes


def _png(figure: Figure) -> bytes:
    buffer = BytesIO()
    # No time and no version inside: the same data gives the same file.
    figure.savefig(buffer, format="png", facecolor=GROUND, metadata={"Software": None})
    return buffer.getvalue()


def _day_ticks(axes: Axes, labels: Sequence[str], most: int = 5) -> None:
    """As many day labels as fit without touching, the last one always."""
    count = len(labels)
    step = max(1, -(-count // most))
    places = list(range(count - 1, -1, -step))[::-1]
    axes.set_xticks(places, [labels[k] for k in places])
    axes.set_xlim(-0.7, count - 0.3)


def _legend(figure: Figure, axes: Axes, columns: int) -> None:
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles,
        labels,
        loc="lower left",
        bbox_to_anchor=(0.02, 1.0 - 92 / (figure.get_figheight() * DPI)),
        ncols=columns,
        frameon=False,
        fontsize=11,
        handletextpad=0.5,
        columnspacing=1.3,
        labelcolor=INK,
        borderaxespad=0.2,
    )


def readiness(data: Mapping[str, Any]) -> bytes:
    """How far each of up to 28 mornings was from the client's own usual.

    ``data``: title; days (labels, oldest first); distances (points above the usual, negative below,
    or null where there was no check-in); plans (code of the day plan, or null); low and high (the
    band in which a day stays as planned); words (text for "usual", "better", "lower", "much_lower"
    and for each plan code).
    """
    figure, axes = _chart(430, data["title"], left=0.2)
    distances, words = data["distances"], data["words"]
    axes.axhspan(
        data["low"],
        data["high"],
        **RANGE,
        alpha=0.55,
    )
    for run in _unbroken(distances):
        axes.plot(run, [distances[k] for k in run], color=SOFT, linewidth=1.8, zorder=2)
    for plan, (mark, colour) in PLAN_MARKS.items():
        days = [
            k
            for k, (distance, planned) in enumerate(zip(distances, data["plans"], strict=True))
            if distance is not None and planned == plan
        ]
        if days:
            axes.scatter(
                days,
                [distances[k] for k in days],
                marker=mark,
                s=70,
                color=colour,
                edgecolor=GROUND,
                linewidth=1.0,
                zorder=3,
                label=words[plan],
            )
    axes.set_ylim(-2.7, 1.3)
    axes.grid(visible=False)
    heights = {"better": 0.95, "usual": 0.0, "lower": -1.1, "much_lower": -2.2}
    axes.set_yticks(list(heights.values()), [fill(words[word], 10) for word in heights])
    _day_ticks(axes, data["days"])
    _legend(figure, axes, 3)
    return _png(figure)


def _unbroken(values: Sequence[float | None]) -> list[list[int]]:
    """Runs of indices without a missing value."""
    runs: list[list[int]] = [[]]
    for k, value in enumerate(values):
        if value is None:
            runs.append([])
        else:
            runs[-1].append(k)
    return [run for run in runs if len(run) > 1]


def weekly_load(data: Mapping[str, Any]) -> bytes:
    """Minutes trained in each week.

    ``data``: title; weeks (labels, oldest first); minutes (0 or more); usual (minutes of the usual
    week, or null); words (text for "usual_week" and "this_week").
    """
    figure, axes = _chart(430, data["title"])
    minutes, words = data["minutes"], data["words"]
    last = len(minutes) - 1
    for k, trained in enumerate(minutes):
        this = k == last
        axes.bar(
            k,
            trained,
            width=0.66,
            color=PLUM if this else "#c3b4c0",
            edgecolor=PLUM,
            linewidth=1.4,
            hatch="" if this else "..",
            label=words["this_week"] if this else None,
        )
        axes.annotate(
            f"{trained:.0f}",
            (k, trained),
            ha="center",
            va="bottom",
            fontsize=11.5,
            color=INK,
            xytext=(0, 4),
            textcoords="offset points",
            bbox={"boxstyle": "round,pad=0.15", "facecolor": GROUND, "edgecolor": "none"},
            zorder=4,
        )
    if data.get("usual") is not None:
        axes.axhline(
            data["usual"],
            color=INK,
            linewidth=1.8,
            linestyle=(0, (5, 3)),
            label=words["usual_week"],
            zorder=3,
        )
    axes.set_ylim(0, 1.18 * max([*minutes, data.get("usual") or 0.0, 1.0]))
    axes.set_yticks([])
    _day_ticks(axes, data["weeks"], 6)
    _legend(figure, axes, 2)
    return _png(figure)


def climb(data: Mapping[str, Any]) -> bytes:
    """All movements under each other, each from what could be done when it was first known.

    ``data``: by movement, its days: pairs of (date as text YYYY-MM-DD, percent of that), oldest
    first; optionally "title" (text), "names" (shown name of each movement), "order"
    (movements from top to bottom) and "rungs" (what is done, or what was done first and is done
    now, of each movement). The percent reached stands behind each line.
    """
    names, rungs = data.get("names", {}), data.get("rungs", {})
    words = ("title", "names", "order", "rungs")
    order = data.get("order") or [k for k in data if k not in words]
    lines = {k: data[k] for k in order}
    head, row, below = (64 if data.get("title") else 16), 84, 34 if rungs else 0
    row += below
    height = head + row * len(lines) + 44
    figure = Figure(figsize=(WIDTH_PX / DPI, height / DPI), dpi=DPI, facecolor=GROUND)
    FigureCanvasAgg(figure)
    figure.text(
        0.03,
        1.0 - 32 / height,
        data.get("title", ""),
        fontsize=16,
        color=INK,
        weight="bold",
        va="center",
    )
    days = [date.fromisoformat(day) for line in lines.values() for day, _ in line]
    first, last = min(days), max(days)
    span = max((last - first).days, 1)
    for k, (movement, line) in enumerate(lines.items()):
        bottom = 44 + row * (len(lines) - 1 - k)
        across = (0.27, (bottom + 12 + below) / height, 0.58, (row - 24 - below) / height)
        axes = figure.add_axes(across)
        axes.set_axis_off()
        x = [(date.fromisoformat(day) - first).days for day, _ in line]
        percents = [float(percent) for _, percent in line]
        axes.axhline(100.0, color=SOFT, linewidth=1.2, linestyle=(0, (2, 3)))
        axes.plot(x, percents, color=PLUM, linewidth=2.4, marker="o", markersize=5)
        axes.set_xlim(-0.03 * span, 1.03 * span)
        low, high = min(100.0, *percents), max(100.0, *percents)
        room = max(high - low, 20.0)
        axes.set_ylim(low - 0.2 * room, high + 0.2 * room)
        middle = (bottom + (row + below) / 2) / height
        figure.text(
            0.03,
            (bottom + below / 2 + 6) / height,
            fill(" → ".join(rungs.get(movement, ())), 74),
            fontsize=11,
            color=INK,
            va="center",
        )
        name = names.get(movement, movement.replace("_", " "))
        figure.text(0.03, middle, fill(name, 14), fontsize=13, color=INK, va="center")
        figure.text(
            0.97,
            middle,
            f"{percents[-1]:.0f} %",
            fontsize=14,
            color=INK,
            weight="bold",
            va="center",
            ha="right",
        )
    for share, day in ((0.27, first), (0.85, last)):
        figure.text(
            share,
            22 / height,
            f"{day:%d %b}".lstrip("0"),
            fontsize=11.5,
            color=INK,
            ha="center",
            va="center",
        )
    return _png(figure)


def movement_climb(data: Mapping[str, Any]) -> bytes:
    """How a client climbs in one movement, with uncertainty.

    ``data``: title; days (labels, oldest first) and on (the same as text YYYY-MM-DD: they stand as
    far apart as they are); capacity, low and high (predicted demand that
    she can do, and its likely range, per day); done (demand of the set done that day, or null);
    rungs (pairs of demand and short name, drawn as lines); words (text for "capacity", "likely"
    and "done").
    """
    figure, axes = _chart(540, data["title"], left=0.25)
    words, first = data["words"], date.fromisoformat(data["on"][0])
    days = [(date.fromisoformat(day) - first).days for day in data["on"]]
    axes.fill_between(
        days,
        data["low"],
        data["high"],
        **RANGE,
        alpha=0.6,
        label=words["likely"],
    )
    axes.plot(days, data["capacity"], color=PLUM, linewidth=2.6, label=words["capacity"])
    done = [k for k in range(len(days)) if data["done"][k] is not None]
    axes.scatter(
        [days[k] for k in done],
        [data["done"][k] for k in done],
        marker="s",
        s=52,
        color=RUST,
        edgecolor=GROUND,
        linewidth=1.0,
        zorder=3,
        label=words["done"],
    )
    everything = [*data["low"], *data["high"], *(data["done"][k] for k in done)]
    low, high = min(everything), max(everything)
    margin = 0.08 * (high - low or 1.0)
    axes.set_ylim(low - margin, high + 1.6 * margin)
    _rung_ticks(axes, data["rungs"])
    _even_ticks(axes, days, data["days"])
    _legend(figure, axes, 3)
    return _png(figure)


def _even_ticks(axes: Axes, days: Sequence[int], labels: Sequence[str], most: int = 5) -> None:
    """Day labels at their true place, none touching another; the last one always."""
    span = max(days[-1] - days[0], 1)
    shown = [len(days) - 1]
    for k in reversed(range(len(days))):
        if days[shown[-1]] - days[k] >= span / (most - 0.5):
            shown.append(k)
    axes.set_xticks([days[k] for k in shown], [labels[k] for k in shown])
    axes.set_xlim(days[0] - 0.04 * span, days[-1] + 0.06 * span)


def _rung_ticks(axes: Axes, rungs: Sequence[tuple[float, str]]) -> None:
    """The names of rungs at their demand, leaving out names that would touch."""
    low, high = axes.get_ylim()
    apart, last = 0.11 * (high - low), low - high
    shown = []
    for demand, name in sorted(rungs):
        if low <= demand <= high and demand - last >= apart:
            last = demand
            shown.append((demand, fill(name, 17)))
    axes.set_yticks([demand for demand, _ in shown], [name for _, name in shown])


DRAWN_BY: Mapping[str, Callable[[Mapping[str, Any]], bytes]] = {
    "readiness": readiness,
    "weekly_load": weekly_load,
    "climb": climb,
    "movement_climb": movement_climb,
}
"""Charts by name, as :meth:`bot.pictures.store.PictureStore.chart` is asked for them."""
