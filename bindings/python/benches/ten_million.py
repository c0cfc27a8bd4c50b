"""Ten million entries from a frame, against polars, DuckDB and pandas code for the same six rules.

    python benches/ten_million.py [ENTRIES]

The workload has the shape of the Rust bench (`tests/src/workload.rs`): 50,000 items of a hire house, entries in
time order over two and a half years, about 3 % of them completions. Every contender starts from the same polars
frame in memory and gives the same table: item, task, standing, due_at, last_done. The tables are compared before
anything is timed. Peak memory is the process's resident high-water mark. The others count only what these six
rules need; kitlore also reports problems and keeps the account of every row.
"""

from __future__ import annotations

import datetime as dt
import resource
import sys
import time
from collections.abc import Callable
from typing import Any

import duckdb
import kitlore
import numpy as np
import pandas as pd
import polars as pl

RULES = """
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
  after 50,000 frames or 24 months, clean sensor
  after 10 shoots, inspect strap
for lenses
  after 40 shoots or 60 days, inspect glass
for batteries
  after 300 charges or 12 months, replace battery
for tripods
  after 5 shoots in salt air, inspect glass
"""
AT = dt.datetime(2026, 7, 1, 23, 59, 59, 999_999, tzinfo=dt.timezone.utc)
KINDS = ["camera"] * 2 + ["lens"] * 4 + ["battery"] * 3 + ["tripod"]
EVENTS = ["lens change", "frames", "shoot", "charge", "inspect sensor", "clean sensor", "inspect glass",
          "replace battery", "inspect strap"]
CONDITIONS = ["", "dust", "salt air", "dust;cold"]
USES = {"camera": [0, 1, 2], "lens": [2], "battery": [3], "tripod": [2]}
DONE = {"camera": [4, 5, 8], "lens": [6], "battery": [7], "tripod": [6]}
# Kind, event, conditions (None: whatever), threshold, task, interval.
RULE_ROWS = [
    ("camera", "lens change", ["dust", "dust;cold"], 20, "inspect sensor", "90d"),
    ("camera", "frames", None, 50_000, "clean sensor", "24mo"),
    ("camera", "shoot", None, 10, "inspect strap", None),
    ("lens", "shoot", None, 40, "inspect glass", "60d"),
    ("battery", "charge", None, 300, "replace battery", "12mo"),
    ("tripod", "shoot", ["salt air"], 5, "inspect glass", None),
]


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


def with_polars(inventory: pl.DataFrame, log: pl.DataFrame) -> pl.DataFrame:
    plan = log.lazy().with_row_index("row").with_columns(pl.col("item").cast(pl.String))
    kinds = inventory.lazy().select(item="id", kind="kind", received=pl.col("received"))
    plan = plan.join(kinds, on="item", maintain_order="left")
    parts = []
    for kind, event, conditions, threshold, task, interval in RULE_ROWS:
        own = plan.filter(pl.col("kind") == kind)
        done = own.filter(pl.col("event") == task).group_by("item").agg(
            last_done=pl.col("when").last(), done_row=pl.col("row").last()
        )
        used = own.filter(pl.col("event") == event)
        if conditions:
            used = used.filter(pl.col("in").cast(pl.String).is_in(conditions))
        reached = (
            used.join(done, on="item", how="left", maintain_order="left")
            .filter(pl.col("done_row").is_null() | (pl.col("row") > pl.col("done_row")))
            .with_columns(total=pl.col("amount").cum_sum().over("item"))
            .filter(pl.col("total") >= threshold)
            .group_by("item")
            .agg(reached=pl.col("when").min())
        )
        rows = kinds.filter(pl.col("kind") == kind).join(done, on="item", how="left").join(reached, on="item", how="left")
        start = pl.coalesce(pl.col("last_done").dt.date(), pl.col("received"))
        date = start.dt.offset_by(interval).cast(pl.Datetime("us")).dt.replace_time_zone("UTC") if interval else None
        due = pl.min_horizontal("reached", date) if interval else pl.col("reached")
        parts.append(rows.with_columns(task=pl.lit(task), due_at=due))
    late = pl.col("due_at").dt.truncate("1d") + pl.duration(days=1)
    standing = (
        pl.when(late <= AT).then(pl.lit("overdue")).when(pl.col("due_at") <= AT).then(pl.lit("due")).otherwise(pl.lit("clear"))
    )
    return pl.concat(parts).with_columns(standing=standing).collect()


SQL_RULE = """
select k.id as item, '{task}' as task, d.last_done,
       least(r.reached, {date}) as due_at
from kinds k
left join done d on d.item = k.id and d.event = '{task}'
left join (
    select item, min("when") as reached from (
        select l.item, l."when",
               sum(l.amount) over (partition by l.item order by l.row rows unbounded preceding) as total
        from log l left join done d on d.item = l.item and d.event = '{task}'
        where l.kind = '{kind}' and l.event = '{event}' {conditions}
          and (d.done_row is null or l.row > d.done_row)
    ) where total >= {threshold} group by item
) r on r.item = k.id
where k.kind = '{kind}'
"""
INTERVALS = {"90d": "interval 90 day", "60d": "interval 60 day", "24mo": "interval 24 month", "12mo": "interval 12 month"}


def with_duckdb(inventory: pl.DataFrame, log: pl.DataFrame) -> pl.DataFrame:
    base = duckdb.connect()
    base.execute("set timezone = 'UTC'")
    base.register("given", log.with_row_index("row").to_arrow())
    base.register("kinds", inventory.to_arrow())
    base.execute("""create temp table log as select g.row, g."when", g.item::varchar as item, g.event::varchar as event,
        g.amount, g."in"::varchar as "in", k.kind from given g join kinds k on k.id = g.item::varchar""")
    tasks = ", ".join(f"'{row[4]}'" for row in RULE_ROWS)
    base.execute(f"""create temp table done as select item, event, max("when") as last_done, max(row) as done_row
        from log where event in ({tasks}) group by all""")
    parts = []
    for kind, event, conditions, threshold, task, interval in RULE_ROWS:
        start = "coalesce(d.last_done::date, k.received)"
        listed = ", ".join(f"'{word}'" for word in conditions or [])
        parts.append(
            SQL_RULE.format(
                kind=kind,
                event=event,
                threshold=threshold,
                task=task,
                conditions=f'and l."in" in ({listed})' if conditions else "",
                date=f"({start} + {INTERVALS[interval]})::timestamptz" if interval else "null::timestamptz",
            )
        )
    at = AT.isoformat()
    return base.sql(
        f"""select *, case when date_trunc('day', due_at) + interval 1 day <= '{at}'::timestamptz then 'overdue'
        when due_at <= '{at}'::timestamptz then 'due' else 'clear' end as standing from ({" union all ".join(parts)})"""
    ).pl()


def with_pandas(inventory: pd.DataFrame, log: pd.DataFrame) -> pd.DataFrame:
    kinds = inventory.set_index("id")
    codes = log["item"].cat.codes.to_numpy()
    kind_of = kinds["kind"].reindex(log["item"].cat.categories).to_numpy()[codes]
    log = log.assign(row=np.arange(len(log)))
    parts = []
    for kind, event, conditions, threshold, task, interval in RULE_ROWS:
        own = log[kind_of == kind]
        done = own[own["event"] == task].groupby("item", observed=True)[["when", "row"]].last()
        used = own[own["event"] == event]
        if conditions:
            used = used[used["in"].isin(conditions)]
        done_row = used["item"].map(done["row"]).astype(float).fillna(-1)
        used = used[used["row"] > done_row]
        total = used.groupby("item", observed=True)["amount"].cumsum()
        reached = used[total >= threshold].groupby("item", observed=True)["when"].first()
        rows = kinds[kinds["kind"] == kind]
        last = done["when"].reindex(rows.index)
        due = reached.reindex(rows.index)
        if interval:
            received = pd.to_datetime(rows["received"]).dt.tz_localize("UTC").astype(last.dtype)
            start = last.dt.normalize().fillna(received)
            number = int(interval.rstrip("dmo"))
            step = pd.DateOffset(days=number) if interval.endswith("d") else pd.DateOffset(months=number)
            due = pd.concat([due, start + step], axis=1).min(axis=1)
        parts.append(pd.DataFrame({"item": rows.index, "task": task, "due_at": due.to_numpy(), "last_done": last.to_numpy()}))
    found = pd.concat(parts, ignore_index=True)
    for name in ("due_at", "last_done"):
        found[name] = pd.to_datetime(found[name], utc=True)
    late = found["due_at"].dt.normalize() + pd.Timedelta(days=1)
    found["standing"] = np.where(late <= AT, "overdue", np.where(found["due_at"] <= AT, "due", "clear"))
    return found


def table(found: Any) -> pl.DataFrame:
    frame = found if isinstance(found, pl.DataFrame) else pl.from_pandas(found)
    times = pl.col("due_at", "last_done").cast(pl.Datetime("us", "UTC"))
    return frame.select(pl.col("item").cast(pl.String), "task", "standing", times).sort("item", "task")


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
        "DuckDB": lambda: with_duckdb(*frames),
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
