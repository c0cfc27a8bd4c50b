"""Pictures as a log: frames, shooting days and lens changes."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from kitlore import _arrow, _native
from kitlore._frames import Columns, Table, fill
from kitlore._rows import Problem

Path = str | os.PathLike[str]

_COLUMNS = ("when", "until", "item", "event", "amount", "in", "id", "note")


@dataclass(frozen=True, slots=True)
class UnknownGear:
    """A body or lens of the pictures without an item of the inventory.

    `line` would add it to an inventory with the columns `id,kind,model,serial`; its id is a proposal. None where
    an item is there and only its serial number is missing.
    """

    is_lens: bool
    make: str
    model: str
    serial: str
    pictures: int
    first: date
    last: date
    why: str
    line: str | None


class Photos:
    """What pictures say, as a table of log entries: give it as `log=`, or add it to a log.

    `frames` counts each release of the shutter once; `copies` the further files of those frames. `problems`
    are what could not be read, or is doubtful; `unmatched` the bodies and lenses without an item.
    """

    def __init__(self, native: _native.Photos) -> None:
        self._native = native
        self.frames: int = native.frames
        self.copies: int = native.copies
        self.problems: list[Problem] = [
            Problem(code, message, None, None, None) for code, message in native.problems()
        ]
        self.unmatched: list[UnknownGear] = [
            UnknownGear(
                is_lens, gear[0], gear[1], gear[2], pictures, date.fromisoformat(dates[0]), date.fromisoformat(dates[1]),
                why, line,
            )
            for is_lens, gear, pictures, dates, why, line in native.unmatched()
        ]

    def to_dicts(self) -> list[dict[str, Any]]:
        """The entries as dicts: `when`, `item`, `event`, `amount`, `id`, and `until`, `in` and `note` where
        there is something to say. Times are texts: a date, or a date-time with its offset."""
        return list(self)

    def to_arrow(self) -> Any:
        """The entries as a pyarrow Table."""
        return _arrow.table(self)

    def to_polars(self) -> Any:
        """The entries as a polars DataFrame."""
        import polars

        return polars.DataFrame(self)

    def to_pandas(self) -> Any:
        """The entries as a pandas DataFrame. Needs pyarrow, through which pandas takes columns."""
        return self.to_arrow().to_pandas()

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        return self._native.batches().__arrow_c_stream__(requested_schema)

    def __iter__(self) -> Iterator[dict[str, Any]]:
        for row in self._native.rows():
            entry: dict[str, Any] = {name: text for name, text in zip(_COLUMNS, row, strict=True) if text}
            entry["amount"] = int(entry["amount"])
            yield entry

    def __len__(self) -> int:
        """The number of entries."""
        return len(self._native.batches())

    def __bool__(self) -> bool:
        return True

    def __repr__(self) -> str:
        return (
            f"<kitlore.Photos: {len(self)} entries of {self.frames} frames; {len(self.unmatched)} bodies and lenses "
            f"without an item; {len(self.problems)} problems>"
        )


def read_photos(
    paths: Path | Iterable[Path],
    items: Table,
    *,
    log: Table | None = None,
    zone: str | None = None,
    shift: Mapping[str, timedelta | str] | None = None,
    mark: str | Iterable[str] = (),
    follow_links: bool = False,
    columns: Columns = None,
) -> Photos:
    """Reads frames, shooting days and lens changes off pictures in folders, and in all folders below them.

    `items` is the inventory: its columns `serial` and `model` say which body and lens is which item. Entries
    that `log` holds already are left out. `zone` is that of pictures that give no offset from UTC; without it
    their times are the house's. `shift` mends clocks: by how much that of an item was slow (a timedelta, or a
    text such as `-2m30s`). `mark` are conditions by what bodies measured, such as `cold: temperature below 0`.
    Pictures are never written to.

    >>> import kitlore
    >>> photos = kitlore.read_photos([], items=[{"id": "C1", "kind": "camera", "serial": "620017"}])
    >>> photos
    <kitlore.Photos: 0 entries of 0 frames; 0 bodies and lenses without an item; 0 problems>
    """
    book = _native.Rules("", "rules", {}).book()
    fill(book, False, items, columns)
    if log is not None:
        fill(book, True, log, columns)
    each: Iterable[Path] = [paths] if isinstance(paths, (str, os.PathLike)) else paths
    folders = [os.fspath(path) for path in each]
    shifts = [(str(item), _span(span)) for item, span in (shift or {}).items()]
    marks = [mark] if isinstance(mark, str) else list(mark)
    return Photos(_native.read_photos(book, folders, zone, shifts, marks, follow_links))


def _span(span: timedelta | str) -> str:
    if isinstance(span, str):
        return span
    seconds = round(span.total_seconds())
    return f"{'-' if seconds < 0 else '+'}{abs(seconds)}s"
