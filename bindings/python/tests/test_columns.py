"""Columns that have types: times, numbers, names; what each says must be what its text says."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from zoneinfo import ZoneInfo

import duckdb
import forms
import kitlore
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest

RULES = kitlore.Rules(
    "time zone Europe/Lisbon\nfor cameras\n  after 20 lens changes in dust, inspect sensor\n  after 90 days, wipe body\n"
    "  before every shoot, charge"
)
ITEMS = [{"id": "C1", "kind": "camera", "received": "2026-01-10"}, {"id": "7", "kind": "camera", "received": "2026-01-10"}]
DATES = [dt.date(2026, 2, 7), dt.date(2026, 7, 8), dt.date(2026, 7, 9), dt.date(2026, 7, 10), dt.date(2026, 7, 10)]
NAIVE = [
    dt.datetime(2026, 2, 7, 9, 30),
    dt.datetime(2026, 7, 8),
    dt.datetime(2026, 7, 9, 0, 30),
    dt.datetime(2026, 7, 10),
    dt.datetime(2026, 7, 10, 13),
]
AWARE = [at.replace(tzinfo=dt.timezone.utc) for at in NAIVE]
NAMES = {
    "item": ["C1", "7", None, "C1", "7"],
    "event": ["lens change", "lens change", "lens change", "wipe body", "shoot"],
    "amount": [5, 20, 15, None, 1],
    "in": ["dust", "dust;rain", "dust", None, "studio"],
}
MIDNIGHTS = [dt.datetime.combine(day, dt.time()) for day in DATES]


START = {"id": ["C1"], "kind": ["camera"], "received": [dt.date(2026, 1, 10)]}


def answer(log, rules=RULES, at="2026-07-10T12:00") -> dict:
    return forms.but_midnights(rules.standings(ITEMS, log, at).to_dicts())


def test_midnights_among_clock_times_are_reported():
    frame = pl.DataFrame({"when": NAIVE, **NAMES})
    (doubt,) = [problem for problem in RULES.standings(ITEMS, frame, "2026-07-10").problems if problem.code == "midnights"]
    assert doubt.message.startswith("2 of the 5 times of `log` are at 00:00")
    dates = pl.DataFrame({"when": MIDNIGHTS, **NAMES})
    assert "midnights" not in [problem.code for problem in RULES.standings(ITEMS, dates, "2026-07-10").problems]


def expected(whens: list[str], **changes) -> dict:
    """The answer to the same log as texts."""
    columns = {**NAMES, **changes, "when": whens}
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    texts = [{k: None if v is None else str(v) for k, v in row.items()} for row in rows]
    found = answer(texts)
    assert len(found["rows"]) == 6
    return found


def iso(times) -> list[str]:
    return [time.isoformat() for time in times]


def pandas(when, **changes) -> pd.DataFrame:
    return pd.DataFrame({**NAMES, **changes, "when": when})


TIMES = {
    "pandas datetime64": (lambda: pandas(pd.Series(NAIVE)), NAIVE),
    "pandas datetime64[s]": (lambda: pandas(pd.Series(NAIVE).astype("datetime64[s]")), NAIVE),
    "pandas datetime64[ns]": (lambda: pandas(pd.Series(NAIVE).astype("datetime64[ns]")), NAIVE),
    "pandas with a zone": (lambda: pandas(pd.Series(AWARE)), AWARE),
    "pandas in another zone": (
        lambda: pandas(pd.Series(AWARE).dt.tz_convert("America/Chicago")),
        AWARE,
    ),
    "pandas midnights are dates": (lambda: pandas(pd.Series(MIDNIGHTS)), DATES),
    "pandas midnights with a zone are instants": (
        lambda: pandas(pd.Series(MIDNIGHTS).dt.tz_localize("Europe/Lisbon")),
        [at.replace(tzinfo=ZoneInfo("Europe/Lisbon")) for at in MIDNIGHTS],
    ),
    "pandas objects: dates": (lambda: pandas(pd.Series(DATES, dtype=object)), DATES),
    "pandas objects: clock times": (lambda: pandas(pd.Series(NAIVE, dtype=object)), NAIVE),
    "pandas objects: midnights": (lambda: pandas(pd.Series(MIDNIGHTS, dtype=object)), DATES),
    "pandas objects: zones and none": (
        lambda: pandas(pd.Series([AWARE[0], NAIVE[1], AWARE[2].astimezone(ZoneInfo("Asia/Tokyo")), DATES[3], AWARE[4]], dtype=object)),
        [AWARE[0], NAIVE[1], AWARE[2], DATES[3], AWARE[4]],
    ),
    "pandas periods": (lambda: pandas(pd.PeriodIndex(DATES, freq="D")), DATES),
    "pandas index": (lambda: pandas(pd.Series(NAIVE)).set_index("when"), NAIVE),
    "polars Datetime": (lambda: pl.DataFrame({**NAMES, "when": NAIVE}), NAIVE),
    "polars Datetime ms": (
        lambda: pl.DataFrame({**NAMES, "when": NAIVE}).with_columns(pl.col("when").cast(pl.Datetime("ms"))),
        NAIVE,
    ),
    "polars with a zone": (lambda: pl.DataFrame({**NAMES, "when": AWARE}), AWARE),
    "polars Date": (lambda: pl.DataFrame({**NAMES, "when": DATES}), DATES),
    "polars midnights are dates": (lambda: pl.DataFrame({**NAMES, "when": MIDNIGHTS}), DATES),
    "arrow date64": (lambda: pa.table({**NAMES, "when": pa.array(DATES, pa.date64())}), DATES),
    **{
        f"arrow timestamp[{unit}]": (
            lambda unit=unit: pa.table({**NAMES, "when": pa.array(NAIVE, pa.timestamp(unit))}),
            NAIVE,
        )
        for unit in ("s", "ms", "us", "ns")
    },
    "arrow timestamp with a zone": (
        lambda: pa.table({**NAMES, "when": pa.array(AWARE, pa.timestamp("us", "Asia/Kolkata"))}),
        AWARE,
    ),
    "arrow dictionary of times": (
        lambda: pa.table({**NAMES, "when": pa.array(NAIVE).dictionary_encode()}),
        NAIVE,
    ),
    "batches of one row, the last with a clock time": (
        lambda: pa.table({**NAMES, "when": MIDNIGHTS[:4] + [NAIVE[4]]}).to_reader(max_chunksize=1),
        MIDNIGHTS[:4] + [NAIVE[4]],
    ),
    "batches of one row, midnights": (
        lambda: pa.table({**NAMES, "when": MIDNIGHTS}).to_reader(max_chunksize=1),
        DATES,
    ),
    "dicts of dates": (lambda: {**NAMES, "when": DATES}, DATES),
    "dicts of datetimes": (lambda: {**NAMES, "when": AWARE}, AWARE),
    "dicts of timestamps": (lambda: {**NAMES, "when": [pd.Timestamp(at) for at in AWARE]}, AWARE),
    "dicts of numpy times": (lambda: {**NAMES, "when": [np.datetime64(at) for at in NAIVE]}, NAIVE),
}


@pytest.mark.parametrize("form", TIMES)
def test_times(form):
    make, times = TIMES[form]
    assert answer(make()) == expected(iso(times))


def test_the_kinds_of_time_give_different_answers():
    """Else the table above could not fail."""
    answers = [expected(iso(times)) for times in (DATES, MIDNIGHTS, NAIVE, AWARE)]
    assert all(one != other for number, one in enumerate(answers) for other in answers[:number])


def test_duckdb_types():
    pa_table = pa.table({**NAMES, "when": NAIVE})
    connection = duckdb.connect()
    connection.register("given", pa_table)
    log = connection.sql('select "when", item, event, "in", amount::decimal(9, 2) as amount from given')
    assert answer(log) == expected(iso(NAIVE))
    log = connection.sql('select "when"::date as "when", item, event, "in", amount::hugeint as amount from given')
    assert answer(log) == expected(iso(DATES))


AMOUNTS = [5, 20, 15, None, 1]
NUMBERS = {
    "arrow decimal": pa.array([Decimal("5.00"), Decimal("20.00"), Decimal("15.00"), None, Decimal(1)], pa.decimal128(12, 2)),
    "arrow decimal256": pa.array([Decimal(5), Decimal(20), Decimal(15), None, Decimal(1)], pa.decimal256(40, 9)),
    "arrow texts": pa.array(["5", "20.0", "15", None, "1"]),
    **{
        f"arrow {kind}": pa.array(AMOUNTS, kind)
        for kind in (pa.int8(), pa.int16(), pa.int32(), pa.int64(), pa.uint8(), pa.uint16(), pa.uint32(), pa.uint64())
    },
    **{f"arrow {kind}": pa.array([5.0, 20.0, 15.0, None, 1.0], kind) for kind in (pa.float16(), pa.float32(), pa.float64())},
}


@pytest.mark.parametrize("form", NUMBERS)
def test_numbers(form):
    assert answer(pa.table({**NAMES, "amount": NUMBERS[form], "when": NAIVE})) == expected(iso(NAIVE))


@pytest.mark.parametrize(
    "series",
    [
        pd.Series([5, 20, 15, None, 1]),
        pd.Series([5, 20, 15, None, 1], dtype="Int64"),
        pd.Series([5, 20, 15, None, 1], dtype="Float64"),
        pd.Series([5, 20, 15, None, 1], dtype=object),
        pd.Series([Decimal(5), Decimal("20.0"), Decimal(15), None, Decimal(1)], dtype=object),
        pd.Series([5, "20", 15.0, None, 1], dtype=object),
    ],
    ids=["float64", "Int64", "Float64", "object", "decimals", "mixed"],
)
def test_pandas_numbers(series):
    assert answer(pandas(NAIVE, amount=series)) == expected(iso(NAIVE))


def test_fractions_are_the_shortest_decimal():
    amounts = [0.7, 0.1, 19.2, None, 1.0]
    texts = expected(iso(NAIVE), amount=["0.7", "0.1", "19.2", None, "1"])
    for table in (
        pl.DataFrame({**NAMES, "amount": amounts, "when": NAIVE}),
        pl.DataFrame({**NAMES, "amount": amounts, "when": NAIVE}).with_columns(pl.col("amount").cast(pl.Float32)),
        pandas(NAIVE, amount=amounts),
        {**NAMES, "amount": amounts, "when": NAIVE},
        {**NAMES, "amount": [None if a is None else np.float32(a) for a in amounts], "when": NAIVE},
        pl.DataFrame({**NAMES, "amount": amounts, "when": NAIVE}).with_columns(pl.col("amount").cast(pl.Decimal(20, 8))),
    ):
        assert answer(table) == texts


BAD_NUMBERS = [0.1 + 0.2, float("nan"), float("inf"), -1.0, 1e13, 0.1234567]
CODES = ["bad-number", "bad-number", "bad-number", "negative-amount", "bad-number", "bad-number"]


@pytest.mark.parametrize("make", [pl.DataFrame, pa.table, lambda columns: columns], ids=["polars", "arrow", "dicts"])
def test_bad_numbers_are_reported_by_row(make):
    columns = {
        "when": [dt.date(2026, 2, 7)] * 7,
        "item": ["C1"] * 7,
        "event": ["lens change"] * 7,
        "amount": [1.0, *BAD_NUMBERS],
    }
    found = RULES.standings(ITEMS, make(columns), "2026-07-10")
    assert [(p.code, p.source, p.line) for p in found.problems if p.code in CODES] == [
        (code, "log", row) for row, code in enumerate(CODES, 1)
    ]


def test_missing_and_wrong_times_are_reported_by_row():
    far = 94_672_800_000_000_000  # seconds: the year 3,000,001,970
    whens = pa.array([0, None, far, -far, 253_402_300_800], pa.int64()).cast(pa.timestamp("s"))
    log = pa.table({"when": whens, "item": ["C1"] * 5, "event": ["lens change"] * 5})
    found = RULES.standings(ITEMS, log, "2026-07-10")
    bad = [(p.code, p.source, p.line) for p in found.problems if p.code == "bad-time"]
    assert bad == [("bad-time", "log", row) for row in (1, 2, 3, 4)]
    days = pa.array([2_000_000_000, 1], pa.int32()).cast(pa.date32())
    found = RULES.standings(ITEMS, pa.table({"when": days, "item": ["C1"] * 2, "event": ["lens change"] * 2}), "2026-07-10")
    assert [(p.code, p.line) for p in found.problems if p.code == "bad-time"] == [("bad-time", 0)]


def test_a_null_event_is_reported_and_a_null_item_is_every_item():
    log = pl.DataFrame({"when": [DATES[0]] * 2, "item": [None, "C1"], "event": ["lens change", None], "in": ["dust", None], "amount": [20, 1]})
    found = RULES.standings(ITEMS, log, "2026-07-10")
    assert [(p.code, p.line) for p in found.problems if p.source == "log"] == [("missing-event", 1)]
    sensor = [(row.item, row.standing) for row in found.rows if row.task == "inspect sensor"]
    assert sensor == [("7", "overdue"), ("C1", "overdue")]


def test_numbers_as_ids():
    items = pl.DataFrame({"id": [7, 8], "kind": ["camera"] * 2, "received": [dt.date(2026, 1, 10)] * 2})
    log = {"when": [DATES[0]], "event": ["lens change"], "amount": [20], "in": ["dust"]}
    for item in (7, 7.0, np.int64(7), np.float32(7), Decimal("7.0"), "7"):
        found = RULES.standings(items, [{**{k: v[0] for k, v in log.items()}, "item": item}], "2026-07-10")
        assert found.why("7", "inspect sensor").rows[0].standing == "overdue"
    frame = pd.DataFrame({**log, "item": pd.Series([7], dtype="category")})
    assert RULES.standings(items, frame, "2026-07-10").why("7", "inspect sensor").rows[0].standing == "overdue"
    # An int column with a gap is one of floats in pandas.
    frame = pd.DataFrame({"when": DATES[:2], "event": ["lens change"] * 2, "item": [7, None], "amount": 20})
    assert RULES.standings(items, frame, "2026-07-10").problems == []


def test_true_is_no_number():
    for log in (
        pl.DataFrame({"when": DATES[:1], "item": ["C1"], "event": ["lens change"], "amount": [True]}),
        [{"when": DATES[0], "item": "C1", "event": "lens change", "amount": True}],
    ):
        assert "bad-number" in [p.code for p in RULES.standings(ITEMS, log, "2026-07-10").problems]


def test_lists_of_names():
    names = [["dust"], ["dust", "rain"], ["dust"], [], ["studio"]]
    texts = expected(iso(NAIVE))
    assert answer(pl.DataFrame({**NAMES, "in": names, "when": NAIVE})) == texts
    assert answer(pa.table({**NAMES, "in": names, "when": NAIVE})) == texts
    assert answer({**NAMES, "in": names, "when": NAIVE}) == texts
    assert answer(pandas(NAIVE, **{"in": pd.Series(names, dtype=object)})) == texts


def test_item_dates_and_attributes_by_type():
    rules = kitlore.Rules(
        "time zone Asia/Tokyo\nfor cameras where bought is after 2025-12-31\n after 10 days, ta\n"
        "for cameras where shutter is above 1.5\n after 10 days, tb\nfor cameras where rented is true\n after 10 days, tc"
    )
    rows = {"id": ["C1"], "kind": ["camera"], "shutter": [1.75], "rented": [True]}
    # 20:00 in UTC is the next day in Tokyo.
    evening = dt.datetime(2026, 1, 9, 20, tzinfo=dt.timezone.utc)
    for items in (
        pl.DataFrame({**rows, "received": [evening], "bought": [dt.datetime(2026, 1, 1)]}),
        pd.DataFrame({**rows, "received": [evening], "bought": [pd.Timestamp("2026-01-01")]}),
        pa.table({**rows, "received": [dt.date(2026, 1, 10)], "bought": [dt.date(2026, 1, 1)]}),
    ):
        found = rules.standings(items, [], "2026-01-20")
        assert found.problems == []
        assert [(row.task, row.standing, row.due_at.isoformat()) for row in found.rows] == [
            (task, "due", "2026-01-20T00:00:00+09:00") for task in ("ta", "tb", "tc")
        ]


def test_columns_that_are_not_read():
    log = pl.DataFrame({"when": DATES, "item": ["C1"] * 5, "event": ["lens change"] * 5, "photo": [b"x"] * 5, "kilo": [None] * 5})
    assert RULES.standings(ITEMS, log, "2026-07-10").problems == []
    items = pl.DataFrame({**START, "photo": [b"x"], "nothing": [None]})
    (problem,) = [p for p in RULES.standings(items, log, "2026-07-10").problems]
    assert (problem.code, problem.source) == ("bad-value", None) and "photo" in problem.message
    big = pl.DataFrame({**START, "count": pl.Series([2**70], dtype=pl.Int128)})
    assert RULES.standings(big, log, "2026-07-10").problems == []


def test_a_field_of_an_impossible_type_is_an_error():
    log = pl.DataFrame({"when": [[1]], "event": ["x"]})
    with pytest.raises(kitlore.TableError, match="`when` of `log` holds") as caught:
        answer(log)
    assert caught.value.code == "column-type"


def test_pandas_without_pyarrow(monkeypatch):
    """What pandas raises where it finds no pyarrow leads to the same answer, more slowly."""

    def missing(self, requested_schema=None):
        raise ImportError("pyarrow is not installed")

    forms = [name for name in TIMES if name.startswith("pandas")]
    frames = [(TIMES[name][0](), TIMES[name][1]) for name in forms]
    frames.append((pandas(NAIVE, amount=pd.Series(AMOUNTS, dtype="Int64")), NAIVE))
    frames.append((pandas(NAIVE, item=pd.Series(NAMES["item"], dtype="category")), NAIVE))
    monkeypatch.setattr(pd.DataFrame, "__arrow_c_stream__", missing)
    for frame, times in frames:
        assert answer(frame) == expected(iso(times))
