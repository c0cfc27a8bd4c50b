"""The rows of an answer as plain frozen objects."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the inventory or the log.

    `line` is a line of a file, from 1; of a frame or a list it is the row's number, from 0, as `iloc` counts.
    `source` is the file's name, with `#Sheet` behind it where a sheet was named; of frames and lists `items` or `log`, of further ones `log 2` and so on.
    """

    source: str
    line: int


@dataclass(frozen=True, slots=True)
class RulePlace:
    """Where a rule stands: file and line, from 1."""

    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a rule's trigger or limit.

    `kind` is usage, interval, age, delay, before, finding, spotted, reading, unused or calendar. A usage has
    `count` and `of`, exact. `counts_from` is the local date that days are counted from. `tipped_by` is the
    entry that reached it.
    """

    text: str
    kind: str
    count: Decimal | None
    of: Decimal | None
    reached_at: datetime | None
    counts_from: date | None
    tipped_by: Place | None


@dataclass(frozen=True, slots=True)
class Account:
    """What one rule says of an item."""

    file: str
    line: int
    standing: str
    due_at: datetime | None
    late_at: datetime | None
    limit_at: datetime | None
    parts: tuple[Part, ...]
    limit_parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """How one item stands with one task.

    `standing` is one of `kitlore.STANDINGS`. Times carry the house's offset from UTC and are cut off to the
    microsecond; an unknown time is None. `rules` has each rule's own account, `silenced` the rules that an
    `instead` takes the place of.
    """

    item: str
    kind: str
    task: str
    standing: str
    due_at: datetime | None
    limit_at: datetime | None
    last_done: datetime | None
    needs: tuple[str, ...]
    takes_minutes: float | None
    by: str | None
    because: str | None
    cautions: tuple[str, ...]
    rules: tuple[Account, ...]
    silenced: tuple[RulePlace, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """A record that could not be used, or a doubt about it.

    `source` and `line` as in `Place`; None where it is about no single record. `meant` is the name that was
    probably meant.
    """

    code: str
    message: str
    source: str | None
    line: int | None
    meant: str | None


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _part(told: dict[str, Any]) -> Part:
    tipped = told["tipped_by"]
    start = told["counts_from"]
    return Part(
        text=told["text"],
        kind=told["kind"],
        count=None if told["count"] is None else Decimal(told["count"]),
        of=None if told["of"] is None else Decimal(told["of"]),
        reached_at=_time(told["reached_at"]),
        counts_from=None if start is None else date.fromisoformat(start),
        tipped_by=None if tipped is None else Place(tipped["source"], tipped["line"]),
    )


def _account(told: dict[str, Any]) -> Account:
    return Account(
        file=told["file"],
        line=told["line"],
        standing=told["standing"],
        due_at=_time(told["due_at"]),
        late_at=_time(told["late_at"]),
        limit_at=_time(told["limit_at"]),
        parts=tuple(map(_part, told["parts"])),
        limit_parts=tuple(map(_part, told["limit_parts"])),
    )


def row_from(told: dict[str, Any]) -> Row:
    """A row from its JSON."""
    return Row(
        item=told["item"],
        kind=told["kind"],
        task=told["task"],
        standing=told["standing"],
        due_at=_time(told["due_at"]),
        limit_at=_time(told["limit_at"]),
        last_done=_time(told["last_done"]),
        needs=tuple(told["needs"]),
        takes_minutes=told["takes_minutes"],
        by=told["by"],
        because=told["because"],
        cautions=tuple(told["cautions"]),
        rules=tuple(map(_account, told["rules"])),
        silenced=tuple(RulePlace(place["file"], place["line"]) for place in told["silenced"]),
    )
