"""The days ahead."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from datetime import date, datetime
from functools import cached_property
from typing import Any

from kitlore import _html, _native, _plot
from kitlore._rows import Problem


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


_NAMES = tuple(known.name for known in fields(Forecast))


def _forecast(told: dict[str, Any]) -> Forecast:
    made = {name: told[name] for name in _NAMES}
    due = made["due_at"]
    # Python keeps microseconds.
    made["due_at"] = None if due is None else datetime.fromisoformat(due)
    for name in ("p10", "p50", "p90"):
        made[name] = None if made[name] is None else date.fromisoformat(made[name])
    for name in ("needs", "cautions", "by_day"):
        made[name] = tuple(made[name])
    return Forecast(**made)


class Forecasts:
    """When each row of a book will be due: the dates by which with 10, 50 and 90 % chance, and what that rests
    on. The same seed gives the same answer."""

    def __init__(self, native: _native.Forecasts) -> None:
        self._native = native

    @cached_property
    def _told(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(self._native.json())
        return told

    @cached_property
    def rows(self) -> list[Forecast]:
        """A forecast for each row of the standings, by item id, then task."""
        return [_forecast(told) for told in self._told["rows"]]

    @cached_property
    def problems(self) -> list[Problem]:
        """What of the tables could not be used, and doubts, by place."""
        return [Problem(**told) for told in self._told["problems"]]

    @property
    def at(self) -> str:
        """The instant looked ahead from, RFC 3339 in the house's time zone."""
        at: str = self._told["at"]
        return at

    @property
    def house(self) -> str | None:
        """The name of the house, if the rules give it."""
        house: str | None = self._told["house"]
        return house

    @property
    def days(self) -> int:
        """How many days were looked ahead."""
        days: int = self._told["days"]
        return days

    @property
    def seed(self) -> int:
        """Where the draws began."""
        seed: int = self._told["seed"]
        return seed

    def to_dicts(self) -> dict[str, Any]:
        """The whole answer as `kitlore ahead --as json` gives it."""
        told: dict[str, Any] = json.loads(self._native.json())
        return told

    def to_arrow(self) -> Any:
        """A pyarrow Table, a row for each forecast; `by_day` is a list."""
        import pyarrow

        text, dates, texts = pyarrow.string(), pyarrow.date32(), pyarrow.list_(pyarrow.string())
        types = {
            "due_at": pyarrow.timestamp("us", "UTC"),
            "p10": dates,
            "p50": dates,
            "p90": dates,
            "chance": pyarrow.float64(),
            "enough": pyarrow.bool_(),
            "needs": texts,
            "takes_minutes": pyarrow.float64(),
            "cautions": texts,
            "by_day": pyarrow.list_(pyarrow.float64()),
        }
        schema = pyarrow.schema([(name, types.get(name, text)) for name in _NAMES])
        columns = {name: [getattr(row, name) for row in self.rows] for name in _NAMES}
        return pyarrow.table(columns, schema=schema)

    def to_polars(self) -> Any:
        """A polars DataFrame; see `to_arrow`."""
        import polars

        return polars.from_arrow(self.to_arrow())

    def to_pandas(self) -> Any:
        """A pandas DataFrame; see `to_arrow`."""
        return self.to_arrow().to_pandas()

    def to_html(self) -> str:
        """A self-contained page to print: what falls due when, drawn with its span."""
        return self._native.page()

    def plot_ahead(self) -> Any:
        """Draws the spans from 10 to 90 %, the middle marked, by item and task, the earliest first. Needs
        matplotlib; gives its Figure."""
        return _plot.plot_spans(self)

    def __len__(self) -> int:
        return len(self._native)

    def __bool__(self) -> bool:
        return True

    def __iter__(self) -> Iterator[Forecast]:
        return iter(self.rows)

    def __repr__(self) -> str:
        return f"<kitlore.Forecasts from {self.at}, {self.days} days: {len(self)} rows>"

    def _repr_html_(self) -> str:
        return _html.ahead(self)
