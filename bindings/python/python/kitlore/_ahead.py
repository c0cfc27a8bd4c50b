"""The days ahead."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from kitlore import _arrow, _native

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kitlore._rows import Awaited, Forecast, Problem


class Forecasts:
    """When each row of a book will be due: the dates by which with 10, 50 and 90 % chance, and what that rests
    on. The same seed gives the same answer."""

    def __init__(self, native: _native.Forecasts) -> None:
        self._native = native

    @cached_property
    def _dicts(self) -> dict[str, Any]:
        return self.to_dicts()

    @cached_property
    def rows(self) -> list[Forecast]:
        """A forecast for each row of the standings, by item id, then task."""
        from kitlore._rows import forecast_from

        return [forecast_from(given) for given in self._dicts["rows"]]

    @cached_property
    def awaited(self) -> list[Awaited]:
        """Items that are not there yet, by date, then id: they have no rows. A date far ahead may be a slip."""
        from kitlore._rows import awaited_from

        return [awaited_from(given) for given in self._dicts["awaited"]]

    @cached_property
    def problems(self) -> list[Problem]:
        """What of the tables could not be used, and doubts, by place."""
        from kitlore._rows import Problem

        return [Problem(**given) for given in self._dicts["problems"]]

    @property
    def at(self) -> str:
        """The instant looked ahead from, RFC 3339 in the house's time zone."""
        at: str = self._dicts["at"]
        return at

    @property
    def house(self) -> str | None:
        """The name of the house, if the rules give it."""
        house: str | None = self._dicts["house"]
        return house

    @property
    def days(self) -> int:
        """How many days were looked ahead."""
        days: int = self._dicts["days"]
        return days

    @property
    def seed(self) -> int:
        """Where the draws began."""
        seed: int = self._dicts["seed"]
        return seed

    def to_dicts(self) -> dict[str, Any]:
        """The whole answer as `kitlore ahead --as json` gives it."""
        import json

        dicts: dict[str, Any] = json.loads(self._native.json())
        return dicts

    def to_arrow(self) -> Any:
        """A pyarrow Table, a row for each forecast; `by_day` is a list."""
        return _arrow.table(self)

    def to_polars(self) -> Any:
        """A polars DataFrame; see `to_arrow`."""
        import polars

        return polars.DataFrame(self)

    def to_pandas(self) -> Any:
        """A pandas DataFrame; see `to_arrow`."""
        return self.to_arrow().to_pandas()

    def to_html(self) -> str:
        """A self-contained page to print: what falls due when, drawn with its span."""
        return self._native.page()

    def plot_ahead(self) -> Any:
        """Draws the spans from 10 to 90 %, the middle marked, by item and task, the earliest first. Needs
        matplotlib; gives its Figure."""
        from kitlore import _plot

        return _plot.plot_spans(self.house, self.at, self.days, self.rows)

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        return _native.columns(self._columns()).__arrow_c_stream__(requested_schema)

    def _columns(self) -> list[tuple[str, str | None, list[Any]]]:
        """Name, type and values of each column."""
        from datetime import date, datetime, timedelta, timezone

        from kitlore._rows import FORECAST_FIELDS

        first, epoch = date(1970, 1, 1), datetime(1970, 1, 1, tzinfo=timezone.utc)
        types = {
            **dict.fromkeys(("needs", "cautions"), "texts"),
            **dict.fromkeys(("chance", "takes_minutes"), "number"),
            **dict.fromkeys(("p10", "p50", "p90"), "date"),
            "due_at": "time",
            "enough": "truth",
            "by_day": "numbers",
        }

        def cell(value: Any) -> Any:
            """Dates and times as the days and microseconds since 1970."""
            if isinstance(value, datetime):
                return (value - epoch) // timedelta(microseconds=1)
            return (value - first).days if isinstance(value, date) else value

        values = {name: [cell(getattr(row, name)) for row in self.rows] for name in FORECAST_FIELDS}
        return [(name, types.get(name, "text"), values[name]) for name in FORECAST_FIELDS]

    def __len__(self) -> int:
        return len(self._native)

    def __bool__(self) -> bool:
        return True

    def __iter__(self) -> Iterator[Forecast]:
        return iter(self.rows)

    def __repr__(self) -> str:
        return f"<kitlore.Forecasts from {self.at}, {self.days} days: {len(self)} rows>"

    def _repr_html_(self) -> str:
        from kitlore import _html

        return _html.ahead(self.house, self.at, self.days, self.rows, self.awaited)
