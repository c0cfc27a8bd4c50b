"""House rules, and the books that are kept under them. They stand together because each gives the other: rules make
a book, and a book knows its rules."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from kitlore import _arguments, _native
from kitlore._ahead import Forecasts
from kitlore._errors import InputTypeError, RuleWarning
from kitlore._frames import fill
from kitlore._standings import Standings
from kitlore._trip import Trip

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kitlore._arguments import When
    from kitlore._frames import Columns, Table


class Rules:
    """Compiled house rules: immutable, equal and hashed by content, picklable, safe to share by threads.

    `text` is the rule text, `name` what people see as its file. `includes` gives the texts of `include`
    statements by the path they write; `Rules.load` reads them from the file's folder instead.

    Raises RuleError with all mistakes of the text; warns of doubts with RuleWarning.

    >>> import kitlore
    >>> rules = kitlore.Rules('house "Saltmarsh Pictures"\\nfor cameras\\n  after 90 days, inspect sensor')
    >>> rules.house, rules.time_zone, rules.tasks
    ('Saltmarsh Pictures', 'UTC', ['inspect sensor'])
    """

    __slots__ = ("_native",)
    _native: _native.Rules

    def __init__(self, text: str, *, name: str = "rules", includes: Mapping[str, str] | None = None) -> None:
        self._native = _native.Rules(text, name, dict(includes or {}))
        _warn(self)

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> Rules:
        """Reads a rule file with all it includes, from its own folder and those below it.

        Raises FileError, or RuleError with all mistakes; warns of doubts with RuleWarning.
        """
        rules = _wrapped(_native.Rules.load(os.fspath(path)))
        _warn(rules)
        return rules

    def standings(
        self,
        items: Table,
        log: Table = (),
        at: When | None = None,
        columns: Columns = None,
    ) -> Standings:
        """How every item stands with every task.

        `items` and `log` are each a path (csv, jsonl, xlsx; `file.xlsx#Sheet`), a list of dicts, a dict of
        columns, a pandas or polars frame, an Arrow table or reader, a DuckDB relation, or anything else with
        the Arrow C stream interface. `columns` maps fields to other people's headings, such as
        `{"when": "Date", "item": "Asset no"}`. `at` is a date (its end), a date-time, or None for now.

        Raises TableError where a table as a whole cannot be read, FileError, InputTypeError. Records that
        cannot be used are reported in `problems` of the answer, with their place.
        """
        return self.book(items, log, columns).standings(at)

    def trip(
        self,
        items: Table,
        log: Table = (),
        trip: str | int | None = None,
        columns: Columns = None,
        **asked: Any,
    ) -> Trip:
        """What a trip needs: before it, on the way, on return, in the bag. The tables are those of
        `standings`, the rest that of `Book.trip`.

        >>> import kitlore
        >>> rules = kitlore.Rules("for cameras\\n  after 90 days, inspect sensor\\n    needs blower")
        >>> items = [{"id": "C1", "kind": "camera", "kit": "travel", "received": "2026-09-05"}]
        >>> log = [{"when": "2026-12-02", "until": "2026-12-06", "event": "trip", "item": "travel", "ref": "T7"}]
        >>> found = rules.trip(items, log, "T7", at="2026-11-25")
        >>> [(task["item"], task["task"], task["due"]) for task in found.before]
        [('C1', 'inspect sensor', '2026-12-04')]
        """
        return self.book(items, log, columns).trip(trip, **asked)

    def ahead(
        self,
        items: Table,
        log: Table = (),
        at: When | None = None,
        columns: Columns = None,
        *,
        days: int = 90,
        seed: int = 0,
    ) -> Forecasts:
        """When each row will be due, as far as can be said: see `Book.ahead`; for the tables see `standings`."""
        return self.book(items, log, columns).ahead(at, days=days, seed=seed)

    def book(self, items: Table = (), log: Table = (), columns: Columns = None) -> Book:
        """A book under these rules, with the tables given; more may be recorded in it."""
        book = Book(self)
        book.add_items(items, columns)
        book.add_log(log, columns)
        return book

    @property
    def text(self) -> str:
        """The rule text, without what it includes."""
        return self._native.text

    @property
    def name(self) -> str:
        """What people see as its file."""
        return self._native.name

    @property
    def house(self) -> str | None:
        """The name of the house, if the rules give it."""
        return self._native.house

    @property
    def time_zone(self) -> str:
        """The house's time zone, by its IANA name."""
        return self._native.time_zone

    @property
    def tasks(self) -> list[str]:
        """The tasks that the rules ask for, each once, in reading order."""
        return list(dict.fromkeys(task for _, _, task, _ in self._native.rules()))

    @property
    def rules(self) -> list[dict[str, Any]]:
        """Each rule as a dict: `file`, `line`, `task`, `text`."""
        return [
            {"file": file, "line": line, "task": task, "text": text}
            for file, line, task, text in self._native.rules()
        ]

    @property
    def doubts(self) -> list[dict[str, Any]]:
        """What is allowed and probably not meant, as dicts like those of `RuleError.errors()`."""
        return self._native.doubts()

    def failed_examples(self) -> list[dict[str, Any]]:
        """Runs the `example` blocks; each line that does not hold as a dict: `example`, `message`, `file`,
        `line`. Empty if all hold."""
        return self._native.failed_examples()

    def tidy(self) -> str:
        """The text in the one canonical layout, comments kept."""
        return self._native.tidy()

    def __len__(self) -> int:
        return len(self._native.rules())

    def __bool__(self) -> bool:
        return True

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Rules):
            return NotImplemented
        return self._native.state() == other._native.state()

    def __hash__(self) -> int:
        name, text, included = self._native.state()
        return hash((name, text, tuple(included)))

    def __reduce__(self) -> tuple[Any, ...]:
        return _restored, self._native.state()

    def __copy__(self) -> Rules:
        return self

    def __deepcopy__(self, memo: object) -> Rules:
        return self

    def __repr__(self) -> str:
        house = f" of {self.house!r}" if self.house else ""
        return f"<kitlore.Rules{house}: {len(self)} rules in {self.name!r}>"

    def _repr_html_(self) -> str:
        from kitlore import _html

        return _html.rules(f"{self.house or self.name}, {self.time_zone}", self.rules, self.doubts)


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
        self._native: _native.Book = _native_rules(rules, "Book(rules)").book()
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
        """Adds one item. `kit` is as in a table, several joined by `;` and each with its dates or without
        (`travel kit; dive kit from 2026-06-01`), or a list. `attributes` are what filters can name besides.

        Raises EntryError: `missing-id`, `missing-kind`, `duplicate-item` (the first one stands), `bad-time`.
        """
        dates = [("received", received), ("in_service", in_service), ("retired", retired)]
        kits = [kit] if isinstance(kit, str) else [str(name) for name in kit]
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
        `until-before-when`, `missing-event`. All else is reported among `problems`.
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
        """Adds the items of a table; what cannot be used is reported among `problems`. See `Rules.standings`."""
        fill(self._native, False, items, columns)

    def add_log(self, log: Table, columns: Columns = None) -> None:
        """Records the entries of a table; what cannot be used is reported among `problems`."""
        fill(self._native, True, log, columns)

    def standings(self, at: When | None = None, *, item: str | None = None) -> Standings:
        """How every item, or one, stands with every task: at the end of a date, at a date-time (one without
        offset is the house's clock), or now.

        Of one item, the problems are those of its own entries; names that no rule knows and the like are reported
        only when all items are asked for. There are no rows for an id that no item has.
        """
        return Standings(self._native.standings(_arguments.instant(at), item), self._native)

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
        return Forecasts(self._native.ahead(_arguments.instant(at), _arguments.days(days), _arguments.seed(seed)))

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
            first, last = _arguments.instant(from_), _arguments.instant(to)
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
        return Trip(self._native.trip(_arguments.instant(at), logged, described, expect, chance, _arguments.seed(seed)))

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
        from kitlore._history import history

        return history(lambda day: self.standings(day, item=item).rows, item, task, since, until)

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
        from kitlore import _plot

        return _plot.plot_history(item, task, self.history(item, task, since=since, until=until))

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
        native = _native_rules(rules, "Book.load(rules, path)")
        return cls._of(rules, native.load_book(os.fspath(path)))

    @classmethod
    def _of(cls, rules: Rules, native: _native.Book) -> Book:
        book = cls.__new__(cls)
        book._rules = rules
        book._native = native
        return book

    def __reduce__(self) -> Any:
        return _unpickled, (self._rules, self._native.saved())


def _warn(rules: Rules) -> None:
    """Says to whoever called the caller that there are doubts."""
    doubts = rules.doubts
    if doubts:
        import warnings

        first = doubts[0]
        instead = f"; {first['help']}" if first["help"] else ""
        more = f"; {len(doubts) - 1} more in `Rules.doubts`" if len(doubts) > 1 else ""
        text = f"doubt at {first['file']}:{first['line']}: {first['message']}{instead}{more}"
        warnings.warn(text, RuleWarning, stacklevel=3)


def _wrapped(native: _native.Rules) -> Rules:
    rules = Rules.__new__(Rules)
    rules._native = native
    return rules


def _restored(name: str, text: str, included: list[tuple[str, str, str, str]]) -> Rules:
    return _wrapped(_native.Rules.restore(name, text, included))


def _unpickled(rules: Rules, saved: bytes) -> Book:
    return Book._of(rules, rules._native.book_of(saved))


def _native_rules(rules: object, call: str) -> _native.Rules:
    """The rules within an argument that should be Rules."""
    if isinstance(rules, Rules):
        return rules._native
    if isinstance(rules, (str, bytes)) or hasattr(rules, "__fspath__"):
        instead = "of a text they are `kitlore.Rules(text)`, of a file `kitlore.Rules.load(path)`"
    else:
        instead = "make them with `kitlore.Rules(text)` or `kitlore.Rules.load(path)`"
    message = f"the first argument of `{call}` is the rules, and this is a {type(rules).__name__}"
    raise InputTypeError(message, code="input-type", help=instead)
