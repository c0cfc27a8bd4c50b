"""Laws that hold for any log: the form of a table, the cut of a stream and the order of rows change nothing."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import forms
import kitlore
import pandas as pd
import polars as pl
import pyarrow as pa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

RULES = kitlore.Rules(
    "time zone Europe/Lisbon\nfor cameras\n  after 20 lens changes in dust or 90 days, inspect sensor\n"
    "  after 3 shoots not in studio, wipe body\n  before every trip, inspect strap\n  when unused for 30 days, exercise shutter\n"
)
ITEMS = [{"id": f"C{n}", "kind": "camera", "received": "2026-01-10", "kit": "bag"} for n in range(3)]
AT = "2026-07-01T12:00"

# Text that any table can hold: also empty, foreign, with separators, quotes and spaces at its ends.
TEXT = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=8)
EVENTS = st.sampled_from(["lens change", "shoot", "trip", "inspect sensor", "Wipe  Body", "shot"]) | TEXT
ITEM = st.none() | st.sampled_from(["C0", "C1", "C2", "bag", "camera", "C9"]) | TEXT
CONDITIONS = st.none() | st.sampled_from(["dust", "dust;rain", "studio", ";"]) | TEXT
AMOUNTS = st.none() | st.decimals(-2, 2_000_000, places=6, allow_nan=False).map(lambda number: Decimal(number))
MOMENTS = st.datetimes(dt.datetime(2026, 1, 1), dt.datetime(2026, 8, 1)).map(lambda at: at.replace(microsecond=0))
LOGS = st.lists(
    st.fixed_dictionaries({"when": MOMENTS, "item": ITEM, "event": EVENTS, "amount": AMOUNTS, "in": CONDITIONS}),
    min_size=1,
    max_size=12,
)
slow = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def texts(log):
    return [
        {name: None if value is None else value.isoformat() if name == "when" else str(value) for name, value in row.items()}
        for row in log
    ]


def answer(log, at: str = AT):
    return forms.but_midnights(RULES.standings(ITEMS, log, at).to_dicts())


def typed(log):
    """The same columns with types of their own."""
    columns = {name: [row[name] for row in log] for name in log[0]}
    schema = {"when": pl.Datetime("us"), "item": pl.String, "event": pl.String, "amount": pl.Decimal(18, 6), "in": pl.String}
    polars = pl.DataFrame(columns, schema=schema)
    yield polars
    yield polars.with_columns(pl.col("item", "event", "in").cast(pl.Categorical))
    arrow = polars.to_arrow()
    yield arrow
    yield arrow.to_reader(max_chunksize=3)
    yield arrow.to_pandas()
    yield pd.DataFrame({name: pd.Series(values, dtype=object) for name, values in columns.items()})
    yield log


@slow
@given(LOGS)
def test_typed_columns_say_what_their_texts_say(log):
    # All at midnight: a column without zone is then one of dates, and so must the texts be.
    dates = all(row["when"].time() == dt.time() for row in log)
    rows = [{**row, "when": row["when"].date()} for row in log] if dates else log
    expected = answer(texts(rows))
    for number, table in enumerate(typed(log)):
        if number < 6 or not dates:
            assert answer(table) == expected


@settings(slow, max_examples=25)
@given(LOGS)
def test_every_form_gives_one_answer(log):
    rows = texts(log)
    expected = answer(rows)
    for name, make in forms.FRAMES.items():
        assert answer(make(rows)) == expected, name


@slow
@given(LOGS, st.integers(1, 5))
def test_the_cut_of_a_stream_changes_nothing(log, size):
    table = forms.arrow(texts(log))
    assert answer(table.to_reader(max_chunksize=size)) == answer(table)


@slow
@given(LOGS, st.integers(0, 12))
def test_two_tables_are_one_log(log, cut):
    rows = texts(log)
    book = RULES.book(ITEMS, rows[:cut])
    book.add_log(rows[cut:])
    two, one = book.standings(AT).to_dicts(), answer(rows)
    for found in (one, two):
        found["problems"] = sorted((p["code"], p["message"]) for p in found["problems"])
        for row in found["rows"]:
            for account in row["rules"]:
                for part in account["parts"]:
                    part["tipped_by"] = None
    assert two == one


@slow
@given(LOGS)
def test_one_by_one_is_the_same_as_a_table(log):
    book = RULES.book(ITEMS)
    refused = []
    for number, row in enumerate(log):
        try:
            book.record(row["when"], row["event"], item=row["item"], amount=row["amount"], conditions=row["in"] or "")
        except kitlore.EntryError as error:
            refused.append((error.code, number))
    table = RULES.standings(ITEMS, texts(log), AT)
    shown = [(row.item, row.task, row.standing, row.due_at, row.last_done) for row in book.standings(AT)]
    assert shown == [(row.item, row.task, row.standing, row.due_at, row.last_done) for row in table]
    codes = {code for code, _ in refused}
    assert refused == [(p.code, p.line) for p in table.problems if p.code in codes]


@slow
@given(st.binary(max_size=200))
def test_rules_of_any_text_are_rules_or_a_rule_error(data):
    text = data.decode("utf-8", "replace")
    try:
        kitlore.Rules(text)
    except kitlore.RuleError as error:
        for mistake in error.errors():
            assert mistake["line"] >= 1 and mistake["column"] >= 1 and mistake["end"] >= mistake["start"]
        assert str(error)


@slow
@given(st.lists(st.floats() | st.integers() | st.booleans() | TEXT | st.none() | st.binary(max_size=3) | st.dates(), min_size=1, max_size=6))
def test_no_value_is_lost(values):
    """Whatever a cell holds, its row is counted or reported."""
    rows = [{"when": "2026-02-07", "item": "C0", "event": "lens change", "amount": value} for value in values]
    found = RULES.standings(ITEMS, rows, AT)
    # Entries that stand twice are reported and count.
    lost = [problem for problem in found.problems if problem.source == "log" and problem.code != "same-twice"]
    reported = {problem.line for problem in lost}
    book = RULES.book(ITEMS, rows)
    assert len(book) + len(reported) == len(rows)
