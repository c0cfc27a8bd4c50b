"""The rows of answers as plain frozen objects. Nothing here imports another module of the package."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import date, datetime
from decimal import Decimal
from typing import Any


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the inventory or the log.

    `line` is a line of a file, from 1; of a frame or a list it is the row's number, from 0, as `iloc` counts.
    `source` is the file's name, with `#Sheet` behind it where a sheet was named; of frames and lists `items` or
    `log`, of further ones `log 2` and so on.
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


@dataclass(frozen=True, slots=True)
class Awaited:
    """An item that is not there yet, so that it has no rows: it is from the earlier of the dates it was received
    and put into service."""

    item: str
    kind: str
    there_from: date


@dataclass(frozen=True)
class Forecast:
    """When one item will be due for one task, as far as can be said."""

    item: str
    kind: str
    task: str
    standing: str
    """How it stands now."""
    due_at: datetime | None
    """When it was or will certainly be due; use may bring that about before."""
    p10: date | None
    """The first date by whose end it is due with a chance of 10 %; None where that is later than the days
    looked ahead, or cannot be said."""
    p50: date | None
    """The same for 50 %."""
    p90: date | None
    """The same for 90 %."""
    chance: float
    """The chance that it is due by the end of the last day."""
    basis: str
    """What it rests on, in words."""
    enough: bool
    """Whether there is enough to go by."""
    too_little: str | None
    """What there is too little of, if so: then only what is certain stands."""
    needs: tuple[str, ...]
    takes_minutes: int | float | None
    by: str | None
    because: str | None
    cautions: tuple[str, ...]
    by_day: tuple[float, ...] = field(repr=False)
    """The chance that it is due by the end of each day, the first of them the day asked from."""


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _part(given: dict[str, Any]) -> Part:
    tipped = given["tipped_by"]
    start = given["counts_from"]
    return Part(
        text=given["text"],
        kind=given["kind"],
        count=None if given["count"] is None else Decimal(given["count"]),
        of=None if given["of"] is None else Decimal(given["of"]),
        reached_at=_time(given["reached_at"]),
        counts_from=None if start is None else date.fromisoformat(start),
        tipped_by=None if tipped is None else Place(tipped["source"], tipped["line"]),
    )


def _account(given: dict[str, Any]) -> Account:
    return Account(
        file=given["file"],
        line=given["line"],
        standing=given["standing"],
        due_at=_time(given["due_at"]),
        late_at=_time(given["late_at"]),
        limit_at=_time(given["limit_at"]),
        parts=tuple(map(_part, given["parts"])),
        limit_parts=tuple(map(_part, given["limit_parts"])),
    )


def row_from(given: dict[str, Any]) -> Row:
    """A row from its JSON."""
    return Row(
        item=given["item"],
        kind=given["kind"],
        task=given["task"],
        standing=given["standing"],
        due_at=_time(given["due_at"]),
        limit_at=_time(given["limit_at"]),
        last_done=_time(given["last_done"]),
        needs=tuple(given["needs"]),
        takes_minutes=given["takes_minutes"],
        by=given["by"],
        because=given["because"],
        cautions=tuple(given["cautions"]),
        rules=tuple(map(_account, given["rules"])),
        silenced=tuple(RulePlace(place["file"], place["line"]) for place in given["silenced"]),
    )


def awaited_from(given: dict[str, Any]) -> Awaited:
    """An item that is not there yet, from its JSON."""
    return Awaited(given["item"], given["kind"], date.fromisoformat(given["there_from"]))


FORECAST_FIELDS = tuple(known.name for known in fields(Forecast))


def forecast_from(given: dict[str, Any]) -> Forecast:
    """A forecast from its JSON, which has more than it keeps."""
    made = {name: given[name] for name in FORECAST_FIELDS}
    made["due_at"] = _time(made["due_at"])
    for name in ("p10", "p50", "p90"):
        made[name] = None if made[name] is None else date.fromisoformat(made[name])
    for name in ("needs", "cautions", "by_day"):
        made[name] = tuple(made[name])
    return Forecast(**made)
