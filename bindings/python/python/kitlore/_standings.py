"""Answers."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from kitlore import _arguments, _arrow, _native
from kitlore._ahead import Forecasts
from kitlore._errors import InputValueError, NoRowError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitlore._rows import Awaited, Problem, Row

STANDINGS = ("grounded", "overdue", "due", "soon", "unknown", "clear")
"""The standings, the worst first."""


class Standings:
    """How the items of a book stood at an instant. It holds its own copy: the book may go on.

    It can be handed to any library with the Arrow C stream interface, such as `polars.DataFrame(found)`.
    """

    def __init__(self, native: _native.Standings, book: _native.Book) -> None:
        self._native = native
        self._book = book

    @cached_property
    def rows(self) -> list[Row]:
        """A row for each item and task, by item id, then task."""
        from kitlore._rows import row_from

        return [row_from(given) for given in self.to_dicts()["rows"]]

    @cached_property
    def awaited(self) -> list[Awaited]:
        """Items that are not there yet, by date, then id: they have no rows. A date far ahead may be a slip."""
        from kitlore._rows import awaited_from

        return [awaited_from(given) for given in self.to_dicts()["awaited"]]

    @cached_property
    def problems(self) -> list[Problem]:
        """What could not be used, and doubts, by place."""
        import json

        from kitlore._rows import Problem

        return [Problem(**given) for given in json.loads(self._native.problems_json())]

    @property
    def at(self) -> str:
        """The instant asked for, RFC 3339 to the nanosecond in the house's time zone."""
        return self._native.at

    @property
    def house(self) -> str | None:
        """The name of the house, if the rules give it."""
        return self._native.house

    def to_dicts(self) -> dict[str, Any]:
        """The whole answer as `kitlore due --as json` gives it: `house`, `at`, `rows`, `awaited`, `problems`. Times are
        RFC 3339, amounts are exact texts."""
        import json

        dicts: dict[str, Any] = json.loads(self._native.json())
        return dicts

    def to_arrow(self, table: Literal["rows", "parts", "problems"] = "rows") -> Any:
        """A pyarrow Table: `rows` (one for each item and task), `parts` (one for each part of each rule's
        trigger and limit, with counts as exact decimals) or `problems`. Times are timestamps in the house's
        zone, to the microsecond."""
        return _arrow.table(self._batches(table))

    def to_polars(self, table: Literal["rows", "parts", "problems"] = "rows") -> Any:
        """A polars DataFrame; see `to_arrow`."""
        import polars

        return polars.DataFrame(self._batches(table))

    def to_pandas(self, table: Literal["rows", "parts", "problems"] = "rows") -> Any:
        """A pandas DataFrame; see `to_arrow`. Needs pyarrow, through which pandas takes columns."""
        return self.to_arrow(table).to_pandas()

    def why(self, item: str, task: str | None = None) -> Why:
        """The full account of an item's tasks, or of one: rule and line, each part with its count, the entry
        that tipped it, when it was last done. `print` it, or look at it in a notebook.

        Raises NoRowError where there is no such row.
        """
        found = self._native.why(item, task, 100)
        if found is None:
            raise self._no_row(item, task)
        text, numbers = found
        return Why(text, [self.rows[number] for number in numbers])

    def to_ical(self, events: bool = False, days: int | None = None) -> str:
        """An iCalendar file (RFC 5545): a task to do for each row with a date, its alarm from `notice`; with
        `events` an all-day event beside each, for calendars that show no tasks; with `days` without what falls
        due later than so many days ahead. A task is due on the last day on which it is done in time. Lines end
        with CRLF: write it with `newline=""`.

        The same house, item and task keep their UID, so that importing a later export updates.
        """
        return self._native.ical(events, None if days is None else _arguments.whole("days", days, (1 << 32) - 1))

    def to_html(self, all: bool = False) -> str:
        """A self-contained page to print, to tick, to read on a phone: what is to be done, the worst first,
        and what falls due when, drawn; with `all` what is clear as well."""
        return self._native.page(all)

    def ahead(self, days: int = 90, *, seed: int = 0) -> Forecasts:
        """When each row will be due from this instant on, by the book as it is now: see `Book.ahead`."""
        return Forecasts(self._book.ahead(self.at, _arguments.days(days), _arguments.seed(seed)))

    def plot_ahead(self, days: int = 90) -> Any:
        """Draws what falls due when, by item, over the days ahead; what is due already stands at the left.
        Needs matplotlib; gives its Figure."""
        from kitlore import _plot

        return _plot.plot_ahead(self.house, self.at, _arguments.days(days), self.rows)

    def _batches(self, table: str) -> _native.Batches:
        if table not in ("rows", "parts", "problems"):
            message = f"`{table}` is no table of an answer; it has `rows`, `parts` and `problems`"
            raise InputValueError(message, code="input-value")
        return self._native.batches(table)

    def _no_row(self, item: str, task: str | None) -> NoRowError:
        import difflib

        items = list(dict.fromkeys(row.item for row in self.rows))
        if item.strip() not in items:
            close = difflib.get_close_matches(item, items, 1)
            message = f"there is no row for an item `{item}`: it is not in the inventory, retired or not there "
            message += "yet, or no rule is for its kind"
        else:
            tasks = [row.task for row in self.rows if row.item == item.strip()]
            close = difflib.get_close_matches(task or "", tasks, 1)
            listed = ", ".join(f"`{task}`" for task in tasks)
            message = f"no rule for `{task}` applies to `{item}`; its tasks are {listed}"
        help = f"did you mean `{close[0]}`?" if close else None
        return NoRowError(message, code="no-row", help=help)

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        return self._batches("rows").__arrow_c_stream__(requested_schema)

    def __len__(self) -> int:
        return len(self._native)

    def __bool__(self) -> bool:
        return True

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def __repr__(self) -> str:
        from kitlore import _html

        counts = ", ".join(f"{count} {word}" for word, count in _html.counts(self.rows).items())
        return f"<kitlore.Standings at {self.at}: {counts or 'no rows'}; {len(self.problems)} problems>"

    def __str__(self) -> str:
        return "\n".join([repr(self), *(f"{row.item}: {row.task} is {row.standing}" for row in self.rows[:50])])

    def _repr_html_(self) -> str:
        from kitlore import _html

        return _html.standings(self.house, self.at, self.rows, self.awaited, self.problems)


class Why:
    """The account of some rows of one item: `str()` is what the command line prints."""

    def __init__(self, text: str, rows: list[Row]) -> None:
        self.text = text
        self.rows = rows

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        from kitlore import _html

        return _html.why(self.rows)
