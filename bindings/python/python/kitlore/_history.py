"""How far the counters of an item stood, day by day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

from kitlore._arguments import When
from kitlore._errors import InputTypeError, NoRowError
from kitlore._rows import Row


def _day(when: When | None, default: date) -> date:
    if when is None:
        return default
    if isinstance(when, datetime):
        return when.date()
    if isinstance(when, date):
        return when
    try:
        return date.fromisoformat(when[:10])
    except (TypeError, ValueError) as error:
        raise InputTypeError(f"`{when}` is no date; write it such as `2026-03-01`", code="input-type") from error


def history(
    rows_on: Callable[[date], list[Row]], item: str, task: str | None, since: When | None, until: When | None
) -> list[dict[str, Any]]:
    """The usage counters of an item at the end of each day; `rows_on` gives its rows on one."""
    last = _day(until, date.today())
    first = _day(since, last - timedelta(days=365))
    # Not more than about a thousand looks.
    step = max((last - first).days // 1000, 1)
    days = [first + timedelta(days=number) for number in range(0, (last - first).days + 1, step)]
    points: list[dict[str, Any]] = []
    seen = False
    for day in days:
        for row in rows_on(day):
            if task is not None and row.task.lower() != task.strip().lower():
                continue
            seen = True
            for account in row.rules:
                for part in account.parts:
                    if part.count is None:
                        continue
                    points.append(
                        {
                            "at": day,
                            "task": row.task,
                            "file": account.file,
                            "line": account.line,
                            "text": part.text,
                            "count": part.count,
                            "of": part.of,
                            "last_done": row.last_done,
                        }
                    )
    if not seen:
        about = f"`{task}` on `{item}`" if task else f"an item `{item}`"
        raise NoRowError(f"there is no row for {about} from {first} to {last}", code="no-row")
    return points
