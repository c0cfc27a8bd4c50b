"""The forms that the entries of one log may have, made from the columns of `log.arrow`.

A shape differs from the first one, whose form is the best known, in one thing. Where that changes the meaning of
the log, `means` makes the same change for the reference evaluation.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pyarrow as pa
import pyarrow.compute as pc
from six_rules import BITS, CONDITIONS, DUST, EVENTS, MICROS, SALT, Entries

NAMES = pa.dictionary(pa.int32(), pa.string())
DAY = 86_400 * MICROS
LISBON = "Europe/Lisbon"


def best(folder: Path) -> pa.Table:
    """The entries as the best form has them: instants, dictionaries, whole numbers, in one batch."""
    with pa.OSFile(str(folder / "log.arrow")) as file:
        return pa.ipc.open_file(file).read_all().combine_chunks()


def entries(table: pa.Table) -> Entries:
    """The same for the reference."""

    def codes(name: str, number: Callable[[str], int], kind: Any) -> np.ndarray:
        column = table[name].chunk(0)
        numbers = np.array([number(text) for text in column.dictionary.to_pylist()], kind)
        return numbers[column.indices.to_numpy()]

    return Entries(
        table["when"].cast(pa.int64()).to_numpy(),
        codes("item", lambda text: int(text[1:]), np.int64),
        codes("event", EVENTS.index, np.int8),
        table["amount"].to_numpy() * MICROS,
        codes("in", lambda text: BITS[CONDITIONS.index(text)], np.uint8),
    )


@dataclass(frozen=True)
class Shape:
    """One form: the table, and what it says to the reference where that is not what the best form says."""

    group: str
    name: str
    make: Callable[[pa.Table], pa.Table]
    means: Callable[[Entries], Entries] = lambda log: log
    zone: str = "UTC"
    # Batches that it is handed over in.
    batches: int = 1
    # What it is measured beside, if not the best form.
    beside: Callable[[pa.Table], pa.Table] = lambda table: table

    @property
    def label(self) -> str:
        return f"{self.group}: {self.name}"


def replaced(name: str, change: Callable[[pa.ChunkedArray], Any]) -> Callable[[pa.Table], pa.Table]:
    return lambda table: table.set_column(table.schema.get_field_index(name), name, change(table[name]))


def cast(kind: pa.DataType) -> Callable[[pa.ChunkedArray], Any]:
    return lambda column: column.cast(kind)


def some(count: int, percent: int) -> np.ndarray:
    """So many of a hundred rows, spread."""
    if percent == 100:
        return np.ones(count, bool)
    return np.random.default_rng(percent).integers(0, 100, count) < percent


# Amounts.


def with_halves(column: pa.ChunkedArray) -> pa.Array:
    return pa.array(column.to_numpy() + np.where(some(len(column), 1), 0.5, 0.0))


def means_halves(log: Entries) -> Entries:
    return dataclasses.replace(log, amount=log.amount + np.where(some(len(log.amount), 1), MICROS // 2, 0))


def means_one(log: Entries) -> Entries:
    return dataclasses.replace(log, amount=np.full_like(log.amount, MICROS))


# Times.


def local(column: pa.ChunkedArray) -> Any:
    """The same clock times without a zone."""
    return column.cast(pa.int64()).cast(pa.timestamp("us"))


def text(column: pa.ChunkedArray) -> Any:
    return pc.strftime(column.cast(pa.timestamp("s", "UTC")), format="%Y-%m-%dT%H:%M:%SZ")


def local_text(column: pa.ChunkedArray) -> Any:
    return pc.strftime(column.cast(pa.timestamp("s", "UTC")), format="%Y-%m-%dT%H:%M:%S")


def means_dates(log: Entries) -> Entries:
    return dataclasses.replace(log, when=log.when // DAY * DAY)


def means_lisbon(log: Entries) -> Entries:
    """The clock times as those of Lisbon: the earlier instant in an overlap, moved forward in a gap."""
    import datetime as dt

    zone, utc = ZoneInfo(LISBON), dt.timezone.utc
    # The offset of a clock time changes at full hours.
    hours, which = np.unique(log.when // (3_600 * MICROS), return_inverse=True)
    instants = [
        dt.datetime.fromtimestamp(int(hour) * 3_600, utc).replace(tzinfo=zone).astimezone(utc).timestamp()
        for hour in hours
    ]
    shift = (np.array(instants, np.int64) - hours * 3_600) * MICROS
    return dataclasses.replace(log, when=log.when + shift[which])


# Fields that few logs have.


def with_field(
    name: str, percent: int, values: Callable[[pa.Table], pa.ChunkedArray]
) -> Callable[[pa.Table], pa.Table]:
    def make(table: pa.Table) -> pa.Table:
        column = values(table)
        if percent < 100:
            present = pa.array(some(len(table), percent) if percent else np.zeros(len(table), bool))
            column = pc.if_else(present, column, pa.scalar(None, column.type))
        return table.append_column(name, column)

    return make


def found(table: pa.Table) -> Any:
    """The finding of a look."""
    return pa.array(np.full(len(table), "scratch"))


def ref(table: pa.Table) -> Any:
    """The number of a job: a hundred entries bear one."""
    jobs = np.arange(len(table)) // 100
    return pc.binary_join_element_wise("job", pa.array(jobs).cast(pa.string()), " ")


def identity(table: pa.Table) -> Any:
    """As `kitlore photos` gives them: event, item and time; an item has no two entries of one second."""
    event, item = (table[name].cast(pa.string()) for name in ("event", "item"))
    time = pc.strftime(table["when"].cast(pa.timestamp("s", "UTC")), format="%Y%m%d%H%M%S")
    return pc.binary_join_element_wise(event, item, time, ":")


def until(table: pa.Table) -> Any:
    """A tenth of a second later: it counts then, and no other entry of the item lies within."""
    return pc.add(table["when"], pa.scalar(MICROS // 10, pa.duration("us")))


def means_until(percent: int) -> Callable[[Entries], Entries]:
    def means(log: Entries) -> Entries:
        there = some(len(log.when), percent) if percent else np.zeros(len(log.when), bool)
        return dataclasses.replace(log, when=log.when + np.where(there, MICROS // 10, 0))

    return means


def field_shapes() -> list[Shape]:
    fields: list[tuple[str, Callable[[pa.Table], Any]]] = [
        ("found", found),
        ("ref", ref),
        ("id", identity),
        ("until", until),
    ]
    shapes = []
    for name, values in fields:
        for percent in (0, 1, 100):
            means = means_until(percent) if name == "until" else (lambda log: log)
            title = f"{name} in {percent} % of the rows"
            shapes.append(Shape("fields", title, with_field(name, percent, values), means))
    return shapes


def names_as(table: pa.Table, kind: pa.DataType) -> pa.Table:
    for name in ("item", "event", "in"):
        table = replaced(name, lambda column: column.cast(pa.string()).cast(kind))(table)
    return table


# Spans: a smaller log, as every one of its items is on every trip.

TRIPS = 5_000
ON_TRIPS = 1_000


def best_of_spans(folder: Path) -> pa.Table:
    """The entries of the first items alone."""
    table = best(folder)
    return (
        table.filter(pc.less(table["item"].cast(pa.string()), f"K{ON_TRIPS:07}")).unify_dictionaries().combine_chunks()
    )


def with_trips(table: pa.Table, long: bool) -> pa.Table:
    """The log with so many trips of the whole house, two days each, in dust; and one over all of it, in salt air."""
    begin, end = trips(table["when"].cast(pa.int64()).to_numpy(), long)
    conditions = ["dust"] * TRIPS + ["salt air"] * long
    count = len(begin)
    instants = table.schema.field("when").type
    added = pa.table(
        {
            "when": pa.array(begin).cast(instants),
            "item": pa.nulls(count, pa.string()),
            "event": ["trip"] * count,
            "amount": pa.nulls(count, pa.int64()),
            "in": conditions,
            "until": pa.array(end).cast(instants),
        }
    )
    table = names_as(table, pa.string()).append_column("until", pa.nulls(len(table), instants))
    return pa.concat_tables([table, added]).combine_chunks()


def trips(when: np.ndarray, long: bool) -> tuple[np.ndarray, np.ndarray]:
    # On half seconds: no entry begins or ends with a trip.
    begin = np.sort(np.random.default_rng(7).integers(when[0], when[-1], TRIPS)) // MICROS * MICROS + MICROS // 2
    end = begin + 2 * DAY
    if long:
        begin, end = np.append(begin, when[0] - MICROS), np.append(end, when[-1] + MICROS)
    return begin, end


def means_trips(log: Entries, long: bool) -> Entries:
    begin, end = trips(log.when, False)
    under_way = np.searchsorted(begin, log.when) > np.searchsorted(np.sort(end), log.when)
    conditions = log.conditions | np.where(under_way, DUST, 0).astype(np.uint8)
    return dataclasses.replace(log, conditions=conditions | (SALT if long else 0))


SHAPES = [
    Shape("amounts", "int64", lambda table: table),
    Shape("amounts", "float64, whole", replaced("amount", cast(pa.float64()))),
    Shape("amounts", "float64, 1 % halves", replaced("amount", with_halves), means_halves),
    Shape("amounts", "float32", replaced("amount", cast(pa.float32()))),
    Shape("amounts", "decimal128(18, 2)", replaced("amount", cast(pa.decimal128(21, 2)))),
    Shape("amounts", "text", replaced("amount", cast(pa.string()))),
    Shape("amounts", "null", replaced("amount", lambda column: pa.nulls(len(column), pa.int64())), means_one),
    Shape("times", "text, UTC", replaced("when", text)),
    Shape("times", "local", replaced("when", local)),
    Shape("times", "text, local", replaced("when", local_text)),
    Shape("times", "date32", replaced("when", cast(pa.date32())), means_dates),
    Shape("times", "UTC, a house in Lisbon", lambda table: table, zone=LISBON),
    Shape("times", "local, a house in Lisbon", replaced("when", local), means_lisbon, LISBON),
    Shape("times", "text, local, a house in Lisbon", replaced("when", local_text), means_lisbon, LISBON),
    Shape("names", "utf8", lambda table: names_as(table, pa.string())),
    Shape("names", "utf8_view", lambda table: names_as(table, pa.string_view())),
    Shape("batches", "a hundred", lambda table: table, batches=100),
    Shape("batches", "a hundred, utf8_view", lambda table: names_as(table, pa.string_view()), batches=100),
    *field_shapes(),
    Shape(
        "spans",
        "5,000 trips",
        lambda table: with_trips(table, False),
        lambda log: means_trips(log, False),
        beside=lambda table: with_trips(table, False),
    ),
    Shape(
        "spans",
        "5,000 trips and one span over all of them",
        lambda table: with_trips(table, True),
        lambda log: means_trips(log, True),
        beside=lambda table: with_trips(table, False),
    ),
]


def as_handed(shape: Shape, table: pa.Table) -> Any:
    """The table in so many batches."""
    if shape.batches == 1:
        return table
    size = -(-len(table) // shape.batches)
    return pa.Table.from_batches(table.to_batches(max_chunksize=size))


def write_formats(folder: Path) -> None:
    """The log in the other formats, from `log.csv`: each once."""
    import pyarrow.csv
    import pyarrow.parquet as pq

    kinds = {"when": pa.timestamp("us", "UTC"), "amount": pa.int64(), **dict.fromkeys(("item", "event", "in"), NAMES)}
    options = pa.csv.ConvertOptions(column_types=kinds, strings_can_be_null=False)
    log = pa.csv.read_csv(folder / "log.csv", convert_options=options).unify_dictionaries().combine_chunks()
    with pa.ipc.new_file(folder / "log.arrow", log.schema) as file:
        file.write_table(log)
    halves = replaced("amount", with_halves)(log)
    for name, table in (("log", log), ("log-halves", halves)):
        pq.write_table(table, folder / f"{name}.parquet", store_schema=False)
    frame = pl.from_arrow(replaced("when", local)(log))
    assert isinstance(frame, pl.DataFrame)
    frame.write_csv(folder / "log-local.csv", datetime_format="%Y-%m-%dT%H:%M:%S")
