"""What a trip needs."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from kitlore import _arrow, _native

if TYPE_CHECKING:
    # The lists of a trip.
    _List = Literal["before", "on_the_way", "follow_ups", "on_return", "pack", "leave_at_home"]

_TASK = ["item", "kind", "task", "needs", "takes_minutes", "by", "because", "cautions", "file", "line"]
_COLUMNS: dict[str, list[str]] = {
    "before": [*_TASK, "standing", "due", "chance", "why"],
    "on_the_way": [*_TASK, "day", "chance", "why", "basis"],
    "follow_ups": [*_TASK, "when"],
    "on_return": [*_TASK, "due", "why"],
    "pack": ["need", "uses", "stock", "short", "at_hand", "reasons"],
    "leave_at_home": ["item", "kind", "since", "for_good", "tasks", "cautions", "instead"],
}


class Trip:
    """What a trip needs: before it, on the way, on return and in the bag, as lists of dicts.

    Dates are texts such as `2026-12-04`, chances numbers from 0 to 1. Every task carries its `cautions`.
    """

    def __init__(self, native: _native.Trip) -> None:
        self._native = native

    @cached_property
    def _dicts(self) -> dict[str, Any]:
        return self.to_dicts()

    @property
    def before(self) -> list[dict[str, Any]]:
        """What is to be done before: what is due, and what would fall due on the trip and can be done at home."""
        return list(self._dicts["before"])

    @property
    def before_minutes(self) -> float:
        """How long that takes by one's own hands, as far as the rules say."""
        return float(self._dicts["before_minutes"])

    @property
    def on_the_way(self) -> list[dict[str, Any]]:
        """What may fall due on the way, with the day and the chance."""
        return list(self._dicts["on_the_way"])

    @property
    def follow_ups(self) -> list[dict[str, Any]]:
        """What a finding on the way may call for."""
        return list(self._dicts["follow_ups"])

    @property
    def on_return(self) -> list[dict[str, Any]]:
        """What the trip itself brings due."""
        return list(self._dicts["on_return"])

    @property
    def pack(self) -> list[dict[str, Any]]:
        """Tools and supplies to take, each once, with the tasks that may ask for it."""
        return list(self._dicts["pack"])

    @property
    def leave_at_home(self) -> list[dict[str, Any]]:
        """Items that must not come along, and those that could go instead."""
        return list(self._dicts["leave_at_home"])

    @property
    def cautions(self) -> list[str]:
        """Cautions about the journey itself, such as the carriage of lithium cells."""
        return list(self._dicts["cautions"])

    @property
    def notes(self) -> list[str]:
        """What the answer rests on and what it leaves out."""
        return list(self._dicts["notes"])

    def to_dicts(self) -> dict[str, Any]:
        """The whole answer as `kitlore trip --as json` gives it."""
        import json

        dicts: dict[str, Any] = json.loads(self._native.json())
        return dicts

    def to_pandas(self, table: _List = "before") -> Any:
        """One of the lists as a pandas DataFrame; lists within a row are joined by `; `."""
        import pandas

        return pandas.DataFrame(self._flat(table), columns=_COLUMNS[table])

    def to_polars(self, table: _List = "before") -> Any:
        """One of the lists as a polars DataFrame; see `to_pandas`."""
        import polars

        rows = self._flat(table)
        return polars.DataFrame({name: [row[name] for row in rows] for name in _COLUMNS[table]}, strict=False)

    def to_arrow(self, table: _List = "before") -> Any:
        """One of the lists as a pyarrow Table; see `to_pandas`."""
        rows = self._flat(table)
        columns = [(name, None, [row[name] for row in rows]) for name in _COLUMNS[table]]
        return _arrow.table(_native.columns(columns))

    def to_html(self) -> str:
        """A page to print: self-contained, without scripts, with check boxes."""
        return self._native.page()

    def _flat(self, table: _List) -> list[dict[str, Any]]:
        return [{name: _cell(row, name) for name in _COLUMNS[table]} for row in self._dicts[table]]

    def _repr_html_(self) -> str:
        from kitlore import _html

        return _html.trip(self._dicts)

    def __repr__(self) -> str:
        trip = self._dicts
        return (
            f"<kitlore.Trip {trip['name']}, {trip['from']} to {trip['to']}: {len(self.before)} before,"
            f" {len(self.on_the_way)} on the way, {len(self.on_return)} on return, {len(self.pack)} to pack>"
        )


def _cell(row: dict[str, Any], name: str) -> Any:
    if name == "cautions" and "tasks" in row:
        return "; ".join(dict.fromkeys(caution for task in row["tasks"] for caution in task["cautions"]))
    value = row.get(name)
    if not isinstance(value, list):
        return value
    return "; ".join(_text(entry) for entry in value)


def _text(entry: Any) -> str:
    if not isinstance(entry, dict):
        return str(entry)
    return " ".join(str(entry[name]) for name in ("item", "task") if name in entry)
