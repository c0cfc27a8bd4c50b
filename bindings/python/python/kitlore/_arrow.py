"""Columns as pyarrow tables. pyarrow's own `table` and `array` load pandas where it is installed, to see whether they
were given one of its objects; that takes longer than most answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kitlore._frames import ArrowStream


def table(batches: ArrowStream) -> Any:
    """A pyarrow Table of what hands over record batches."""
    import pyarrow

    return pyarrow.RecordBatchReader.from_stream(batches).read_all()
