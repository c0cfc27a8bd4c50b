"""The same rules over a Spark frame, in local mode with two workers, give the answer of one process.

    bindings/python/spark/check

Not part of the default run: it needs pyspark and Java 17 or later.
"""

from __future__ import annotations

import datetime as dt
import os
import random
import sys
from collections.abc import Iterator

import kitlore
import pyarrow as pa
import pytest
from pyspark.sql import SparkSession

RULES = kitlore.Rules(
    "time zone Europe/Lisbon\nfor cameras\n  after 20 lens changes in dust or 90 days, inspect sensor\n"
    "  after 10 shoots, inspect strap\nfor lenses\n  after 40 shoots or 60 days, inspect glass\n"
)
AT = "2026-07-01"
SHAPE = "item string, task string, standing string, due_at timestamp, last_done timestamp"
KINDS = {"camera": ["lens change", "shoot", "inspect sensor", "inspect strap"], "lens": ["shoot", "inspect glass"]}


def tables() -> tuple[list[dict], pa.Table]:
    """An inventory of 300 items, and a log of 30,000 entries that each name an item's id."""
    dice = random.Random(1)
    items = [
        {"id": f"K{n:03}", "kind": dice.choice(list(KINDS)), "received": dt.date(2025, 1, 1) + dt.timedelta(n)}
        for n in range(300)
    ]
    first = dt.datetime(2025, 6, 1, tzinfo=dt.timezone.utc)
    log = []
    for _ in range(30_000):
        item = dice.choice(items)
        when = first + dt.timedelta(seconds=dice.randrange(395 * 86_400))
        event = dice.choices(KINDS[item["kind"]], [9, 9, 1, 1][: len(KINDS[item["kind"]])])[0]
        log.append({"when": when, "item": item["id"], "event": event, "amount": dice.randint(1, 3), "in": dice.choice([None, "dust"])})
    return items, pa.Table.from_pylist(log)


@pytest.fixture(scope="module")
def spark() -> Iterator[SparkSession]:
    # Workers are this Python, and the network is left alone.
    os.environ.update(PYSPARK_PYTHON=sys.executable, SPARK_LOCAL_IP="127.0.0.1")
    session = (
        SparkSession.builder.master("local[2]")
        .config("spark.ui.enabled", "false")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.shuffle.partitions", "4")
        .getOrCreate()
    )
    yield session
    session.stop()


def test_two_workers_give_the_answer_of_one_process(spark):
    inventory, log = tables()
    by_id = {item["id"]: item for item in inventory}
    rules, at = RULES, AT

    def standings(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        """One partition: it holds every entry of its items, and goes into a book batch by batch."""
        book = kitlore.Book(rules)
        seen = set()
        for batch in batches:
            seen.update(batch.column("item").unique().to_pylist())
            book.add_log(batch)
        book.add_items([by_id[item] for item in sorted(seen)])
        found = book.standings(at).to_arrow().select(["item", "task", "standing", "due_at", "last_done"])
        times = [pa.field(name, pa.timestamp("us", "UTC")) for name in ("due_at", "last_done")]
        yield from found.cast(pa.schema([*list(found.schema)[:3], *times])).to_batches()

    frame = spark.createDataFrame(log).repartition(4, "item")
    assert frame.rdd.getNumPartitions() == 4
    found = frame.mapInArrow(standings, SHAPE).toArrow()

    named = set(log["item"].to_pylist())
    whole = rules.standings([item for item in inventory if item["id"] in named], log, at)
    expected = sorted((row.item, row.task, row.standing, row.due_at, row.last_done) for row in whole)
    rows = sorted((row["item"], row["task"], row["standing"], row["due_at"], row["last_done"]) for row in found.to_pylist())
    assert len(expected) > 400 and {row[2] for row in expected} >= {"overdue", "clear"}
    assert rows == expected


def test_a_spark_frame_is_not_pulled_to_the_driver(spark):
    frame = spark.createDataFrame([("C1", "camera")], "id string, kind string")
    with pytest.raises(kitlore.InputTypeError, match="partitions"):
        RULES.standings(frame)
