"""Pictures, with matplotlib where it is installed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import partial
from io import BytesIO
from typing import Any

from kitlore._errors import NoRowError
from kitlore._rows import Forecast, Row

# Marks differ in form, so that colour is not needed.
_MARKS = {
    "grounded": ("s", "#d0342c"),
    "overdue": ("^", "#d0342c"),
    "due": ("o", "#b07300"),
    "soon": ("D", "#3579c6"),
    "unknown": ("x", "#9060b0"),
    "clear": (".", "#3d8b40"),
}

# Items that fit on one picture, and letters of a label that fit over the days ahead.
_ITEMS = 60
_LETTERS = 115


def _figure(height: float, rows: int = 1) -> Any:
    try:
        from matplotlib.figure import Figure
    except ImportError as error:
        raise ImportError("pictures need matplotlib: pip install 'kitlore[plot]'") from error
    # A figure of its own, that no global list keeps alive; notebooks show it without being asked to.
    figure = Figure(figsize=(10, height), layout="constrained")
    figure._repr_png_ = partial(_png, figure)  # type: ignore[attr-defined]
    return figure, figure.subplots(rows, 1, sharex=True, squeeze=False)[:, 0]


def _png(figure: Any) -> bytes:
    out = BytesIO()
    figure.savefig(out, format="png", dpi=80)
    return out.getvalue()


def plot_ahead(house: str | None, instant: str, days: int, rows: Iterable[Row]) -> Any:
    """Draws what falls due in the days ahead, by item."""
    at = datetime.fromisoformat(instant)
    end = at + timedelta(days=days)
    drawn = [row for row in rows if row.due_at is not None and row.due_at <= end]
    drawn.sort(key=lambda row: row.due_at or end)
    items = list(dict.fromkeys(row.item for row in drawn))
    left_out = len(items) - _ITEMS
    items = items[:_ITEMS]
    drawn = [row for row in drawn if row.item in set(items)]
    place = {item: number for number, item in enumerate(items)}
    figure, (axes,) = _figure(1.8 + 0.32 * max(len(items), 3))

    def day(row: Row) -> date:
        return max(row.due_at or at, at).date()

    for standing, (mark, colour) in _MARKS.items():
        alike = [row for row in drawn if row.standing == standing]
        if alike:
            xs, ys = [day(row) for row in alike], [place[row.item] for row in alike]
            axes.scatter(xs, ys, marker=mark, color=colour, s=42, label=standing, zorder=3)
    for item in items:
        for x, label in _labels([(day(row), row.task) for row in drawn if row.item == item], days):
            axes.annotate(label, (x, place[item]), xytext=(7, 0), textcoords="offset points", va="center", fontsize=8)
    axes.set_yticks(range(len(items)), items)
    axes.set_ylim(max(len(items), 1) - 0.5, -0.5)
    axes.set_xlim(at.date() - timedelta(days=max(days // 40, 1)), end.date() + timedelta(days=days // 5 + 1))
    axes.grid(axis="x", alpha=0.3)
    of_house = f"{house}: " if house else ""
    more = f"; {left_out} more items" if left_out > 0 else ""
    axes.set_title(f"{of_house}due by {end.date()}; at the left what is due on {at.date()}{more}", loc="left")
    if drawn:
        figure.legend(loc="outside lower center", ncols=len(_MARKS))
    else:
        axes.text(0.5, 0.5, "nothing falls due", transform=axes.transAxes, ha="center")
    return figure


def plot_spans(house: str | None, instant: str, days: int, rows: Iterable[Forecast]) -> Any:
    """Draws the spans of the days ahead, the earliest first."""
    at = datetime.fromisoformat(instant).date()
    end = at + timedelta(days=days)
    drawn = sorted((row for row in rows if row.p10 is not None), key=lambda row: (row.p50 or end, row.item))
    left_out = len(drawn) - _ITEMS
    drawn = drawn[:_ITEMS]
    figure, (axes,) = _figure(1.8 + 0.32 * max(len(drawn), 3))
    for place, row in enumerate(drawn):
        first, last = max(row.p10 or end, at), max(row.p90 or end, at)
        axes.plot([first, last], [place, place], color="#555555", linewidth=3, solid_capstyle="butt")
        mark, colour = _MARKS.get(row.standing, ("o", "#555555"))
        if row.p50 is not None:
            axes.scatter([max(row.p50, at)], [place], marker=mark, color=colour, s=42, zorder=3)
        if row.p90 is None:
            # It goes on beyond the days drawn.
            axes.scatter([last], [place], marker=">", color="#555555", s=30, zorder=3)
    axes.set_yticks(range(len(drawn)), [f"{row.item}  {row.task}" for row in drawn])
    axes.set_ylim(max(len(drawn), 1) - 0.5, -0.5)
    axes.set_xlim(at - timedelta(days=1), end + timedelta(days=max(days // 30, 1)))
    axes.grid(axis="x", alpha=0.3)
    of_house = f"{house}: " if house else ""
    more = f"; {left_out} more rows" if left_out > 0 else ""
    axes.set_title(f"{of_house}due with 10 to 90 % chance, the middle marked{more}", loc="left")
    if not drawn:
        axes.text(0.5, 0.5, "nothing falls due", transform=axes.transAxes, ha="center")
    return figure


def _labels(marks: list[tuple[date, str]], days: int) -> list[tuple[date, str]]:
    """What stands beside an item's marks; those too close for a label of their own share one."""
    groups: list[tuple[date, list[str]]] = []
    for x, task in marks:
        if groups:
            last, tasks = groups[-1]
            letters = (x - last).days / days * _LETTERS
            if x == last or letters < len(_label(tasks)) + 2:
                # After the last of them, so that no mark lies under the label.
                groups[-1] = (x, [*tasks, task])
                continue
        groups.append((x, [task]))
    return [(x, _label(tasks)) for x, tasks in groups]


def _label(tasks: list[str]) -> str:
    return tasks[0] if len(tasks) == 1 else f"{tasks[0]} and {len(tasks) - 1} more"


def plot_history(item: str, task: str | None, points: list[dict[str, Any]]) -> Any:
    """Draws the usage counters of an item over time."""
    counters = list(dict.fromkeys((point["task"], point["file"], point["line"], point["text"]) for point in points))
    if not counters:
        raise NoRowError(f"no rule counts any use of `{item}`", code="no-row")
    if task is None:
        # What is due at the first use goes between 0 and 1 and says little; a task's own picture has it.
        many = {(point["task"], point["file"], point["line"], point["text"]) for point in points if point["of"] > 1}
        counters = [counter for counter in counters if counter in many] or counters
    figure, all_axes = _figure(0.8 + 2.0 * len(counters), len(counters))
    for axes, counter in zip(all_axes, counters, strict=True):
        own = [p for p in points if (p["task"], p["file"], p["line"], p["text"]) == counter]
        days = [point["at"] for point in own]
        axes.step(days, [float(point["count"]) for point in own], where="post", label="counted")
        of = float(own[-1]["of"])
        axes.axhline(of, linestyle="--", color="#d0342c", linewidth=1, label=f"due at {of:,g}")
        done = sorted({point["last_done"].date() for point in own if point["last_done"] is not None})
        for number, day in enumerate(day for day in done if day >= days[0]):
            axes.axvline(day, linestyle=":", color="#3d8b40", linewidth=1.2, label="done" if number == 0 else None)
        axes.set_title(f"{counter[0]}: {counter[3]}", loc="left", fontsize=10)
        axes.set_ylim(bottom=0)
        axes.grid(alpha=0.3)
        axes.legend(loc="best", fontsize=8)
    figure.suptitle(item)
    return figure
