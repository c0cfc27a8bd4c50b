"""House rules."""

from __future__ import annotations

import os
import warnings
from collections.abc import Mapping
from typing import Any

from kitlore import _html, _native
from kitlore._ahead import Forecasts
from kitlore._book import Book, When
from kitlore._errors import RuleWarning
from kitlore._frames import Columns, Table
from kitlore._standings import Standings
from kitlore._trip import Trip


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
        cannot be used are told in `problems` of the answer, with their place.
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
        return _html.rules(self)


def _warn(rules: Rules) -> None:
    """Says to whoever called the caller that there are doubts."""
    doubts = rules.doubts
    if doubts:
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
