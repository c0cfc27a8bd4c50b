"""What is raised: one base, stable words, places in characters, and nothing lost on the way to another process."""

from __future__ import annotations

import pickle
import subprocess
import sys

import kitlore
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest

ITEMS = [{"id": "C1", "kind": "camera", "received": "2026-01-10"}]
LOG = [{"when": "2026-02-07", "item": "C1", "event": "lens change"}]
RULES = kitlore.Rules("for cameras\n  after 20 lens changes, inspect sensor")
WRONG = 'house "Ünïcode – 工房"\nfor cameras\n  caution "é"; after 90 dayz, inspect sensor\n  every other week, wipe body\n'


def rule_error() -> kitlore.RuleError:
    with pytest.raises(kitlore.RuleError) as caught:
        kitlore.Rules("house \"Ünïcode – 工房\"\nfor cameras\n  # é\n  every other week, wipe body\n  after 90, look")
    return caught.value


def test_a_wrong_rule_says_where_and_how_to_mend_it():
    error = rule_error()
    assert isinstance(error, ValueError) and isinstance(error, kitlore.KitloreError)
    assert len(error.errors()) == 2
    first = error.errors()[0]
    assert (error.code, error.line, error.column, error.help) == tuple(
        first[name] for name in ("code", "line", "column", "help")
    )
    assert error.message == first["message"] and error.line == 4 and error.help


def test_a_correction_is_edits_that_leave_fewer_mistakes():
    text = "house \"Ünïcode – 工房\"\nfor cameras\n  # é\n  every other week, wipe body\n  after 90, look"
    corrected, without = rule_error().errors()
    assert without["fix"] is None
    for edit in reversed(corrected["fix"]):
        text = text[: edit["start"]] + edit["text"] + text[edit["end"] :]
    assert text.splitlines()[3] == "  every 2 weeks, wipe body"
    with pytest.raises(kitlore.RuleError) as caught:
        kitlore.Rules(text)
    assert len(caught.value.errors()) == 1


def test_doubts_are_warned_of_once_where_the_text_is_read(tmp_path):
    text = "for cameras\n  after 90 dayz, wipe body\n  after 9 weekz, wipe body"
    path = tmp_path / "house.lore"
    path.write_text(text)
    for read, file in [(lambda: kitlore.Rules(text), "rules"), (lambda: kitlore.Rules.load(path), "house.lore")]:
        with pytest.warns(kitlore.RuleWarning) as warned:
            rules = read()
        (warning,) = warned
        assert warning.filename == __file__
        text = str(warning.message)
        assert text.startswith(f"doubt at {file}:2: ") and text.endswith("; 1 more in `Rules.doubts`")
        assert len(rules.doubts) == 2
    # Any warning would be an error here.
    assert pickle.loads(pickle.dumps(rules)).doubts == rules.doubts


def test_offsets_count_characters():
    text = "house \"Ünïcode – 工房\"\nfor cameras\n  # é\n  every other week, wipe body\n  after 90, look"
    for error in rule_error().errors():
        assert text[error["start"] : error["end"]] == error["text"]
        line = text.splitlines()[error["line"] - 1]
        assert line[error["column"] - 1 :].startswith(error["text"])


def test_the_text_is_that_of_the_command_line(tmp_path):
    file = tmp_path / "house.lore"
    file.write_text("for cameras\n  every other week, wipe body\n", encoding="utf-8")
    with pytest.raises(kitlore.RuleError) as caught:
        kitlore.Rules.load(file)
    run = subprocess.run(
        [sys.executable, "-m", "kitlore", "proof", str(file)],
        capture_output=True,
        text=True,
        env={"COLUMNS": "100", "PATH": ""},
    )
    assert run.returncode == 1
    assert str(caught.value) == run.stdout.rstrip()
    assert "^^^" in str(caught.value)


def test_a_second_place_is_reported():
    with pytest.raises(kitlore.RuleError) as caught:
        kitlore.Rules('house "A"\nhouse "B"\n')
    second = caught.value.errors()[0]["second"]
    assert second is not None and second["line"] == 1


@pytest.mark.parametrize(
    "make",
    [pl.DataFrame, pd.DataFrame, lambda rows: pa.Table.from_pylist(rows), lambda rows: rows],
    ids=["polars", "pandas", "arrow", "dicts"],
)
class TestColumns:
    def test_a_missing_column(self, make):
        with pytest.raises(kitlore.TableError, match="`log` has no column `event`; its columns are") as caught:
            RULES.standings(make(ITEMS), make([{"when": "2026-02-07", "evnt": "x"}]))
        assert caught.value.code == "missing-column"
        assert caught.value.help == "did you mean `evnt`?"
        assert 'columns={"event": "..."}' in caught.value.message

    def test_a_column_that_columns_names_wrongly(self, make):
        with pytest.raises(kitlore.TableError, match="has no column `Dat`") as caught:
            RULES.standings(make(ITEMS), make([{"Date": "2026-02-07", "event": "x"}]), columns={"when": "Dat"})
        assert caught.value.code == "unknown-heading"

    def test_a_field_that_is_none(self, make):
        with pytest.raises(kitlore.TableError, match="`amout` is no field") as caught:
            RULES.standings(make(ITEMS), make(LOG), columns={"amout": "Qty"})
        assert caught.value.code == "unknown-field"

    def test_two_columns_of_one_meaning(self, make):
        with pytest.raises(kitlore.TableError, match="two columns") as caught:
            RULES.standings(make(ITEMS), make([{"when": "2026-02-07", "When ": "2026-02-08", "event": "x"}]))
        assert caught.value.code == "duplicate-heading"

    def test_a_close_heading_is_a_doubt(self, make):
        found = RULES.standings(make(ITEMS), make([{**LOG[0], "amout": "3"}]), "2026-03-01")
        (problem,) = found.problems
        assert (problem.code, problem.meant) == ("unread-column", "amount")

    def test_other_headings(self, make):
        items = [{"Asset no": "C1", "What": "camera", "received": "2026-01-10"}]
        log = [{"Date": "2026-02-07", "Asset no": "C1", "event": "lens change", "Qty": "20"}]
        mapping = {"id": "Asset no", "kind": "What", "item": "Asset no", "when": "Date", "amount": "Qty"}
        found = RULES.standings(make(items), make(log), "2026-02-07", columns=mapping)
        assert [row.standing for row in found.rows] == ["due"] and found.problems == []


def test_pandas_labels_that_are_no_texts():
    frame = pd.DataFrame({0: ["C1"], "kind": ["camera"], "received": ["2026-01-10"]})
    assert len(RULES.standings(frame, LOG, columns={"id": "0"}).rows) == 1
    frame = pd.DataFrame([["2026-02-07", "x", "y"]], columns=["when", "event", "event"])
    with pytest.raises(kitlore.TableError, match="two columns for `event`"):
        RULES.standings(ITEMS, frame)


@pytest.mark.parametrize("table", [5, None, b"id,kind", object(), [5], ["C1"], {"id": "C1", "kind": "camera"}])
def test_what_is_no_table(table):
    with pytest.raises(kitlore.InputTypeError) as caught:
        RULES.standings(table)
    assert isinstance(caught.value, TypeError) and "`items`" in str(caught.value) or "row 0" in str(caught.value)


@pytest.mark.parametrize("columns", ["columns", ["when", "Date"], 5])
def test_what_maps_no_headings(columns):
    with pytest.raises(kitlore.InputTypeError, match="give a dict of fields and headings"):
        RULES.standings(ITEMS, LOG, "2026-02-07", columns=columns)


def test_lazy_frames_are_not_collected_in_silence():
    with pytest.raises(kitlore.InputTypeError, match=r"\.collect\(\)"):
        RULES.standings(pl.LazyFrame(ITEMS))


@pytest.mark.parametrize("make", [pl.DataFrame, pd.DataFrame, pa.table, lambda columns: columns, list], ids=str)
def test_nothing_at_all(make):
    found = RULES.standings(make({}), make({}), "2026-02-07")
    assert found.rows == [] and found.problems == [] and len(found) == 0


def test_files():
    with pytest.raises(kitlore.FileError, match="missing.csv") as caught:
        RULES.standings("missing.csv")
    assert isinstance(caught.value, OSError) and caught.value.code == "cannot-read"
    with pytest.raises(kitlore.FileError, match="missing.lore"):
        kitlore.Rules.load("missing.lore")


def test_an_error_in_a_producer_is_reported():
    def batches():
        yield pa.record_batch({"when": ["2026-02-07"], "event": ["x"]})
        raise RuntimeError("the source fell silent")

    schema = pa.schema({"when": pa.string(), "event": pa.string()})
    with pytest.raises(kitlore.TableError, match="the source fell silent"):
        RULES.standings(ITEMS, pa.RecordBatchReader.from_batches(schema, batches()))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: kitlore.Book("for cameras\n  after 90 days, look"), r"`Book\(rules\)` is the rules, and this is a str"),
        (lambda: kitlore.Book(None), "this is a NoneType"),
        (lambda: kitlore.Book.load("x.book", RULES), r"`Book\.load\(rules, path\)` is the rules, and this is a str"),
    ],
)
def test_what_are_no_rules(call, words):
    with pytest.raises(kitlore.InputTypeError, match=words) as caught:
        call()
    assert isinstance(caught.value, TypeError) and "kitlore.Rules" in str(caught.value)


@pytest.mark.parametrize(
    ("call", "number"),
    [
        (lambda found, days: found.to_ical(days=days), -1),
        (lambda found, days: found.to_ical(days=days), 1 << 40),
        (lambda found, days: found.ahead(days), -1),
        (lambda found, days: found.plot_ahead(days), 10_000),
        (lambda found, days: RULES.ahead(ITEMS, LOG, days=days), -1),
    ],
)
def test_numbers_out_of_their_range(call, number):
    found = RULES.standings(ITEMS, LOG, "2026-02-07")
    with pytest.raises(kitlore.InputValueError, match=f"`days` is {number}; give a number from 0 to ") as caught:
        call(found, number)
    assert isinstance(caught.value, ValueError) and caught.value.code == "input-value"
    with pytest.raises(kitlore.InputTypeError, match="`days` is a str; give a whole number"):
        call(found, "30")


def test_times_that_are_none():
    with pytest.raises(kitlore.EntryError, match="`at` `tomorrow`") as caught:
        RULES.standings(ITEMS, LOG, "tomorrow")
    assert caught.value.code == "bad-time" and isinstance(caught.value, ValueError)
    with pytest.raises(kitlore.InputTypeError):
        RULES.standings(ITEMS, LOG, 20260207)


def test_a_row_that_is_not_there():
    found = RULES.standings([*ITEMS, {"id": "CAM-01", "kind": "camera"}], LOG, "2026-02-07")
    with pytest.raises(kitlore.NoRowError) as caught:
        found.why("CAM-1")
    assert caught.value.help == "did you mean `CAM-01`?" and isinstance(caught.value, KeyError)
    with pytest.raises(kitlore.NoRowError, match="its tasks are `inspect sensor`"):
        found.why("C1", "inspect senser")


def test_a_panic_is_an_exception():
    from kitlore import _native

    with pytest.raises(kitlore.InternalError, match="asked to") as caught:
        _native.fail_inside()
    assert isinstance(caught.value, Exception) and isinstance(caught.value, RuntimeError)


def test_errors_cross_to_other_processes():
    errors = [rule_error(), kitlore.FileError("no file", code="cannot-read"), kitlore.NoRowError("none", help="some")]
    errors += [cls("what", code="word", line=3, column=4, help="so") for cls in (
        kitlore.TableError, kitlore.EntryError, kitlore.InputTypeError, kitlore.InputValueError, kitlore.InternalError,
        kitlore.KitloreError)]
    for error in errors:
        other = pickle.loads(pickle.dumps(error))
        assert type(other) is type(error) and str(other) == str(error) and other.errors() == error.errors()
        assert (other.code, other.message, other.line, other.column, other.help) == (
            error.code, error.message, error.line, error.column, error.help)
