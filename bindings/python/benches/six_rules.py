"""The six rules of the workload as expert code for polars, DuckDB and pandas, and in plain Python.

Each gives the same table: item, task, standing, due_at, last_done. They count only what these six rules need;
kitlore also reports problems and keeps the account of every row.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterable
from typing import Any

import duckdb
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
# Kind, event, conditions (None: whatever), threshold, task, interval.
RULE_ROWS = [
    ("camera", "lens change", ["dust", "dust;cold"], 20, "inspect sensor", "90d"),
    ("camera", "frames", None, 50_000, "clean sensor", "24mo"),
    ("camera", "shoot", None, 10, "inspect strap", None),
    ("lens", "shoot", None, 40, "inspect glass", "60d"),
    ("battery", "charge", None, 300, "replace battery", "12mo"),
    ("tripod", "shoot", ["salt air"], 5, "inspect glass", None),
]


def with_polars(inventory: pl.DataFrame, log: pl.DataFrame) -> pl.DataFrame:
    """From frames; joins on what the item column is, text or a number behind an Enum."""
    plan = log.lazy().with_row_index("row")
    kinds = inventory.lazy().select(item=pl.col("id").cast(log.schema["item"]), kind="kind", received="received")
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


def with_duckdb(inventory: str, log: str, **tables: Any) -> pl.DataFrame:
    """From what SQL can select from: `tables` by their names, or a `read_csv`."""
    base = duckdb.connect()
    base.execute("set timezone = 'UTC'")
    for name, table in tables.items():
        base.register(name, table)
    base.execute(f"create temp table kinds as select * from {inventory}")
    base.execute(f"""create temp table log as select g.row, g."when", g.item, g.event, g.amount, g."in", k.kind from
        (select row_number() over () as row, "when", item::varchar as item, event::varchar as event, amount,
        coalesce("in"::varchar, '') as "in" from {log}) g join kinds k on k.id = g.item""")
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


def with_python(inventory: Iterable[list[str]], log: Iterable[list[str]]) -> pl.DataFrame:
    """From rows of text as the csv module gives them, in one pass; times compare as the text they are."""
    kinds = {row[0]: (row[1], row[2]) for row in inventory}
    rules: dict[tuple[str, str], list[tuple[str, int, frozenset[str] | None]]] = {}
    for kind, event, conditions, threshold, task, _ in RULE_ROWS:
        wanted = frozenset(conditions) if conditions else None
        rules.setdefault((kind, event), []).append((task, threshold, wanted))
    tasks = {(kind, task) for kind, _, _, _, task, _ in RULE_ROWS}
    totals: dict[tuple[str, str], int] = {}
    reached: dict[tuple[str, str], str] = {}
    done: dict[tuple[str, str], str] = {}
    for when, item, event, amount, conditions in log:
        kind = kinds[item][0]
        if (kind, event) in tasks:
            key = (item, event)
            done[key] = when
            totals[key] = 0
            reached.pop(key, None)
            continue
        for task, threshold, wanted in rules.get((kind, event), ()):
            if wanted is not None and conditions not in wanted:
                continue
            key = (item, task)
            total = totals[key] = totals.get(key, 0) + int(amount or 1)
            if total >= threshold and key not in reached:
                reached[key] = when
    rows = []
    for item, (kind, received) in kinds.items():
        for of, _, _, _, task, interval in RULE_ROWS:
            if of != kind:
                continue
            last, met = done.get((item, task)), reached.get((item, task))
            due = dt.datetime.fromisoformat(met) if met else None
            if interval:
                date = after(dt.date.fromisoformat((last or received)[:10]), interval)
                start = dt.datetime.combine(date, dt.time(), dt.timezone.utc)
                due = min(due, start) if due else start
            over = due and dt.datetime.combine(due.date() + dt.timedelta(days=1), dt.time(), dt.timezone.utc)
            standing = "clear" if due is None or due > AT else "overdue" if over <= AT else "due"
            rows.append((item, task, standing, due, dt.datetime.fromisoformat(last) if last else None))
    utc = pl.Datetime("us", "UTC")
    schema = {"item": pl.String, "task": pl.String, "standing": pl.String, "due_at": utc, "last_done": utc}
    return pl.DataFrame(rows, schema=schema, orient="row")


def after(date: dt.date, interval: str) -> dt.date:
    """The date so many days or months later, the last of the month where it has no such day."""
    if interval.endswith("mo"):
        years, month = divmod(date.month - 1 + int(interval[:-2]), 12)
        days = calendar.monthrange(date.year + years, month + 1)[1]
        return dt.date(date.year + years, month + 1, min(date.day, days))
    return date + dt.timedelta(days=int(interval[:-1]))


def table(found: Any) -> pl.DataFrame:
    frame = found if isinstance(found, pl.DataFrame) else pl.from_pandas(found)
    times = pl.col("due_at", "last_done").cast(pl.Datetime("us", "UTC"))
    return frame.select(pl.col("item").cast(pl.String), "task", "standing", times).sort("item", "task")
