"""What notebooks show. Standings are words, set off by marks and a coloured edge; no background is set, so
that light and dark pages both stay readable; all text is escaped, and nothing is fetched."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from html import escape
from typing import Any

from kitlore._rows import Account, Awaited, Forecast, Part, Problem, Row

# Word: mark and edge, each of 3:1 contrast or more against both white and black.
_EDGES = {
    "grounded": ("■", "#d0342c"),
    "overdue": ("▲", "#d0342c"),
    "due": ("●", "#b07300"),
    "soon": ("◐", "#3579c6"),
    "unknown": ("?", "#9060b0"),
    "clear": ("○", "#3d8b40"),
}
_SHOWN = 60

_CELL = "text-align:left;vertical-align:top;padding:0.2em 0.8em 0.2em 0.4em"


# A day, with its time of day where there is one.
_DAY = re.compile(r"\d{4}-\d\d-\d\d(?: \d\d:\d\d)?")
# A longer id may be broken, lest it push the other columns off the page.
_SHORT = 32


def _whole(shown: str) -> str:
    """What no end of a line may part: hyphens invite it."""
    return f'<span style="white-space:nowrap">{shown}</span>'


def _id(text: str) -> str:
    return _whole(escape(text)) if len(text) <= _SHORT else escape(text)


def _days(page: str) -> str:
    """The page with the dates of its texts kept whole; no tag or style of ours holds one."""
    return _DAY.sub(lambda found: _whole(found.group()), page)


def _chance(chance: float) -> str:
    """In words; never 0 or 100 % of what is not certain."""
    return "certain" if chance >= 1 else f"{min(max(round(chance * 100), 1), 99)} % chance"


def counts(rows: Iterable[Row]) -> dict[str, int]:
    """How many rows stand how, the worst first."""
    found = dict.fromkeys(_EDGES, 0)
    for row in rows:
        found[row.standing] += 1
    return {word: count for word, count in found.items() if count}


def standings(
    house: str | None, at: str, rows: Iterable[Row], awaited: Sequence[Awaited], problems: Sequence[Problem]
) -> str:
    """The rows that ask for something, the worst first, what is not there yet, and what was reported."""
    rows = list(rows)
    order = list(_EDGES)
    shown = [row for row in rows if row.standing != "clear"]
    shown.sort(key=lambda row: (order.index(row.standing), str(row.due_at or row.limit_at or "~")))
    body = "".join(
        _tr(
            _standing(row.standing),
            _id(row.item),
            escape(row.kind),
            escape(row.task),
            _date(row.due_at),
            _date(row.limit_at),
            _date(row.last_done),
        )
        for row in shown[:_SHOWN]
    )
    count = ", ".join(f"{count} {word}" for word, count in counts(rows).items()) or "no rows"
    lines = [_title(_of_house(house, at[:10])), _line(count)]
    if shown:
        lines.append(_table(["standing", "item", "kind", "task", "due", "limit", "last done"], body))
    if len(shown) > _SHOWN:
        lines.append(_line(f"and {len(shown) - _SHOWN} more rows"))
    lines.append(_awaited(awaited))
    lines.append(_cautions(shown))
    lines.append(_problems(problems))
    return f"<div>{''.join(lines)}</div>"


def ahead(house: str | None, at: str, days: int, rows: Iterable[Forecast], awaited: Sequence[Awaited]) -> str:
    """The rows that are or will be due, the earliest first, and what each date rests on."""
    shown = [row for row in rows if row.p10 is not None or row.too_little]
    shown.sort(key=lambda row: (str(row.p50 or row.p10 or "~"), row.item))
    body = "".join(
        _tr(
            _id(row.item),
            escape(row.task),
            _standing(row.standing),
            *("" if row.p10 is None else str(day or "later") for day in (row.p10, row.p50, row.p90)),
            escape("; ".join(text for text in (row.basis, row.too_little) if text)),
        )
        for row in shown[:_SHOWN]
    )
    lines = [_title(_of_house(house, f"{days} days from {at[:10]}"))]
    if shown:
        lines.append(_table(["item", "task", "now", "10 %", "50 %", "90 %", "rests on"], body))
    if len(shown) > _SHOWN:
        lines.append(_line(f"and {len(shown) - _SHOWN} more rows"))
    lines.append(_awaited(awaited))
    lines.append(_cautions(shown))
    return f"<div>{''.join(lines)}</div>"


def _awaited(awaited: Sequence[Awaited]) -> str:
    """How many items are not there yet, the nearest, and the last: a year far ahead may be a slip."""
    if not awaited:
        return ""
    named = [f"{given.item} from {given.there_from}" for given in awaited]
    if len(named) > 3:
        named[2:] = [f"{len(named) - 2} more, the last {named[-1]}"]
    are = "1 item is" if len(awaited) == 1 else f"{len(awaited)} items are"
    return _line(f"{are} not there yet: {', '.join(named)}")


def _cautions(rows: Iterable[Row | Forecast]) -> str:
    """Every caution of the tasks that ask for something, also of rows that are not shown."""
    cautions: dict[str, dict[str, None]] = {}
    for row in rows:
        cautions.setdefault(row.task, {}).update(dict.fromkeys(row.cautions))
    listed = "".join(
        f"<li><b>{escape(task)}</b>: {escape(text)}</li>" for task, texts in cautions.items() for text in texts
    )
    return f"<p><b>Cautions</b></p><ul>{listed}</ul>" if listed else ""


def _problems(problems: Sequence[Problem]) -> str:
    if not problems:
        return ""
    body = ""
    for problem in problems[:_SHOWN]:
        place = "" if problem.source is None else f"{problem.source} {problem.line}"
        meant = f" (did you mean `{problem.meant}`?)" if problem.meant else ""
        body += _tr(escape(place), escape(problem.code), escape(problem.message + meant))
    more = _line(f"and {len(problems) - _SHOWN} more") if len(problems) > _SHOWN else ""
    table = _table(["where", "code", "what"], body)
    return f"<details><summary>reported: {len(problems)}</summary>{table}{more}</details>"


def why(rows: Iterable[Row]) -> str:
    """Each row with its rules and their parts."""
    return f"<div>{''.join(map(_row, rows))}</div>"


def _row(row: Row) -> str:
    details = [
        ("last done", _date(row.last_done) or "never"),
        ("due", _date(row.due_at)),
        ("limit", _date(row.limit_at)),
        ("needs", escape(", ".join(row.needs))),
        ("takes", f"{row.takes_minutes:g} minutes" if row.takes_minutes is not None else ""),
        ("by", escape(row.by or "")),
        ("because", escape(row.because or "")),
        ("caution", "<br>".join(map(escape, row.cautions))),
    ]
    listed = "".join(_tr(f"<b>{name}</b>", value) for name, value in details if value)
    title = f"<p><b>{_id(row.item)}</b> {escape(row.kind)}: <b>{escape(row.task)}</b></p>"
    accounts = "".join(map(_account, row.rules))
    return f"{title}<p>{_standing(row.standing)}</p><table>{listed}</table>{accounts}"


def _account(account: Account) -> str:
    sides = [("", account.parts), ("no later than ", account.limit_parts)]
    body = "".join(_part(side, part) for side, parts in sides for part in parts)
    head = f"<p>{_standing(account.standing)} by {escape(account.file)}:{account.line}</p>"
    return head + _table(["part", "count", "of", "reached", "counts from", "entry"], body)


def _part(side: str, part: Part) -> str:
    entry = "" if part.tipped_by is None else f"{part.tipped_by.source} {part.tipped_by.line}"
    return _tr(
        escape(side + part.text),
        "" if part.count is None else f"{part.count:f}",
        "" if part.of is None else f"{part.of:f}",
        _date(part.reached_at),
        "" if part.counts_from is None else part.counts_from.isoformat(),
        escape(entry),
    )


def rules(title: str, rules: Iterable[dict[str, Any]], doubts: Iterable[dict[str, Any]]) -> str:
    """The rules and doubts with their places."""
    body = "".join(
        _tr(
            escape(f"{rule['file']}:{rule['line']}"),
            escape(rule["task"]),
            f'<pre style="margin:0;background:none;white-space:pre-wrap">{escape(rule["text"])}</pre>',
        )
        for rule in rules
    )
    listed = "".join(_line(f"doubt at {doubt['file']}:{doubt['line']}: {doubt['message']}") for doubt in doubts)
    return f"<div>{_title(title)}{_table(['where', 'task', 'rule'], body)}{listed}</div>"


def _standing(word: str) -> str:
    mark, edge = _EDGES[word]
    style = f"border-left:0.3em solid {edge};padding-left:0.4em;white-space:nowrap"
    return f'<span style="{style}">{mark} <b>{word}</b></span>'


def _date(at: datetime | None) -> str:
    if at is None:
        return ""
    return at.date().isoformat() if at.time().isoformat() == "00:00:00" else f"{at:%Y-%m-%d %H:%M}"


def _tr(*cells: str) -> str:
    return "<tr>" + "".join(f'<td style="{_CELL}">{_days(cell)}</td>' for cell in cells) + "</tr>"


def _table(headings: list[str], body: str) -> str:
    head = "".join(f'<th scope="col" style="{_CELL}">{heading}</th>' for heading in headings)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _of_house(house: str | None, text: str) -> str:
    return f"{house}, {text}" if house else text


def _title(text: str) -> str:
    return f"<p><b>{_days(escape(text))}</b></p>"


def _line(text: str) -> str:
    return f"<p>{_days(escape(text))}</p>"


def trip(found: dict[str, Any]) -> str:
    """What a trip needs, from its dicts: every list, and every caution beside its task."""
    house = f"{found['house']}: " if found["house"] else ""
    lines = [_title(f"{house}{found['name']}, {found['from']} to {found['to']}")]
    tasks: tuple[tuple[str, str, Callable[[dict[str, Any]], str]], ...] = (
        ("before leaving", "before", lambda row: row["due"] or f"{_chance(row['chance'])} on the way"),
        ("on the way, perhaps", "on_the_way", lambda row: f"{row['day']}, {_chance(row['chance'])}"),
        ("if something is found or done there", "follow_ups", lambda row: row["when"]),
        ("on return", "on_return", lambda row: row["due"]),
    )
    for title, name, date in tasks:
        body = "".join(
            _tr(
                _id(row["item"]),
                escape(row["task"]),
                escape(date(row)),
                escape(", ".join(row["needs"])),
                escape(row["by"] or ""),
                escape(" ".join(row["cautions"])),
            )
            for row in found[name]
        )
        lines.append(_line(title if body else f"{title}: nothing"))
        if body:
            lines.append(_table(["item", "task", "when", "needs", "by", "caution"], body))
    packed = "".join(
        _tr(
            escape(row["need"]),
            escape("" if row["stock"] is None else row["stock"]),
            ", ".join(f"{escape(reason['task'])} ({_id(reason['item'])})" for reason in row["reasons"]),
        )
        for row in found["pack"]
    )
    lines.append(_line("pack" if packed else "pack: nothing for tasks on the way"))
    if packed:
        lines.append(_table(["what", "stock", "for"], packed))
    for left in found["leave_at_home"]:
        tasks_held = ", ".join(task["task"] for task in left["tasks"])
        cautions = " ".join(caution for task in left["tasks"] for caution in task["cautions"])
        instead = ", ".join(other["item"] for other in left["instead"]) or "no clear item of its kind"
        lines.append(_line(f"leave at home: {left['item']} ({tasks_held}); instead: {instead}. {cautions}".strip()))
    lines.extend(_line(f"caution: {caution}") for caution in found["cautions"])
    lines.extend(_line(f"note: {note}") for note in found["notes"])
    return "".join(lines)
