"""Ten million entries from a frame, against polars, DuckDB and pandas code for the same six rules.

    python benches/ten_million.py [ENTRIES]

The workload has the shape of the Rust bench (`tests/src/workload.rs`): 50,000 items of a hire house, entries in
time order over two and a half years, about 3 % of them completions. Every contender starts from the same polars
frame in memory and gives the same table: item, task, standing, due_at, last_done. The tables are compared before
anything is timed. Peak memory is the process's resident high-water mark. The others count only what these six
rules need; kitlore also reports problems and keeps the account of every row.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from typing import Any

import kitlore
import numpy as np
import polars as pl
from six_rules import AT, RULES, table, with_duckdb, with_pandas, with_polars

KINDS = ["camera"] * 2 + ["lens"] * 4 + ["battery"] * 3 + ["tripod"]
EVENTS = ["lens change", "frames", "shoot", "charge", "inspect sensor", "clean sensor", "inspect glass",
          "replace battery", "inspect strap"]
CONDITIONS = ["", "dust", "salt air", "dust;cold"]
USES = {"camera": [0, 1, 2], "lens": [2], "battery": [3], "tripod": [2]}
DONE = {"camera": [4, 5, 8], "lens": [6], "battery": [7], "tripod": [6]}


def workload(items: int, entries: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    random = np.random.default_rng(1)
    ids = [f"K{number:07}" for number in range(items)]
    kinds = [KINDS[number % 10] for number in range(items)]
    received = np.datetime64("2023-01-01") + random.integers(0, 731, items).astype("timedelta64[D]")
    inventory = pl.DataFrame({"id": ids, "kind": kinds, "received": received})
    span = int((np.datetime64("2026-07-01") - np.datetime64("2024-01-01")) / np.timedelta64(1, "s"))
    when = np.sort(random.integers(0, span, entries)) + np.datetime64("2024-01-01T00:00:00", "s").astype(np.int64)
    item = random.integers(0, items, entries)
    completes = random.random(entries) < 0.03
    event = np.zeros(entries, np.int64)
    for kind in USES:
        of_kind = np.isin(item % 10, [number for number, name in enumerate(KINDS) if name == kind])
        for mask, events in ((of_kind & ~completes, USES[kind]), (of_kind & completes, DONE[kind])):
            event[mask] = random.choice(events, mask.sum())
    amount = np.where(event == 1, random.integers(1, 801, entries), 1)
    conditions = np.where(event < 4, random.integers(0, 4, entries), 0)

    def names(numbers: np.ndarray, words: list[str]) -> pl.Series:
        return pl.Series(words, dtype=pl.Enum(words)).gather(numbers)

    log = pl.DataFrame(
        {
            "when": pl.Series((when * 1_000_000)).cast(pl.Datetime("us", "UTC")),
            "item": names(item, ids),
            "event": names(event, EVENTS),
            "amount": amount,
            "in": names(conditions, CONDITIONS),
        }
    )
    return inventory, log


def with_kitlore(rules: kitlore.Rules) -> Callable[[pl.DataFrame, pl.DataFrame], pl.DataFrame]:
    def run(inventory: pl.DataFrame, log: pl.DataFrame) -> pl.DataFrame:
        return rules.standings(inventory, log, AT).to_polars()

    return run


def peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2


def main() -> None:
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000
    inventory, log = workload(min(50_000, entries // 10), entries)
    texts = log.with_columns(pl.col("item", "event", "in").cast(pl.String))
    pandas = (inventory.to_pandas(), log.with_columns(pl.col("item", "event", "in").cast(pl.Categorical)).to_pandas())
    arrow = log.to_arrow()
    frames = (inventory, log)
    rules = kitlore.Rules(RULES)
    run = with_kitlore(rules)
    before = peak()
    contenders: dict[str, Callable[[], Any]] = {
        "kitlore, polars Enum": lambda: run(*frames),
        "kitlore, Arrow dictionary": lambda: run(inventory, arrow),
        "kitlore, polars String": lambda: run(inventory, texts),
        "polars": lambda: with_polars(*frames),
        "DuckDB": lambda: with_duckdb("items", "entries", items=inventory.to_arrow(), entries=arrow),
        "pandas": lambda: with_pandas(*pandas),
    }
    expected = None
    peaks = {}
    for name, work in contenders.items():
        found = table(work())
        peaks[name] = peak()
        if expected is None:
            expected = found
            print(f"{entries:,} entries, {inventory.height:,} items, {found.height:,} rows, frames {before:.2f} GiB")
            print(found["standing"].value_counts(sort=True).rows())
        assert found.equals(expected), f"{name} differs:\n{found.filter(found.hash_rows() != expected.hash_rows())}"
    print("all contenders give the same table")
    for name, work in contenders.items():
        times = []
        for _ in range(3):
            start = time.perf_counter()
            work()
            times.append(time.perf_counter() - start)
        print(f"{name:28} {min(times):8.2f} s   peak so far {peaks[name]:.2f} GiB")


if __name__ == "__main__":
    main()
