"""What `items` and `log` may be, and how each gets into a book. No library of frames is imported here."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping
from typing import Any, Protocol, TypeAlias

from kitlore import _native
from kitlore._errors import InputTypeError, KitloreError, TableError


class ArrowStream(Protocol):
    """Anything that hands over record batches: frames of pandas and polars, Arrow tables and readers, DuckDB
    relations."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...


Table: TypeAlias = str | os.PathLike[str] | Iterable[Mapping[str, Any]] | Mapping[str, Iterable[Any]] | ArrowStream
Columns: TypeAlias = Mapping[str, str] | None


def fill(book: _native.Book, log: bool, table: Table, columns: Columns) -> None:
    """Reads a table into a book."""
    if columns is not None and not isinstance(columns, Mapping):
        raise InputTypeError(
            f"`columns` is a {type(columns).__name__}; give a dict of fields and headings, such as "
            '{"when": "Date"}',
            code="input-type",
        )
    mapping = [(str(field), str(heading)) for field, heading in (columns or {}).items()]
    if isinstance(table, (str, os.PathLike)):
        book.read_path(log, os.fspath(table), mapping)
    elif _is(table, "pandas", "DataFrame"):
        _pandas(book, log, table, mapping)
    elif hasattr(table, "__arrow_c_stream__"):
        _refuse_remote(table)
        try:
            _arrow(book, log, table, mapping)
        except (KitloreError, ImportError):
            raise
        except TypeError as error:
            raise TableError(f"`{_name(log)}` cannot be read: {error}", code="batches-failed") from error
    elif isinstance(table, Mapping):
        _rows(book, log, _rows_of_columns(log, table), mapping)
    elif isinstance(table, Iterable) and not isinstance(table, (bytes, bytearray)):
        _refuse_remote(table)
        _rows(book, log, table, mapping)
    else:
        _refuse_remote(table)
        raise InputTypeError(
            f"`{_name(log)}` is a {type(table).__name__}; give a path, a list of dicts, a pandas or polars "
            "frame, or an Arrow table",
            code="input-type",
        )


def _name(log: bool) -> str:
    return "log" if log else "items"


def _is(table: object, library: str, cls: str) -> bool:
    """Whether an object is of a library's class, without importing the library."""
    loaded = sys.modules.get(library)
    return loaded is not None and isinstance(table, getattr(loaded, cls, ()))


def _refuse_remote(table: object) -> None:
    """Frames that are not here yet."""
    module = type(table).__module__.partition(".")[0]
    if _is(table, "polars", "LazyFrame"):
        raise InputTypeError("a LazyFrame has no rows yet; call `.collect()` first", code="input-type")
    if module in ("pyspark", "dask"):
        raise InputTypeError(
            f"a frame of {module} would be pulled into this process as a whole; run kitlore on its partitions, "
            "as the README shows",
            code="input-type",
        )


def _arrow(book: _native.Book, log: bool, table: Any, mapping: list[tuple[str, str]]) -> None:
    if _is(table, "polars", "DataFrame"):
        table = _polars_columns(log, table, mapping)
    elif _is(table, "pyarrow", "Table") or _is(table, "pyarrow", "RecordBatch"):
        names = list(table.schema.names)
        if names:
            wanted = _native.wanted_columns(log, names, mapping)
            table = table.select([number for number, is_wanted in enumerate(wanted) if is_wanted])
    book.read_batches(log, table, mapping)


def _polars_columns(log: bool, table: Any, mapping: list[tuple[str, str]]) -> Any:
    """The columns that are read, those without a home in Arrow as text."""
    if not table.columns:
        return table
    wanted = _native.wanted_columns(log, table.columns, mapping)
    table = table.select([name for name, is_wanted in zip(table.columns, wanted, strict=True) if is_wanted])
    homeless = [name for name, kind in table.schema.items() if str(kind) in ("Null", "Int128", "UInt128")]
    if homeless:
        polars = sys.modules["polars"]
        table = table.with_columns(polars.col(homeless).cast(polars.String))
    return table


def _pandas(book: _native.Book, log: bool, frame: Any, mapping: list[tuple[str, str]]) -> None:
    named = [level for level in frame.index.names if level is not None]
    frame = frame.reset_index(level=named) if named else frame
    frame = frame.reset_index(drop=True)
    names = [str(name) for name in frame.columns]
    if not names:
        return
    wanted = _native.wanted_columns(log, names, mapping)
    frame = frame.set_axis(names, axis=1).loc[:, wanted]
    plain = frame.copy(deep=False)
    for number, name in enumerate(plain.columns):
        texts = _texts_of(frame.iloc[:, number])
        if texts is not None:
            # By number would keep the column's type.
            plain[name] = texts
    try:
        book.read_batches(log, plain, mapping)
    except ImportError:
        # pandas hands frames over through pyarrow only.
        columns = [_objects(plain.iloc[:, number]) for number in range(plain.shape[1])]
        rows = [list(row) for row in zip(*columns, strict=True)]
        book.read_rows(log, list(plain.columns), rows, mapping)
    except KitloreError:
        raise
    except Exception as error:
        module = type(error).__module__.partition(".")[0]
        if module not in ("pyarrow", "pandas") and not isinstance(error, (TypeError, ValueError)):
            raise
        raise TableError(f"`{_name(log)}` cannot be handed over: {error}", code="batches-failed") from error


# Columns of objects that Arrow has a type for. Not dates: clock times may be among them.
_UNIFORM = ("string", "integer", "floating", "decimal", "boolean", "empty")


def _texts_of(column: Any) -> Any:
    """A column of mixed objects as texts: clock times with and without zones in one column would otherwise
    be taken for times of one zone. None for a column that is well as it is."""
    if str(column.dtype).startswith("period"):
        return column.astype(str).where(column.notna(), None)
    if column.dtype != object:
        return None
    pandas = sys.modules["pandas"]
    if pandas.api.types.infer_dtype(column, skipna=True) in _UNIFORM:
        return None
    values = [None if _is_missing(value) else value for value in column]
    dates = _all_midnights(values)
    return pandas.Series([_text(value, dates) for value in values], index=column.index, dtype=object)


def _objects(column: Any) -> list[Any]:
    """A column as Python objects, missing values as None."""
    values = [None if _is_missing(value) else value for value in column.tolist()]
    if str(column.dtype).startswith("datetime64[") and "," not in str(column.dtype) and _all_midnights(values):
        return [None if value is None else value.date() for value in values]
    return values


def _is_missing(value: object) -> bool:
    return (
        value is None
        or type(value).__name__ in ("NaTType", "NAType")
        or (isinstance(value, float) and value != value)
    )


def _all_midnights(values: list[Any]) -> bool:
    """Whether all that is there are clock times without zone at 00:00: then they are dates."""
    from datetime import datetime, time

    present = [value for value in values if value is not None]
    return bool(present) and all(
        isinstance(value, datetime) and value.tzinfo is None and value.time() == time() for value in present
    )


def _text(value: Any, dates: bool) -> str | None:
    if value is None or isinstance(value, str):
        return value
    if dates:
        return str(value.date().isoformat())
    if hasattr(value, "isoformat"):
        return str(value.isoformat())
    if isinstance(value, (list, tuple)):
        return ";".join(text for part in value if (text := _text(part, False)) is not None)
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _rows_of_columns(log: bool, table: Mapping[str, Any]) -> Iterable[Mapping[str, Any]]:
    columns = {str(name): list(values) for name, values in table.items() if not isinstance(values, str)}
    if len(columns) < len(table) or len({len(values) for values in columns.values()}) > 1:
        raise InputTypeError(
            f"`{_name(log)}` is a dict whose values are not lists of one length; give a list of dicts, or a "
            "dict of columns",
            code="input-type",
        )
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def _rows(book: _native.Book, log: bool, table: Iterable[Any], mapping: list[tuple[str, str]]) -> None:
    rows = list(table)
    headings: dict[str, None] = {}
    for number, row in enumerate(rows):
        if not isinstance(row, Mapping):
            raise InputTypeError(
                f"row {number} of `{_name(log)}` is a {type(row).__name__}; a list has dicts, one for each "
                f"{'entry' if log else 'item'}",
                code="input-type",
            )
        headings.update(dict.fromkeys(map(str, row)))
    if not headings:
        return
    cells = [[row.get(heading) for heading in headings] for row in rows]
    book.read_rows(log, list(headings), cells, mapping)
