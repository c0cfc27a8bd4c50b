"""How time grows when one thing doubles: entries, entries with ids, spans, items, items of a trip, rules.

    python growth.py [--things WORDS] [--doublings N] [--json FILE]

For each thing, processor time at a size and after each doubling, the best of three, and the ratio of each to the one
before. Linear is 2; 2.3 leaves something for caches and sorting. What the answer must hold is asserted for every
size before it is timed.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import kitlore
import numpy as np
import pyarrow as pa

AT = "2026-07-01"
FIRST = np.datetime64("2024-01-01T00:00:00", "us").astype(np.int64)
SPAN = int(900 * 86_400 * 1e6)
INSTANT = pa.timestamp("us", "UTC")
SIX = """
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
  after 50,000 frames or 24 months, clean sensor
  after 10 shoots, inspect strap
"""
TASKS = np.array(["lens change", "frames", "shoot", "inspect sensor", "clean sensor", "inspect strap"])
CHANCES = [0.32, 0.32, 0.32, 0.015, 0.015, 0.01]

Work = Callable[[], int]


@dataclass(frozen=True)
class Thing:
    """What doubles, from which size on; `prepare` gives the work and how many rows its answer has."""

    name: str
    first: int
    prepare: Callable[[int], tuple[Work, int]]


def inventory(count: int) -> pa.Table:
    ids = [f"K{number:07}" for number in range(count)]
    days = pa.array(np.arange(count) % 700 + 19_400, pa.int32()).cast(pa.date32())
    return pa.table({"id": ids, "kind": ["camera"] * count, "received": days, "kit": ["travel"] * count})


def log(count: int, items: int) -> pa.Table:
    random = np.random.default_rng(3)
    when = np.sort(random.integers(0, SPAN, count)) // 1_000_000 * 1_000_000 + FIRST
    item = pa.DictionaryArray.from_arrays(
        pa.array(random.integers(0, items, count), pa.int32()), pa.array([f"K{number:07}" for number in range(items)])
    )
    event = pa.array(random.choice(TASKS, count, p=CHANCES)).dictionary_encode()
    conditions = pa.array(random.choice(["", "dust", "salt air"], count)).dictionary_encode()
    return pa.table({"when": pa.array(when, INSTANT), "item": item, "event": event, "in": conditions})


def asked(rules: str, items: pa.Table, entries: pa.Table) -> Work:
    compiled = kitlore.Rules(rules)
    return lambda: len(compiled.standings(items, entries, AT))


def entries(count: int) -> tuple[Work, int]:
    return asked(SIX, inventory(2_000), log(count, 2_000)), 6_000


def identified(count: int) -> tuple[Work, int]:
    table = log(count, 2_000)
    table = table.append_column("id", pa.array([f"frames:{number:012}" for number in range(count)]))
    return asked(SIX, inventory(2_000), table), 6_000


def spans(count: int) -> tuple[Work, int]:
    """Trips of the whole house, two days each, and one over the whole time; each is a use and lies in others."""
    begin = np.sort(np.random.default_rng(5).integers(0, SPAN, count)) + FIRST
    begin, end = np.append(begin, FIRST), np.append(begin + 2 * 86_400_000_000, FIRST + SPAN)
    trips = pa.table(
        {
            "when": pa.array(begin, INSTANT),
            "until": pa.array(end, INSTANT),
            "item": pa.nulls(count + 1, pa.string()),
            "event": ["trip"] * (count + 1),
            "in": ["dust"] * count + ["salt air"],
        }
    )
    uses = log(20_000, 100)
    uses = uses.cast(pa.schema([(name, trips.schema.field(name).type) for name in uses.column_names]))
    uses = uses.append_column("until", pa.nulls(len(uses), INSTANT))
    rules = f"{SIX}  after 30 trips in salt air, wipe body\n"
    return asked(rules, inventory(100), pa.concat_tables([uses, trips.select(uses.column_names)])), 400


def items(count: int) -> tuple[Work, int]:
    return asked(SIX, inventory(count), log(200_000, count)), 3 * count


def travellers(count: int) -> tuple[Work, int]:
    """The items of a trip."""
    rules = kitlore.Rules(f"{SIX}  before every trip, wipe body\n")
    book = rules.book(inventory(count), log(20 * count, count))

    def work() -> int:
        found = book.trip(at=AT, from_="2026-07-10", to="2026-07-14", kit="travel")
        return sum(task["task"] == "wipe body" for task in found.before)

    return work, count


def rules(count: int) -> tuple[Work, int]:
    each = (f"  after {number % 50 + 1} shoots or {number % 300 + 1} days, task-{number}\n" for number in range(count))
    text = "for cameras\n" + "".join(each)
    table, equipment = log(50_000, 50), inventory(50)
    return lambda: len(kitlore.Rules(text).standings(equipment, table, AT)), 50 * count


THINGS = [
    Thing("entries", 500_000, entries),
    Thing("entries with ids", 250_000, identified),
    Thing("spans", 1_000, spans),
    Thing("items", 10_000, items),
    Thing("items of a trip", 500, travellers),
    Thing("rules", 250, rules),
]


def measured(thing: Thing, size: int) -> float:
    work, rows = thing.prepare(size)
    found = work()
    assert found == rows, f"{thing.name}, {size}: {found} rows for {rows}"
    times = []
    for _ in range(3):
        busy = time.process_time()
        work()
        times.append(time.process_time() - busy)
    return min(times)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--things", default="", help="only those with one of these words (separated by commas)")
    parser.add_argument("--doublings", type=int, default=3)
    parser.add_argument("--json", type=Path, help="a file for the figures")
    asked = parser.parse_args()
    words = [word for word in asked.things.split(",") if word]
    figures: list[dict[str, Any]] = []
    print("| what doubles | size | processor | to the one before |\n|---|---|---|---|")
    for thing in THINGS:
        if words and not any(word in thing.name for word in words):
            continue
        before = None
        for doubling in range(asked.doublings + 1):
            size = thing.first << doubling
            busy = measured(thing, size)
            ratio = None if before is None else busy / before
            figures.append({"what": thing.name, "size": size, "processor": busy, "ratio": ratio})
            print(
                f"| {thing.name} | {size:,} | {busy * 1000:.0f} ms | {'' if ratio is None else f'{ratio:.2f}'} |",
                flush=True,
            )
            before = busy
    if asked.json is not None:
        asked.json.write_text(json.dumps(figures, indent=1))


if __name__ == "__main__":
    main()
