"""The six rules by hand for DuckDB, polars, pandas and plain Python, each as its experts would write it.

They know the workload: entries in order of time, no two of one item in one second, four values of `in`, whole months
in UTC. They count what these six rules need; kitlore also reports problems and keeps the account of every row.
"""

from __future__ import annotations

import calendar
import csv
import datetime as dt
from pathlib import Path
from typing import Any

import polars as pl
from six_rules import AT_DATE, MICROS, SIX, Rule, answer

END = dt.datetime.combine(AT_DATE + dt.timedelta(days=1), dt.time())


# polars: one lazy query for each rule, run together.


def with_polars(items: pl.DataFrame, log: pl.DataFrame) -> pl.DataFrame:
    """From frames whose `item` columns have one type; `when` counts microseconds in UTC."""
    entries = log.lazy()
    kinds = items.lazy().select("kind", "received", item="id")
    return pl.concat(pl.collect_all([_polars_rule(kinds, entries, rule) for rule in SIX]))


def _polars_rule(kinds: pl.LazyFrame, entries: pl.LazyFrame, rule: Rule) -> pl.LazyFrame:
    when = pl.col("when")
    last = entries.filter(pl.col("event") == rule.task).group_by("item").agg(last_done=when.max())
    own = kinds.filter(pl.col("kind") == rule.kind).drop("kind").join(last, on="item", how="left")
    used = entries.filter(pl.col("event") == rule.event)
    if rule.values:
        used = used.filter(pl.any_horizontal(pl.col("in") == value for value in rule.values))
    met = (
        used.select("item", "when", "amount")
        .join(own.select("item", "last_done"), on="item", maintain_order="left")
        .filter(pl.col("last_done").is_null() | (when > pl.col("last_done")))
        .group_by("item")
        .agg(reached=when.filter(pl.col("amount").cum_sum() >= rule.threshold).first())
    )
    rows = own.join(met, on="item", how="left")
    due = pl.col("reached")
    if rule.interval:
        start = pl.coalesce(pl.col("last_done").dt.date(), pl.col("received"))
        date = start.cast(pl.Datetime("us")).dt.offset_by(rule.interval).dt.replace_time_zone("UTC")
        due = pl.min_horizontal(due, date)
    over = due.dt.truncate("1d").dt.offset_by("1d")
    end = pl.lit(END).dt.replace_time_zone("UTC")
    standing = (
        pl.when(over < end).then(pl.lit("overdue")).when(due < end).then(pl.lit("due")).otherwise(pl.lit("clear"))
    )
    return rows.select(
        pl.col("item").cast(pl.String), "last_done", task=pl.lit(rule.task), standing=standing, due_at=due
    )


# DuckDB: every item's rules get numbers, entries are joined to them once, and only counters that reach their
# threshold need a running sum.

PREPARE = """
create temp table counter as
    select (row_number() over ())::integer as number, id as item, received, rule.*
    from {items} join rule using (kind);
create temp table role as
    select item, event, number, false as completes, matching from counter
    union all select item, task, number, true, null from counter;
create temp table entry as
    select "when" as instant, number, completes, amount from {log} log join role using (item, event)
    where matching is null or list_contains(matching, log."in")
"""
ASK = """
with done as materialized (select number, max(instant) as last_done from entry where completes group by number),
used as materialized (
    select number, instant, amount from entry left join done using (number)
    where not completes and (last_done is null or instant > last_done)
),
full_counters as (
    select number from used join counter using (number) group by number, threshold having sum(amount) >= threshold
),
running as (
    select number, instant, sum(amount) over (partition by number order by instant rows unbounded preceding) as total
    from used where number in (from full_counters)
),
met as (
    select number, min(instant) as reached from running join counter using (number)
    where total >= threshold group by number
),
answer as (
    select item, task, last_done,
        least(reached, (coalesce(last_done::date, received) + every)::timestamp at time zone 'UTC') as due_at
    from counter left join done using (number) left join met using (number)
)
select *, case when date_trunc('day', due_at) + interval 1 day < $end then 'overdue'
    when due_at < $end then 'due' else 'clear' end as standing
from answer
"""


def with_duckdb(items: str, log: str, **tables: Any) -> pl.DataFrame:
    """From what SQL can select from: `tables` by their names, or a `read_csv`."""
    import duckdb

    base = duckdb.connect(config={"preserve_insertion_order": False})
    base.execute("set timezone = 'UTC'")
    for name, table in tables.items():
        base.register(name, table)
    base.execute(
        "create temp table rule"
        " (kind varchar, event varchar, task varchar, threshold integer, matching varchar[], every interval)"
    )
    for rule in SIX:
        every = f"{rule.months} months {rule.days} days" if rule.interval else None
        row = [rule.kind, rule.event, rule.task, rule.threshold, list(rule.values) or None, every]
        base.execute("insert into rule values (?, ?, ?, ?, ?, ?::interval)", row)
    for statement in PREPARE.format(items=items, log=log).split(";\n"):
        base.execute(statement)
    return base.sql(ASK, params={"end": END.replace(tzinfo=dt.timezone.utc)}).pl()


# pandas: codes of categories, `groupby` and `cumsum`, no loop over entries.


def with_pandas(items: Any, log: Any) -> Any:
    import numpy as np
    import pandas as pd

    kinds = items.set_index("id")
    codes = log["item"].cat.codes.to_numpy()
    kind_of = kinds["kind"].reindex(log["item"].cat.categories).to_numpy()[codes]
    parts = []
    for rule in SIX:
        own = log[kind_of == rule.kind]
        done = own[own["event"] == rule.task].groupby("item", observed=True)["when"].last()
        used = own[own["event"] == rule.event]
        if rule.values:
            used = used[used["in"].isin(rule.values)]
        # Of what was never done the comparison does not hold.
        used = used[~(used["when"] <= used["item"].map(done).astype(used["when"].dtype))]
        total = used.groupby("item", observed=True)["amount"].cumsum()
        met = used[total >= rule.threshold].groupby("item", observed=True)["when"].first()
        rows = kinds[kinds["kind"] == rule.kind]
        last, due = done.reindex(rows.index), met.reindex(rows.index)
        if rule.interval:
            received = pd.to_datetime(rows["received"]).dt.tz_localize("UTC").astype(last.dtype)
            start = last.dt.normalize().fillna(received)
            date = start + pd.DateOffset(days=rule.days, months=rule.months)
            due = pd.concat([due, date], axis=1).min(axis=1)
        parts.append(
            pd.DataFrame(
                {"item": rows.index, "task": rule.task, "due_at": due.to_numpy(), "last_done": last.to_numpy()}
            )
        )
    found = pd.concat(parts, ignore_index=True)
    for name in ("due_at", "last_done"):
        found[name] = pd.to_datetime(found[name], utc=True)
    end = pd.Timestamp(END, tz="UTC")
    over = found["due_at"].dt.normalize() + pd.Timedelta(days=1)
    found["standing"] = np.where(over < end, "overdue", np.where(found["due_at"] < end, "due", "clear"))
    return found


# Plain Python: one pass over rows of text, times compared as the text they are.


def with_python(items: Path, log: Path) -> pl.DataFrame:
    with open(items, newline="") as file:
        rows = csv.reader(file)
        next(rows)
        kinds = {item: (kind, received) for item, kind, received in rows}
    rules: dict[tuple[str, str], list[Rule]] = {}
    for rule in SIX:
        rules.setdefault((rule.kind, rule.event), []).append(rule)
    tasks = {(rule.kind, rule.task) for rule in SIX}
    totals: dict[tuple[str, str], int] = {}
    reached: dict[tuple[str, str], str] = {}
    done: dict[tuple[str, str], str] = {}
    with open(log, newline="") as file:
        entries = csv.reader(file)
        next(entries)
        for when, item, event, amount, conditions in entries:
            kind = kinds[item][0]
            if (kind, event) in tasks:
                counter = (item, event)
                done[counter] = when
                totals[counter] = 0
                reached.pop(counter, None)
                continue
            for rule in rules.get((kind, event), ()):
                if rule.values and conditions not in rule.values:
                    continue
                counter = (item, rule.task)
                total = totals[counter] = totals.get(counter, 0) + int(amount)
                if total >= rule.threshold and counter not in reached:
                    reached[counter] = when

    def micros(text: str | None) -> int | None:
        return None if text is None else calendar.timegm(dt.datetime.fromisoformat(text).timetuple()) * MICROS

    found = [
        (
            item,
            rule.task,
            dt.date.fromisoformat(received),
            micros(done.get(counter)),
            micros(reached.get(counter)),
            rule.interval,
        )
        for item, (kind, received) in kinds.items()
        for rule in SIX
        if rule.kind == kind and (counter := (item, rule.task))
    ]
    names = {
        "item": pl.String,
        "task": pl.String,
        "received": pl.Date,
        "done": pl.Int64,
        "reached": pl.Int64,
        "every": pl.String,
    }
    return answer(pl.DataFrame(found, schema=names, orient="row"), "UTC")
