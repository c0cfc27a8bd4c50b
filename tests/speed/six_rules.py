"""The six rules of the workload, and an evaluation of them in numpy that every measured answer is held against.

It shares no code with kitlore and takes the entries in the order of (time, order of record), as the language says.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
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
# The end of a day, so that the answer is the same by the clocks of Lisbon but for the hour that `at` names.
AT_DATE = dt.date(2026, 7, 1)

EVENTS = (
    "lens change",
    "frames",
    "shoot",
    "charge",
    "inspect sensor",
    "clean sensor",
    "inspect glass",
    "replace battery",
    "inspect strap",
)
CONDITIONS = ("", "dust", "salt air", "dust;cold")
DUST, SALT, COLD = 1, 2, 4
# The conditions of each of CONDITIONS, as bits.
BITS = np.array([0, DUST, SALT, DUST | COLD], np.uint8)
MICROS = 1_000_000


@dataclass(frozen=True)
class Rule:
    """One rule: `values` are those of the column `in` that its condition holds for, `bit` is the condition's."""

    kind: str
    event: str
    task: str
    threshold: int
    values: tuple[str, ...] = ()
    bit: int = 0
    days: int = 0
    months: int = 0

    @property
    def interval(self) -> str | None:
        return f"{self.months}mo{self.days}d" if self.days or self.months else None


SIX = (
    Rule("camera", "lens change", "inspect sensor", 20, ("dust", "dust;cold"), DUST, days=90),
    Rule("camera", "frames", "clean sensor", 50_000, months=24),
    Rule("camera", "shoot", "inspect strap", 10),
    Rule("lens", "shoot", "inspect glass", 40, days=60),
    Rule("battery", "charge", "replace battery", 300, months=12),
    Rule("tripod", "shoot", "inspect glass", 5, ("salt air",), SALT),
)


@dataclass
class Entries:
    """A log as plain arrays: microseconds, numbers of items, events and conditions (as bits), millionths."""

    when: np.ndarray
    item: np.ndarray
    event: np.ndarray
    amount: np.ndarray
    conditions: np.ndarray


def expected(items: pl.DataFrame, log: Entries, zone: str = "UTC") -> pl.DataFrame:
    """The answer of a house in `zone`, at the end of AT_DATE."""
    order = slice(None)
    if np.any(np.diff(log.when) < 0):
        order = np.argsort(log.when, kind="stable")
    when, item, event, amount, conditions = (
        column[order] for column in (log.when, log.item, log.event, log.amount, log.conditions)
    )
    parts = []
    for rule in SIX:
        rows = np.flatnonzero(items["kind"].to_numpy() == rule.kind)
        is_own = np.zeros(len(items), bool)
        is_own[rows] = True
        last = np.full(len(items), -1)
        done = np.flatnonzero((event == EVENTS.index(rule.task)) & is_own[item])
        last[item[done]] = done
        used = (event == EVENTS.index(rule.event)) & is_own[item]
        if rule.bit:
            used &= conditions & rule.bit != 0
        at = np.flatnonzero(used)
        at = at[at > last[item[at]]]
        at = at[np.argsort(item[at], kind="stable")]
        sums = np.cumsum(amount[at])
        first = np.flatnonzero(np.diff(item[at], prepend=-1))
        before = np.repeat(sums[first] - amount[at][first], np.diff(first, append=len(at)))
        reached = at[sums - before >= rule.threshold * MICROS]
        met = np.full(len(items), -1)
        # The first of each item is written last.
        met[item[reached][::-1]] = reached[::-1]

        def time(place: np.ndarray) -> pl.Series:
            return pl.Series(np.where(place >= 0, when[place], 0)).set(pl.Series(place < 0), None)

        parts.append(
            items[rows].select(
                item="id",
                task=pl.lit(rule.task),
                received="received",
                done=time(last[rows]),
                reached=time(met[rows]),
                every=pl.lit(rule.interval),
            )
        )
    return answer(pl.concat(parts), zone)


def answer(found: pl.DataFrame, zone: str) -> pl.DataFrame:
    """Due and standing from when each rule was last done and reached, as microseconds."""

    def instant(name: str) -> pl.Expr:
        return pl.col(name).cast(pl.Datetime("us", "UTC")).dt.convert_time_zone(zone)

    def midnight(date: pl.Expr) -> pl.Expr:
        return date.cast(pl.Datetime("us")).dt.replace_time_zone(zone)

    date = pl.coalesce(instant("done").dt.date(), pl.col("received")).dt.offset_by(pl.col("every"))
    found = found.with_columns(due_at=pl.min_horizontal(instant("reached"), midnight(date)), last_done=instant("done"))
    over = midnight(pl.col("due_at").dt.date().dt.offset_by("1d"))
    asked = pl.lit(AT_DATE + dt.timedelta(days=1)).cast(pl.Datetime("us")).dt.replace_time_zone(zone)
    # `at` is the last instant before `asked`.
    standing = (
        pl.when(over < asked)
        .then(pl.lit("overdue"))
        .when(pl.col("due_at") < asked)
        .then(pl.lit("due"))
        .otherwise(pl.lit("clear"))
    )
    return table(found.with_columns(standing=standing))


def table(found: Any) -> pl.DataFrame:
    """Any answer in the one form in which they are compared."""
    frame = found if isinstance(found, pl.DataFrame) else pl.from_pandas(found)
    times = pl.col("due_at", "last_done").cast(pl.Datetime("us", "UTC"))
    return frame.select(pl.col("item").cast(pl.String), "task", "standing", times).sort("item", "task")
