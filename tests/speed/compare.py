"""kitlore beside data-frame code for the same six rules: wall and processor time, peak memory, ratios.

    python compare.py FOLDER FOLD_JSON [--skip NAME]...     every contender in a process of its own, then the table
    python compare.py FOLDER --formats                      log.arrow and log.parquet from log.csv
    python compare.py FOLDER --one NAME OUT                 one contender: its answer as parquet, its figures as json

FOLDER holds the workload as `workload write` left it. Equal answers are asserted before anything is printed.
What is timed begins with the file where the source is a file, with columns in memory where it is Arrow; imports
and the loading of those columns are not timed. The peak is that of the whole process, columns included.
"""

from __future__ import annotations

import csv
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent / "bindings" / "python" / "benches"))

Work = Callable[[], Any]


def arrow(folder: Path) -> Any:
    import pyarrow as pa

    with pa.memory_map(str(folder / "log.arrow")) as file:
        return pa.ipc.open_file(file).read_all()


def kitlore_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import kitlore
        from six_rules import AT, RULES

        rules, items = kitlore.Rules(RULES), str(folder / "items.csv")
        if name == "arrow":
            table = arrow(folder)
            return lambda: rules.standings(items, table, AT).to_polars()
        if name == "parquet":
            import pyarrow as pa
            import pyarrow.parquet as pq

            def read() -> Any:
                file = pq.ParquetFile(folder / "log.parquet", read_dictionary=["item", "event", "in"])
                reader = pa.RecordBatchReader.from_batches(file.schema_arrow, file.iter_batches(1 << 20))
                return rules.standings(items, reader, AT).to_polars()

            return read
        return lambda: rules.standings(items, str(folder / f"log.{name}"), AT).to_polars()

    return prepare


def polars_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import polars as pl
        from six_rules import with_polars

        def items() -> pl.DataFrame:
            return pl.read_csv(folder / "items.csv", try_parse_dates=True)

        when = pl.col("when").str.to_datetime("%Y-%m-%dT%H:%M:%SZ", time_unit="us", time_zone="UTC")
        if name == "csv":
            return lambda: with_polars(items(), pl.read_csv(folder / "log.csv").with_columns(when, pl.col("in").fill_null("")))
        if name == "parquet":
            return lambda: with_polars(items(), pl.read_parquet(folder / "log.parquet"))
        log = pl.from_arrow(arrow(folder))
        assert isinstance(log, pl.DataFrame)
        names = {name: pl.Enum(log[name].cast(pl.String).unique(maintain_order=True)) for name in ("item", "event", "in")}
        log = log.with_columns(pl.col(name).cast(pl.String).cast(kind) for name, kind in names.items()).rechunk()
        return lambda: with_polars(items(), log)

    return prepare


def duckdb_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        from six_rules import with_duckdb

        items = f"read_csv('{folder}/items.csv')"
        if name == "arrow":
            table = arrow(folder)
            return lambda: with_duckdb(items, "entries", entries=table)
        columns = "{'when': 'TIMESTAMPTZ', 'item': 'VARCHAR', 'event': 'VARCHAR', 'amount': 'BIGINT', 'in': 'VARCHAR'}"
        log = {
            "csv": f"read_csv('{folder}/log.csv', header = true, columns = {columns})",
            "parquet": f"read_parquet('{folder}/log.parquet')",
        }
        return lambda: with_duckdb(items, log[name])

    return prepare


def pandas_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import pandas as pd
        from six_rules import with_pandas

        names = dict.fromkeys(("item", "event", "in"), "category")

        def items() -> pd.DataFrame:
            return pd.read_csv(folder / "items.csv", parse_dates=["received"])

        if name == "csv":
            def read() -> pd.DataFrame:
                log = pd.read_csv(folder / "log.csv", dtype=names, keep_default_na=False)
                log["when"] = pd.to_datetime(log["when"], format="%Y-%m-%dT%H:%M:%SZ", utc=True)
                return log

            return lambda: with_pandas(items(), read())
        log = arrow(folder).to_pandas().astype(names)
        return lambda: with_pandas(items(), log)

    return prepare


def python_from_csv(folder: Path) -> Work:
    from six_rules import with_python

    def work() -> Any:
        with open(folder / "items.csv", newline="") as items, open(folder / "log.csv", newline="") as log:
            rows, entries = csv.reader(items), csv.reader(log)
            next(rows), next(entries)
            return with_python(rows, entries)

    return work


# Name: how it is prepared, on how many cores.
CONTENDERS: dict[str, tuple[Callable[[Path], Work], int]] = {
    "kitlore, csv, 1 core": (kitlore_from("csv"), 1),
    "kitlore, csv, 2 cores": (kitlore_from("csv"), 2),
    "polars, csv, 2 cores": (polars_from("csv"), 2),
    "DuckDB, csv, 2 cores": (duckdb_from("csv"), 2),
    "pandas, csv": (pandas_from("csv"), 2),
    "Python, csv": (python_from_csv, 1),
    "kitlore, jsonl, 2 cores": (kitlore_from("jsonl"), 2),
    "kitlore, Parquet, 2 cores": (kitlore_from("parquet"), 2),
    "polars, Parquet, 2 cores": (polars_from("parquet"), 2),
    "DuckDB, Parquet, 2 cores": (duckdb_from("parquet"), 2),
    "kitlore, Arrow, 1 core": (kitlore_from("arrow"), 1),
    "kitlore, Arrow, 2 cores": (kitlore_from("arrow"), 2),
    "polars, Arrow, 2 cores": (polars_from("arrow"), 2),
    "DuckDB, Arrow, 2 cores": (duckdb_from("arrow"), 2),
    "pandas, Arrow": (pandas_from("arrow"), 2),
}
REPEATS = 3
# What one contender may take, so that the machine stays itself.
MEMORY = 20 << 30


def bounded() -> None:
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))


def one(folder: Path, name: str, out: Path) -> None:
    prepare, cores = CONTENDERS[name]
    # Before the libraries are loaded: they count the cores then.
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])
    from six_rules import table

    work = prepare(folder)
    start, busy = time.perf_counter(), time.process_time()
    found = work()
    best = (time.perf_counter() - start, time.process_time() - busy)
    table(found).write_parquet(out)
    for _ in range(REPEATS if best[0] < 60 else 0):
        del found
        start, busy = time.perf_counter(), time.process_time()
        found = work()
        best = min(best, (time.perf_counter() - start, time.process_time() - busy))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(json.dumps({"name": name, "wall": best[0], "processor": best[1], "peak": peak}))


def formats(folder: Path) -> None:
    """The log as Arrow and Parquet, from the csv."""
    import pyarrow as pa
    import pyarrow.csv
    import pyarrow.parquet as pq

    names = dict.fromkeys(("item", "event", "in"), pa.dictionary(pa.int32(), pa.string()))
    kinds = {"when": pa.timestamp("us", "UTC"), "amount": pa.int64(), **names}
    options = pa.csv.ConvertOptions(column_types=kinds, strings_can_be_null=False)
    log = pa.csv.read_csv(folder / "log.csv", convert_options=options).unify_dictionaries()
    with pa.ipc.new_file(folder / "log.arrow", log.schema) as file:
        file.write_table(log)
    pq.write_table(log, folder / "log.parquet", store_schema=False)


def answers_by_hand(path: Path) -> Any:
    import polars as pl

    second = pl.col("due_at", "last_done").cast(pl.Int64) * 1_000_000
    return pl.read_csv(path, infer_schema=False).with_columns(second.cast(pl.Datetime("us", "UTC"))).sort("item", "task")


def compare(folder: Path, fold: Path, skipped: list[str]) -> None:
    import polars as pl

    if not (folder / "log.parquet").exists():
        # In a process of its own: its memory is gone when the contenders run.
        subprocess.run([sys.executable, __file__, str(folder), "--formats"], check=True)
    expected = answers_by_hand(folder / "by-hand.csv")
    figures, failed = [], []
    for name in CONTENDERS:
        if any(word in name for word in skipped):
            continue
        out = folder / "found.parquet"
        run = subprocess.run(
            [sys.executable, __file__, str(folder), "--one", name, str(out)],
            capture_output=True,
            text=True,
            preexec_fn=bounded,
        )
        if run.returncode != 0:
            if name.startswith("kitlore"):
                sys.exit(f"{name} failed:\n{run.stderr}")
            failed.append(name)
            print(run.stderr[-400:], file=sys.stderr)
            continue
        found = pl.read_parquet(out)
        assert found.equals(expected), f"{name} differs from the loop by hand"
        figures.append(json.loads(run.stdout))
    print(f"{expected.height:,} rows, equal by every contender and by the loop by hand\n")
    print("| in memory, the book filed | wall | to the loop by hand |\n|---|---|---|")
    folds = [json.loads(line) for line in fold.read_text().splitlines()]
    for figure in folds:
        print(f"| {figure['name']} | {seconds(figure['wall'])} | {figure['wall'] / folds[0]['wall']:.2f} |")
    print("\n| from data to standings | wall | processor | peak memory | to kitlore of that source |\n|---|---|---|---|---|")
    for figure in figures:
        source = figure["name"].split(", ")[1]
        base = next(f for f in reversed(figures) if f["name"].startswith(f"kitlore, {source}"))
        print(
            f"| {figure['name']} | {seconds(figure['wall'])} | {seconds(figure['processor'])} |"
            f" {figure['peak']:.2f} GiB | {figure['wall'] / base['wall']:.2f} |"
        )
    for what, names in (("not run", skipped), (f"did not end within {MEMORY >> 30} GiB", failed)):
        if names:
            print(f"\n{what}: {', '.join(names)}")


def seconds(time: float) -> str:
    return f"{time:.2f} s" if time >= 1 else f"{time * 1000:.0f} ms"


if __name__ == "__main__":
    if "--formats" in sys.argv:
        formats(Path(sys.argv[1]))
    elif "--one" in sys.argv:
        one(Path(sys.argv[1]), sys.argv[3], Path(sys.argv[4]))
    else:
        skip = [sys.argv[at + 1] for at, word in enumerate(sys.argv) if word == "--skip"]
        compare(Path(sys.argv[1]), Path(sys.argv[2]), skip)
