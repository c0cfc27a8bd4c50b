"""The book: items and entries go in one by one or as tables; standings can be asked at any time."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from kitlore import _arguments, _native, _plot
from kitlore._ahead import Forecasts
from kitlore._errors import InputTypeError
from kitlore._frames import Columns, Table, fill
from kitlore._standings import Standings
from kitlore._trip import Trip

if TYPE_CHECKING:
    from kitlore._rules import Rules

When = str | date | datetime


class Book:
    """An inventory and a log under one set of rules.

    Items and entries may come in any order: the log is a set in time order. A book may be used from many
    threads; each call sees the book as it is between two others. It can be pickled,
    and saved to a file.

    >>> import kitlore
    >>> book = kitlore.Book(kitlore.Rules("for cameras\\n  after 20 lens changes, inspect sensor"))
    >>> book.add_item("C1", "camera", received="2026-01-10")
    >>> book.record("2026-02-07", "lens change", item="C1", amount=20)
    >>> book.standings("2026-02-07").rows[0].standing
    'due'
    """

    def __init__(self, rules: Rules) -> None:
        self._native: _native.Book = _arguments.native_rules(rules, "Book(rules)").book()
        self._rules = rules

    @property
    def rules(self) -> Rules:
        """The rules of the book."""
        return self._rules

    def add_item(
        self,
        id: str,
        kind: str,
        *,
        received: When | None = None,
        in_service: When | None = None,
        retired: When | None = None,
        kit: str | Iterable[str] = (),
        model: str | None = None,
        attributes: Mapping[str, Any] | None = None,
    ) -> None:
        """Adds one item. `attributes` are what filters can name besides.

        Raises EntryError: `missing-id`, `missing-kind`, `duplicate-item` (the first one stands), `bad-time`.
        """
        dates = [("received", received), ("in_service", in_service), ("retired", retired)]
        kits = kit.split(";") if isinstance(kit, str) else [str(name) for name in kit]
        others = [(str(name), value) for name, value in (attributes or {}).items()]
        self._native.add_item(id, kind, dates, kits, model, others)

    def record(
        self,
        when: When,
        event: str,
        *,
        item: str | None = None,
        until: When | None = None,
        amount: object = None,
        reading: object = None,
        unit: str | None = None,
        conditions: str | Iterable[str] = (),
        found: str | Iterable[str] = (),
        ref: str | None = None,
        id: str | None = None,
        by: str | None = None,
        note: str | None = None,
        expect: str | None = None,
    ) -> None:
        """Records one entry; `conditions` is the column `in`, and `expect`
        what a plan expects a day (`lens change 15; frames 800`). Numbers are exact decimals: an int, a Decimal,
        a text, or a float that its shortest text says exactly, with at most 6 digits after the point.

        Raises EntryError where the entry cannot be used: `bad-time`, `bad-number`, `negative-amount`,
        `until-before-when`, `missing-event`. All else is told among `problems`.
        """
        self._native.record(
            {
                "when": when,
                "event": event,
                "item": item,
                "until": until,
                "amount": amount,
                "reading": reading,
                "unit": unit,
                "in": conditions if isinstance(conditions, str) else list(conditions),
                "found": found if isinstance(found, str) else list(found),
                "ref": ref,
                "id": id,
                "by": by,
                "note": note,
                "expect": expect,
            }
        )

    def add_items(self, items: Table, columns: Columns = None) -> None:
        """Adds the items of a table; what cannot be used is told among `problems`. See `Rules.standings`."""
        fill(self._native, False, items, columns)

    def add_log(self, log: Table, columns: Columns = None) -> None:
        """Records the entries of a table; what cannot be used is told among `problems`."""
        fill(self._native, True, log, columns)

    def standings(self, at: When | None = None, *, item: str | None = None) -> Standings:
        """How every item, or one, stands with every task: at the end of a date, at a date-time (one without
        offset is the house's clock), or now.

        Of one item only what is wrong with its own entries is among the problems; names that no rule knows and
        the like are told of all items alone. There are no rows for an id that no item has.
        """
        return Standings(self._native.standings(_instant(at), item), self._native)

    def ahead(self, at: When | None = None, *, days: int = 90, seed: int = 0) -> Forecasts:
        """When each row will be due: the dates by which with 10, 50 and 90 % chance. Entries later than `at`
        count as plans. `days` is how far to look, at most 3,660; the same `seed` gives the same answer.

        >>> import kitlore
        >>> rules = kitlore.Rules("for cameras\\n  after 20 uses, inspect sensor")
        >>> log = [{"when": f"2026-01-{day:02}", "item": "C1", "event": "use"} for day in range(2, 30, 2)]
        >>> book = rules.book(items=[{"id": "C1", "kind": "camera", "received": "2026-01-01"}], log=log)
        >>> [row] = book.ahead("2026-01-31")
        >>> row.p10 <= row.p50 <= row.p90
        True
        """
        return Forecasts(self._native.ahead(_instant(at), _arguments.days(days), _arguments.seed(seed)))

    def trip(
        self,
        trip: str | int | None = None,
        *,
        at: When | None = None,
        from_: When | None = None,
        to: When | None = None,
        kit: str | None = None,
        event: str = "trip",
        conditions: Iterable[str] = (),
        expect: str | None = None,
        chance: float = 0.1,
        seed: int = 0,
    ) -> Trip:
        """What a trip needs: before it, on the way, on return, in the bag.

        `trip` is the ref of planned entries of the log, or the line of one of them. For a trip that is not in
        the log give `from_`, `to` and `kit` (a kit, or an id, a model or a kind), and its `conditions`.
        `expect` is the use expected of each item, a day: `"lens change 15; frames 800"`. What falls due on the
        way with less than `chance` is left out; `seed` is that of the forecasts.

        Raises TripError where there is no such trip, EntryError where a date or `expect` cannot be read.
        """
        described = None
        if from_ is not None or to is not None or kit is not None:
            first, last = _instant(from_), _instant(to)
            if first is None or last is None or kit is None or trip is not None:
                raise InputTypeError(
                    "say which trip: its ref or line, or `from_`, `to` and `kit` together", code="input-type"
                )
            given = [conditions] if isinstance(conditions, str) else list(conditions)
            described = (event, first, last, kit, given)
        elif trip is None:
            raise InputTypeError(
                "say which trip: its ref or line, or `from_`, `to` and `kit` together", code="input-type"
            )
        logged = None if trip is None else str(trip)
        return Trip(self._native.trip(_instant(at), logged, described, expect, chance, _arguments.seed(seed)))

    def items(self) -> list[tuple[str, str]]:
        """Id and kind of every item, in the order they came."""
        return self._native.items()

    def history(
        self,
        item: str,
        task: str | None = None,
        *,
        since: When | None = None,
        until: When | None = None,
    ) -> list[dict[str, Any]]:
        """How far the usage counters of an item stood at the end of each day, the year before `until` (now)
        if nothing else is said: dicts with `at` (a date), `task`, `file`, `line`, `text`, `count`, `of` and
        `last_done`."""
        return _plot.history(self, item, task, since, until)

    def plot_history(
        self,
        item: str,
        task: str | None = None,
        *,
        since: When | None = None,
        until: When | None = None,
    ) -> Any:
        """Draws the counters of an item, or those of one task, rising and falling back to 0 at each completion.
        Without a task, counters that are due at the first use are left out if there are others. Needs
        matplotlib; gives its Figure."""
        return _plot.plot_history(self, item, task, since, until)

    def __len__(self) -> int:
        """The number of entries recorded."""
        return len(self._native)

    def __repr__(self) -> str:
        return f"<kitlore.Book: {len(self.items())} items, {len(self)} entries>"

    def save(self, path: str | os.PathLike[str]) -> None:
        """Writes the book to a file for `Book.load`; an older file stays until the new one is whole. Entries'
        `by` and `note` have no part in any answer and are only kept where they have an id: the log stays the
        record.

        Raises FileError: `cannot-write`, `too-long`.
        """
        self._native.save(os.fspath(path))

    @classmethod
    def load(cls, rules: Rules, path: str | os.PathLike[str]) -> Book:
        """Reads a saved book, under any rules: it answers what the tables would, were they read under these.
        Reasons then name an entry by table and line, without its text.

        Raises FileError: `cannot-read`, `not-a-book`, `newer-book`, and `damaged-book` if anything in it is
        missing or not as it was written.

        >>> import kitlore, tempfile, pathlib
        >>> book = kitlore.Book(kitlore.Rules("for cameras\\n  after 20 lens changes, inspect sensor"))
        >>> book.add_item("C1", "camera")
        >>> book.record("2026-02-07", "lens change", item="C1", amount=12)
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     file = pathlib.Path(folder, "book.kitlore")
        ...     book.save(file)
        ...     stricter = kitlore.Rules("for cameras\\n  after 10 lens changes, inspect sensor")
        ...     kitlore.Book.load(stricter, file).standings("2026-02-07").rows[0].standing
        'due'
        """
        native = _arguments.native_rules(rules, "Book.load(rules, path)")
        return cls._of(rules, native.load_book(os.fspath(path)))

    @classmethod
    def _of(cls, rules: Rules, native: _native.Book) -> Book:
        book = cls.__new__(cls)
        book._rules = rules
        book._native = native
        return book

    def __reduce__(self) -> Any:
        return _unpickled, (self._rules, self._native.saved())


def _unpickled(rules: Rules, saved: bytes) -> Book:
    return Book._of(rules, rules._native.book_of(saved))


def _instant(at: When | None) -> str | None:
    if at is None or isinstance(at, str):
        return at
    if isinstance(at, (date, datetime)):
        return at.isoformat()
    raise InputTypeError(
        f"`at` is a {type(at).__name__}; give a date, a datetime or a text such as `2026-03-01`",
        code="input-type",
    )
