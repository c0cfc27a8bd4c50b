"""Rules, books and answers as Python objects: equality, copies, threads, one entry at a time."""

from __future__ import annotations

import _thread
import copy
import datetime as dt
import json
import pickle
import subprocess
import sys
import threading
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from decimal import Decimal

import kitlore
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
from cases import STUDIO

TEXT = "for cameras\n  after 20 lens changes in dust or 90 days, inspect sensor\n    needs blower, plain bright wall\n    takes 10 minutes\n"
COLUMNS = dict(line.split("=", 1) for line in (STUDIO / "columns").read_text().splitlines() if line)


def studio(at="2026-11-25"):
    return kitlore.Rules.load(STUDIO / "house.lore").standings(
        STUDIO / "inventory.xlsx", STUDIO / "log.csv", at, columns=COLUMNS
    )


def test_rules_are_equal_by_content():
    one, other = kitlore.Rules(TEXT), kitlore.Rules(TEXT)
    assert one == other and hash(one) == hash(other) and len({one, other}) == 1
    assert one != kitlore.Rules(TEXT + "\n  after 5 days, wipe body") and one != TEXT
    assert one != kitlore.Rules(TEXT, name="house.lore")
    assert copy.copy(one) == one and copy.deepcopy(one) == one


def test_rules_travel_with_what_they_include():
    rules = kitlore.Rules.load(STUDIO / "house.lore")
    other = pickle.loads(pickle.dumps(rules))
    assert other == rules and other.rules == rules.rules and len(rules) > 20
    assert {rule["file"] for rule in other.rules} > {"parts/cameras.lore", "parts/lenses.lore"}
    given = kitlore.Rules('include "more.lore"\n', includes={"more.lore": TEXT})
    assert pickle.loads(pickle.dumps(given)) == given and given.tasks == ["inspect sensor"]
    with pytest.raises(kitlore.RuleError, match="more.lore"):
        kitlore.Rules('include "more.lore"\n')


def test_what_rules_say():
    rules = kitlore.Rules('house "Saltmarsh"\ntime zone Europe/Lisbon\n' + TEXT + '\nexample "one"\n  camera C1 received 2026-01-10\n  on 2026-04-10 C1 inspect sensor is clear\n')
    assert (rules.house, rules.time_zone, rules.name, len(rules)) == ("Saltmarsh", "Europe/Lisbon", "rules", 1)
    assert rules.rules[0]["line"] == 4 and rules.rules[0]["text"].startswith("after 20 lens changes")
    (failed,) = rules.failed_examples()
    assert failed["line"] == 10 and failed["example"] == "one"
    assert kitlore.Rules("FOR cameras\nAfter  90 days,inspect sensor").tidy() == "for cameras\n  after 90 days, inspect sensor\n"
    assert kitlore.Rules.load(STUDIO / "house.lore").failed_examples() == []
    assert repr(rules) == "<kitlore.Rules of 'Saltmarsh': 1 rules in 'rules'>"


def test_the_answer_is_that_of_the_command_line():
    command = [sys.executable, "-m", "kitlore", "due", str(STUDIO / "house.lore"), "--items", str(STUDIO / "inventory.xlsx"),
               "--log", str(STUDIO / "log.csv"), "--columns", str(STUDIO / "columns"), "--at", "2026-11-25", "--as", "json"]
    run = subprocess.run(command, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    found = studio()
    assert found.to_dicts() == json.loads(run.stdout)
    assert len(found.rows) > 100 and found.problems
    why = subprocess.run([command[0], "-m", "kitlore", "why", *command[4:-2], found.rows[0].item],
                         capture_output=True, text=True, env={"COLUMNS": "100", "PATH": ""})
    assert str(found.why(found.rows[0].item)) == why.stdout


def test_every_part_of_the_json_is_an_attribute():
    """Rows made into plain data again are the JSON."""
    found = studio()

    def plain(value):
        if isinstance(value, (list, tuple)):
            return [plain(part) for part in value]
        if hasattr(value, "__dataclass_fields__"):
            return {name: plain(getattr(value, name)) for name in value.__dataclass_fields__}
        if isinstance(value, dt.datetime):
            return value.isoformat()
        if isinstance(value, dt.date):
            return value.isoformat()
        return f"{value:f}" if isinstance(value, Decimal) else value

    dicts = found.to_dicts()
    assert plain(found.rows) == dicts["rows"] and plain(found.problems) == dicts["problems"]
    assert (found.house, found.at) == (dicts["house"], dicts["at"])


def test_the_same_columns_everywhere():
    found = studio()
    for table in ("rows", "parts", "problems"):
        arrow = found.to_arrow(table)
        assert found.to_polars(table).to_dicts() == pl.from_arrow(arrow).to_dicts()
        pd.testing.assert_frame_equal(found.to_pandas(table), arrow.to_pandas())
    rows = found.to_arrow().to_pylist()
    for dicts, row in zip(rows, found.rows, strict=True):
        for name, value in dicts.items():
            other = getattr(row, name)
            assert value == (list(other) if isinstance(other, tuple) else other), name
    parts = found.to_arrow("parts").to_pylist()
    flat = [(row, account, part) for row in found for account in row.rules for part in account.parts + account.limit_parts]
    assert len(parts) == len(flat)
    for dicts, (row, account, part) in zip(parts, flat, strict=True):
        assert (dicts["item"], dicts["task"], dicts["file"], dicts["line"]) == (row.item, row.task, account.file, account.line)
        assert (dicts["standing"], dicts["due_at"], dicts["late_at"]) == (account.standing, account.due_at, account.late_at)
        assert (dicts["text"], dicts["kind"], dicts["count"], dicts["of"]) == (part.text, part.kind, part.count, part.of)
        assert (dicts["reached_at"], dicts["counts_from"]) == (part.reached_at, part.counts_from)
        assert dicts["tipped_by_line"] == (part.tipped_by and part.tipped_by.line)
    assert str(found.to_arrow().schema.field("due_at").type) == "timestamp[us, tz=Europe/London]"
    assert pl.DataFrame(found).height == pa.table(found).num_rows == len(found)
    with pytest.raises(ValueError, match="`row` is no table"):
        found.to_polars("row")


def test_one_entry_at_a_time():
    book = kitlore.Book(kitlore.Rules(TEXT))
    book.record("2026-02-07", "lens change", item="C1", amount=Decimal("12.5"), conditions=["dust", "rain"])
    book.record(dt.date(2026, 2, 8), "lens change", item="C1", amount=7.5, conditions="dust")
    book.add_item("C1", "camera", received=dt.date(2026, 1, 10), kit=["blue bag"], attributes={"maker": "Brask"})
    assert (len(book), book.items()) == (2, [("C1", "camera")])
    (row,) = book.standings(dt.date(2026, 2, 8)).rows
    assert (row.standing, row.rules[0].parts[0].count) == ("due", Decimal(20))
    assert (row.needs, row.takes_minutes) == (("blower", "plain bright wall"), 10)
    assert row.rules[0].parts[0].tipped_by is None
    assert book.standings("2026-02-07", item="C1").rows[0].standing == "clear"
    assert book.standings("2026-02-07", item="C2").rows == []
    book.record(dt.datetime(2026, 2, 9, 10, tzinfo=dt.timezone.utc), "inspect sensor", item="blue bag")
    assert book.standings("2026-02-09").rows[0].last_done == dt.datetime(2026, 2, 9, 10, tzinfo=dt.timezone.utc)
    book.add_log(pl.DataFrame({"when": ["2026-02-10"], "item": ["C1"], "event": ["lens change"], "in": ["dust"], "amount": [20]}))
    (row,) = book.standings("2026-02-10").rows
    assert (row.standing, row.rules[0].parts[0].tipped_by) == ("due", kitlore.Place("log", 0))
    assert repr(book) == "<kitlore.Book: 1 items, 4 entries>"
    book.add_log([{"when": "x", "event": "lens change"}])
    assert [(p.source, p.line) for p in book.standings("2026-02-10").problems] == [("log 2", 0)]


@pytest.mark.parametrize(
    ("entry", "code"),
    [
        ({"when": "7.2.2026", "event": "x"}, "bad-time"),
        ({"when": None, "event": "x"}, "bad-time"),
        ({"when": "2026-02-07", "event": "x", "amount": 0.1 + 0.2}, "bad-number"),
        ({"when": "2026-02-07", "event": "x", "amount": float("nan")}, "bad-number"),
        ({"when": "2026-02-07", "event": "x", "amount": -1}, "negative-amount"),
        ({"when": "2026-02-07", "event": "x", "until": "2026-02-06"}, "until-before-when"),
        ({"when": "2026-02-07", "event": ""}, "missing-event"),
        ({"when": "2026-02-07", "event": "x", "ref": {}}, "bad-value"),
    ],
)
def test_an_entry_that_cannot_be_used_is_refused(entry, code):
    book = kitlore.Book(kitlore.Rules(TEXT))
    with pytest.raises(kitlore.EntryError) as caught:
        book.record(**entry)
    assert caught.value.code == code and len(book) == 0


def test_an_item_that_cannot_be_used_is_refused():
    book = kitlore.Book(kitlore.Rules(TEXT))
    book.add_item("C1", "camera")
    for arguments, code in [(("C1", "lens"), "duplicate-item"), (("", "lens"), "missing-id"), (("L1", " "), "missing-kind")]:
        with pytest.raises(kitlore.EntryError) as caught:
            book.add_item(*arguments)
        assert caught.value.code == code
    with pytest.raises(kitlore.EntryError, match="`received` `soon`"):
        book.add_item("C2", "camera", received="soon")


def test_a_book_is_saved_loaded_and_pickled(tmp_path):
    rules = kitlore.Rules(TEXT)
    book = rules.book([{"id": "C1", "kind": "camera"}])
    log = [{"when": "2026-02-07", "item": "C1", "event": "lens change", "amount": 500, "in": "dust"}]
    book.add_log([*log, {"when": "soon", "item": "C1", "event": "lens change"}])
    book.record("2026-02-08", "lens chnage", item="C1", id="a", note="näher")
    file = tmp_path / "book.kitlore"
    book.save(file)
    book.save(str(file))
    assert [path.name for path in tmp_path.iterdir()] == ["book.kitlore"]
    for other in [kitlore.Book.load(rules, file), pickle.loads(pickle.dumps(book))]:
        assert len(other) == len(book) and other.items() == book.items() and other.rules == rules
        found, again = book.standings("2026-02-09"), other.standings("2026-02-09")
        assert found.rows == again.rows and found.problems == again.problems and found.problems
        other.add_log(log)
        assert len(other) == len(book) + 1

    whole = file.read_bytes()
    for content, code in [(whole[:-1], "damaged-book"), (whole[:30] + b"?" + whole[31:], "damaged-book"), (b"", "not-a-book")]:
        file.write_bytes(content)
        with pytest.raises(kitlore.FileError, match="read the tables again") as caught:
            kitlore.Book.load(rules, file)
        assert caught.value.code == code
    with pytest.raises(kitlore.FileError) as caught:
        kitlore.Book.load(rules, tmp_path / "none")
    assert caught.value.code == "cannot-read"
    with pytest.raises(kitlore.FileError) as caught:
        book.save(tmp_path / "no folder" / "book")
    assert caught.value.code == "cannot-write"


def test_threads_share_rules_and_a_book():
    rules = kitlore.Rules(TEXT)
    book = rules.book([{"id": f"C{n}", "kind": "camera"} for n in range(8)])

    def work(number: int) -> str:
        for _ in range(200):
            book.record("2026-02-07", "lens change", item=f"C{number}", amount=1, conditions="dust")
            len(book)
        book.standings("2026-02-07")
        log = pl.DataFrame({"when": ["2026-02-07"], "item": ["C1"], "event": ["lens change"], "amount": [number], "in": ["dust"]})
        return str(rules.standings([{"id": "C1", "kind": "camera"}], log, "2026-02-07").rows[0].rules[0].parts[0].count)

    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(work, range(8))) == [str(n) for n in range(8)]
    assert len(book) == 1600
    assert {row.rules[0].parts[0].count for row in book.standings("2026-02-07")} == {Decimal(200)}


def test_other_threads_run_while_the_engine_works():
    """The lock of the interpreter is free: a Python loop goes on while a large table is read."""
    rules = kitlore.Rules(TEXT)
    rows = 400_000
    log = pa.table({"when": pa.array(["2026-02-07"] * rows), "item": ["C1"] * rows, "event": ["lens change"] * rows})
    running, turns = threading.Event(), [0]

    def work():
        running.set()
        rules.standings([{"id": "C1", "kind": "camera"}], log, "2026-02-08")
        running.clear()

    thread = threading.Thread(target=work)
    previous = sys.getswitchinterval()
    # Without the release the loop below would wait for the whole call, whatever its length.
    sys.setswitchinterval(0.001)
    try:
        thread.start()
        running.wait()
        while running.is_set():
            turns[0] += 1
    finally:
        sys.setswitchinterval(previous)
        thread.join()
    assert turns[0] > 1000


def _answer(rules: kitlore.Rules) -> list[tuple[str, str]]:
    log = [{"when": "2026-02-07", "item": "C1", "event": "lens change", "amount": 20, "in": "dust"}]
    found = rules.standings([{"id": "C1", "kind": "camera", "received": "2026-01-10"}], log, "2026-02-07")
    return [(row.task, row.standing) for row in found]


def test_rules_go_to_other_processes():
    rules = kitlore.Rules(TEXT)
    with ProcessPoolExecutor(2) as pool:
        assert list(pool.map(_answer, [rules, rules])) == [_answer(rules)] * 2 == [[("inspect sensor", "due")]] * 2


def test_ctrl_c_stops_a_long_read():
    """The user's wish to stop is noticed between batches, while most of the table is not read yet."""
    chunk = pa.table({"when": ["2026-02-07"] * 1000, "event": ["lens change"] * 1000, "id": map(str, range(1000))})
    log = pa.concat_tables([chunk] * 10_000)
    book = kitlore.Book(kitlore.Rules(TEXT))
    timer = threading.Timer(0.2, _thread.interrupt_main)
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        book.add_log(log)
        timer.join()
    assert len(book) < log.num_rows / 2


def test_unread_streams_are_released():
    found = kitlore.Rules(TEXT).standings([{"id": "C1", "kind": "camera"}], at="2026-02-07")
    before = pa.total_allocated_bytes()
    for _ in range(1000):
        found.__arrow_c_stream__()
    assert pa.table(found).num_rows == 1 and pa.total_allocated_bytes() <= before


def test_a_frame_is_left_as_it_was():
    frame = pd.DataFrame({"when": [dt.datetime(2026, 2, 7)], "event": ["lens change"], "odd": [object()]}, index=[5])
    before = frame.copy()
    kitlore.Rules(TEXT).standings([], frame, "2026-02-07")
    pd.testing.assert_frame_equal(frame, before)


def test_rows_are_numbered_as_iloc_counts():
    frame = pd.DataFrame({"when": ["2026-02-07", "x", "y"], "event": ["lens change"] * 3}, index=["a", "b", "c"])
    frame = frame[frame["when"] != "x"]
    (problem,) = [p for p in kitlore.Rules(TEXT).standings([], frame, "2026-02-07").problems if p.code == "bad-time"]
    assert frame.iloc[problem.line]["when"] == "y" and problem.line == 1
    reader = pa.table({"when": ["2026-02-07"] * 5 + ["x"], "event": ["lens change"] * 6}).to_reader(max_chunksize=2)
    (problem,) = [p for p in kitlore.Rules(TEXT).standings([], reader, "2026-02-07").problems if p.code == "bad-time"]
    assert problem.line == 5
