"""What is loaded, and when; and columns that pyarrow takes without pandas, as it would make them itself."""

from __future__ import annotations

import importlib.util
import subprocess
import sys

import kitlore
import pyarrow as pa
import pytest
from test_ahead import ITEMS, LOG, RULES
from test_objects import COLUMNS, STUDIO

# What takes longer to load than the package itself.
HEAVY = {
    "dataclasses",
    "decimal",
    "difflib",
    "html",
    "inspect",
    "json",
    "matplotlib",
    "numpy",
    "pandas",
    "polars",
    "pyarrow",
    "re",
    "typing",
}

ANSWERS = """
import kitlore
rules = kitlore.Rules("for cameras\\n  after every trip, wipe body\\n  after 20 uses, inspect sensor")
items = [{"id": "C1", "kind": "camera", "received": "2026-01-01", "kit": "travel"}]
log = [{"when": "2026-01-02", "item": "C1", "event": "use", "amount": 20}]
found = rules.standings(items, log, "2026-02-01")
"""


def loaded(before: str, work: str) -> set[str]:
    """The modules that a process of its own loads for some work, after what comes before it."""
    script = f"{before}\nimport sys\nknown = set(sys.modules)\n{work}\nprint(*sorted(set(sys.modules) - known))"
    run = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    return set(run.stdout.split())


def test_the_package_is_light():
    modules = loaded("", "import kitlore")
    assert "kitlore._native" in modules and "kitlore._rules" not in modules
    assert modules & HEAVY == set()


def test_columns_need_no_rows_as_objects():
    modules = loaded("import polars", f"{ANSWERS}\nfound.to_polars()")
    assert "kitlore._rules" in modules
    assert modules & {"kitlore._rows", "kitlore._html", "kitlore._plot", "pandas", "pyarrow"} == set()


@pytest.mark.parametrize(
    "work",
    [
        *(f"found.to_arrow({table!r})" for table in ("rows", "parts", "problems")),
        "found.ahead().to_arrow()",
        "rules.trip(items, log, from_='2026-02-03', to='2026-02-05', kit='travel', at='2026-02-01').to_arrow()",
        "kitlore.read_photos([], items).to_arrow()",
    ],
)
def test_pyarrow_gets_columns_without_pandas(work):
    assert importlib.util.find_spec("pandas") is not None, "otherwise this shows nothing"
    modules = loaded("", f"{ANSWERS}\n{work}")
    assert "pyarrow" in modules and "pandas" not in modules


def test_every_public_name_is_found():
    assert set(kitlore.__all__) <= set(dir(kitlore))
    names = [name for names in kitlore._MODULES.values() for name in names]
    assert sorted([*names, "__version__"]) == sorted(kitlore.__all__)
    assert all(getattr(kitlore, name) is not None for name in kitlore.__all__)
    with pytest.raises(AttributeError, match="no attribute `rules`"):
        kitlore.rules


def test_forecasts_are_the_columns_of_their_rows():
    found = RULES.ahead(ITEMS, LOG, "2026-01-31")
    table = found.to_arrow()
    texts, numbers = pa.list_(pa.string()), pa.list_(pa.float64())
    types = {
        "due_at": pa.timestamp("us", "UTC"),
        **dict.fromkeys(("p10", "p50", "p90"), pa.date32()),
        **dict.fromkeys(("chance", "takes_minutes"), pa.float64()),
        **dict.fromkeys(("needs", "cautions"), texts),
        "enough": pa.bool_(),
        "by_day": numbers,
    }
    schema = pa.schema([(name, types.get(name, pa.string())) for name in table.column_names])
    made = pa.table({name: [getattr(row, name) for row in found] for name in table.column_names}, schema=schema)
    assert table.schema.equals(schema) and table.equals(made)
    assert any(row.due_at is not None for row in found) and any(row.p50 is not None for row in found)


@pytest.mark.parametrize("name", ["before", "on_the_way", "follow_ups", "on_return", "pack", "leave_at_home"])
def test_lists_of_a_trip_have_the_types_of_their_values(name):
    book = kitlore.Rules.load(STUDIO / "house.lore").book(STUDIO / "inventory.xlsx", STUDIO / "log.csv", COLUMNS)
    trip = book.trip("0147", at="2026-11-25")
    rows = trip._flat(name)
    assert rows
    table = trip.to_arrow(name)
    assert table.equals(pa.table({heading: [row[heading] for row in rows] for heading in table.column_names}))
