"""kitlore on data of many shapes, and beside hand-written DuckDB, polars, pandas and Python for the same six rules.

    python compare.py FOLDER [--shapes WORDS] [--rounds N] [--json FILE]    every measurement, then the tables

FOLDER holds `items.csv`, `log.csv` and `log.jsonl` as `workload write` left them; the other formats are written
beside them. `--shapes` keeps what has one of the words (separated by commas) in its name.

Each measurement is a process of its own. Its first answer must be that of the reference evaluation, and its peak of
memory is that of this first run, what it starts from included. Then shape and best form are run in turn, so that
both meet the same machine; a time is the best of its rounds, a ratio that of the best times.
What is timed begins with the file where the source is a file, with columns in memory where it is Arrow, and ends
with the rows in a polars frame.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

Work = Callable[[], Any]
AT = "2026-07-01"
# What one measurement may take, so that the machine stays itself.
MEMORY = 20 << 30
TYPES = "{'when': 'TIMESTAMPTZ', 'item': 'VARCHAR', 'event': 'VARCHAR', 'amount': 'BIGINT', 'in': 'VARCHAR'}"


# What is prepared is not timed; each gives what is.


def kitlore_on(folder: Path, table: Any, zone: str = "UTC", items: str = "items.csv") -> Work:
    import kitlore
    from six_rules import RULES

    rules, inventory = kitlore.Rules(f"time zone {zone}\n{RULES}"), str(folder / items)
    return lambda: rules.standings(inventory, table, AT).to_polars()


def kitlore_from(name: str, zone: str = "UTC") -> Callable[[Path], Work]:
    return lambda folder: kitlore_on(folder, str(folder / name), zone)


def kitlore_from_parquet(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import pyarrow as pa
        import pyarrow.parquet as pq

        def read() -> Any:
            file = pq.ParquetFile(folder / name, read_dictionary=["item", "event", "in"])
            reader = pa.RecordBatchReader.from_batches(file.schema_arrow, file.iter_batches(1 << 20))
            return kitlore_on(folder, reader)()

        return read

    return prepare


def kitlore_from_arrow(halves: bool = False) -> Callable[[Path], Work]:
    return lambda folder: kitlore_on(folder, arrow(folder, halves))


def arrow(folder: Path, halves: bool) -> Any:
    from forms import best, replaced, with_halves

    table = best(folder)
    return replaced("amount", with_halves)(table) if halves else table


def polars_from(name: str, zone: str | None = None) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import polars as pl
        from peers import with_polars

        categories = ("item", "event", "in")
        types = {"when": pl.String, "item": pl.String, "event": pl.String, "amount": pl.Int64, "in": pl.String}

        def items() -> pl.DataFrame:
            frame = pl.read_csv(folder / "items.csv", try_parse_dates=True)
            return frame.with_columns(pl.col("id").cast(pl.Categorical))

        def instants(format: str) -> pl.Expr:
            return pl.col("when").str.to_datetime(format, time_unit="us", time_zone="UTC")

        def read() -> pl.DataFrame:
            if name.endswith(".csv"):
                of_csv = {key: pl.Categorical if key in categories else kind for key, kind in types.items()}
                log = pl.read_csv(folder / name, schema=of_csv, quote_char=None)
                return log.with_columns(instants("%Y-%m-%dT%H:%M:%SZ"))
            if name.endswith(".jsonl"):
                log = pl.read_ndjson(folder / name, schema=types)
                return log.with_columns(instants("%Y-%m-%dT%H:%M:%SZ"), pl.col(categories).cast(pl.Categorical))
            return pl.read_parquet(folder / name).with_columns(pl.col(categories).cast(pl.Categorical))

        if name.startswith("arrow"):
            frame = pl.from_arrow(arrow(folder, name.endswith("halves")))
            assert isinstance(frame, pl.DataFrame)
            frame = frame.with_columns(pl.col(categories).cast(pl.Categorical)).rechunk()
            return lambda: with_polars(items(), frame)
        return lambda: with_polars(items(), read())

    return prepare


def duckdb_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        from peers import with_duckdb

        items = f"read_csv('{folder}/items.csv')"
        if name.startswith("arrow"):
            table = arrow(folder, name.endswith("halves"))
            return lambda: with_duckdb(items, "entries", entries=table)
        log = {
            "csv": f"read_csv('{folder}/{name}', header = true, delim = ',', quote = '', columns = {TYPES})",
            "jsonl": f"read_json('{folder}/{name}', format = 'newline_delimited', columns = {TYPES})",
            "parquet": f"read_parquet('{folder}/{name}')",
        }
        return lambda: with_duckdb(items, log[name.rsplit(".")[-1]])

    return prepare


def pandas_from(name: str) -> Callable[[Path], Work]:
    def prepare(folder: Path) -> Work:
        import pandas as pd
        import pyarrow as pa
        import pyarrow.csv
        from forms import NAMES
        from peers import with_pandas

        def items() -> pd.DataFrame:
            return pd.read_csv(folder / "items.csv", parse_dates=["received"])

        if name == "arrow":
            log = arrow(folder, False).to_pandas()
            return lambda: with_pandas(items(), log)
        kinds = {
            "when": pa.timestamp("us", "UTC"),
            "amount": pa.int64(),
            **dict.fromkeys(("item", "event", "in"), NAMES),
        }
        options = pa.csv.ConvertOptions(column_types=kinds, strings_can_be_null=False)
        return lambda: with_pandas(items(), pa.csv.read_csv(folder / name, convert_options=options).to_pandas())

    return prepare


def python_from_csv(folder: Path) -> Work:
    from peers import with_python

    return lambda: with_python(folder / "items.csv", folder / "log.csv")


# Source, then who: how it is prepared, and on how many cores.
CONTENDERS: dict[tuple[str, str], tuple[Callable[[Path], Work], int]] = {
    ("csv", "kitlore, 1 core"): (kitlore_from("log.csv"), 1),
    ("csv", "kitlore"): (kitlore_from("log.csv"), 2),
    ("csv", "polars"): (polars_from("log.csv"), 2),
    ("csv", "DuckDB"): (duckdb_from("log.csv"), 2),
    ("csv", "pandas"): (pandas_from("log.csv"), 2),
    ("csv", "Python"): (python_from_csv, 1),
    ("csv, local, Lisbon", "kitlore"): (kitlore_from("log-local.csv", "Europe/Lisbon"), 2),
    ("jsonl", "kitlore"): (kitlore_from("log.jsonl"), 2),
    ("jsonl", "polars"): (polars_from("log.jsonl"), 2),
    ("jsonl", "DuckDB"): (duckdb_from("log.jsonl"), 2),
    ("Parquet", "kitlore"): (kitlore_from_parquet("log.parquet"), 2),
    ("Parquet", "polars"): (polars_from("log.parquet"), 2),
    ("Parquet", "DuckDB"): (duckdb_from("log.parquet"), 2),
    ("Parquet, halves", "kitlore"): (kitlore_from_parquet("log-halves.parquet"), 2),
    ("Parquet, halves", "polars"): (polars_from("log-halves.parquet"), 2),
    ("Parquet, halves", "DuckDB"): (duckdb_from("log-halves.parquet"), 2),
    ("Arrow", "kitlore, 1 core"): (kitlore_from_arrow(), 1),
    ("Arrow", "kitlore"): (kitlore_from_arrow(), 2),
    ("Arrow", "polars"): (polars_from("arrow"), 2),
    ("Arrow", "DuckDB"): (duckdb_from("arrow"), 2),
    ("Arrow", "pandas"): (pandas_from("arrow"), 2),
    ("Arrow, halves", "kitlore"): (kitlore_from_arrow(True), 2),
    ("Arrow, halves", "polars"): (polars_from("arrow halves"), 2),
    ("Arrow, halves", "DuckDB"): (duckdb_from("arrow halves"), 2),
}


# One measurement, in a process of its own.


def timed(work: Work) -> tuple[float, float]:
    start, busy = time.perf_counter(), time.process_time()
    found = work()
    times = time.perf_counter() - start, time.process_time() - busy
    del found
    return times


def peak() -> float:
    """The most memory since the last call of `forget_peak`, in GiB."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024**2


def forget_peak() -> None:
    gc.collect()
    Path("/proc/self/clear_refs").write_text("5")


def bests(rounds: list[tuple[float, float]]) -> dict[str, float]:
    return {"wall": min(wall for wall, _ in rounds), "processor": min(busy for _, busy in rounds)}


def inventory(path: Path) -> Any:
    import polars as pl

    return pl.read_csv(path, try_parse_dates=True)


def assert_equal(found: Any, expected: Any) -> None:
    from six_rules import table

    found = table(found)
    if not found.equals(expected):
        differing = found.join(expected, on=found.columns, how="anti", nulls_equal=True)
        sys.exit(f"{len(found)} rows for {len(expected)}, of which these are not among the expected ones:\n{differing}")


def contender(folder: Path, source: str, who: str, rounds: int) -> dict[str, Any]:
    prepare, cores = CONTENDERS[source, who]
    # Before the libraries are loaded: they count the cores then.
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])
    import polars as pl

    work = prepare(folder)
    forget_peak()
    start = time.perf_counter()
    found = work()
    is_slow = time.perf_counter() - start > 20
    highest = peak()
    means = "lisbon" if "Lisbon" in source else "halves" if "halves" in source else "plain"
    assert_equal(found, pl.read_parquet(folder / f"expected-{means}.parquet"))
    del found
    times = [timed(work) for _ in range(1 if is_slow else rounds)]
    return {"group": "sources", "source": source, "name": who, **bests(times), "peak": highest}


def shape(folder: Path, name: str, rounds: int) -> dict[str, Any]:
    from forms import SHAPES, as_handed, best, best_of_spans, entries
    from six_rules import expected

    one = next(shape for shape in SHAPES if shape.label == name)
    read, items = (best_of_spans, "items-spans.csv") if one.group == "spans" else (best, "items.csv")
    work = kitlore_on(folder, as_handed(one, one.make(read(folder))), one.zone, items)
    forget_peak()
    found = work()
    highest = peak()
    # Only now, so that it is not counted.
    plain = read(folder)
    base = kitlore_on(folder, one.beside(plain), items=items)
    assert_equal(found, expected(inventory(folder / items), one.means(entries(plain)), one.zone))
    del found
    gc.collect()
    times, base_times = [], []
    for _ in range(rounds):
        base_times.append(timed(base))
        times.append(timed(work))
    figures = bests(times)
    ratios = {name: figures[name] / least for name, least in bests(base_times).items()}
    return {"group": one.group, "name": one.name, **figures, "peak": highest, "ratios": ratios}


# All of them, and the tables.


def own_process(arguments: list[str]) -> dict[str, Any] | str:
    """The figures of a measurement, or why there are none."""

    def bounded() -> None:
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))

    run = subprocess.run([sys.executable, __file__, *arguments], capture_output=True, text=True, preexec_fn=bounded)
    if run.returncode == 0:
        figures: dict[str, Any] = json.loads(run.stdout)
        return figures
    return run.stderr[-1500:]


def prepare_files(folder: Path) -> None:
    import polars as pl
    from forms import LISBON, best, entries, means_halves, means_lisbon, write_formats
    from six_rules import expected

    write_formats(folder)
    items, log = inventory(folder / "items.csv"), entries(best(folder))
    expected(items, log).write_parquet(folder / "expected-plain.parquet")
    expected(items, means_halves(log)).write_parquet(folder / "expected-halves.parquet")
    expected(items, means_lisbon(log), LISBON).write_parquet(folder / "expected-lisbon.parquet")
    items.head(1_000).write_csv(folder / "items-spans.csv")


def compare(folder: Path, words: list[str], rounds: int, out: Path | None) -> None:
    from forms import SHAPES

    if not (folder / "items-spans.csv").exists():
        # In a process of its own: its memory is gone when the contenders run.
        subprocess.run([sys.executable, __file__, str(folder), "--prepare"], check=True)

    def is_wanted(label: str) -> bool:
        return not words or any(word.lower() in label.lower() for word in words)

    asked = [["--shape", shape.label] for shape in SHAPES if is_wanted(shape.label)]
    asked += [["--source", *key] for key in CONTENDERS if is_wanted(f"sources, {key[0]}: {key[1]}")]
    figures, failed = [], []
    for arguments in asked:
        found = own_process([str(folder), "--rounds", str(rounds), *arguments])
        if isinstance(found, str):
            failed.append(f"{' '.join(arguments[1:])}:\n{found}")
            print(failed[-1], file=sys.stderr, flush=True)
        else:
            figures.append(found)
            print(json.dumps(found), file=sys.stderr, flush=True)
    if out is not None:
        out.write_text(json.dumps(figures, indent=1))
    print_tables(figures)
    if failed:
        sys.exit(f"{len(failed)} of {len(asked)} measurements failed")


def print_tables(figures: list[dict[str, Any]]) -> None:
    shapes = [figure for figure in figures if figure["group"] != "sources"]
    if shapes:
        print(
            "| shape | wall | processor | peak memory | to the best form: wall | processor |\n|---|---|---|---|---|---|"
        )
    for figure in shapes:
        name, ratios = f"{figure['group']}: {figure['name']}", figure["ratios"]
        print(f"| {name} | {measured(figure)} | {ratios['wall']:.2f} | {ratios['processor']:.2f} |")
    sources = [figure for figure in figures if figure["group"] == "sources"]
    if sources:
        print(
            "\n| source | by | wall | processor | peak memory | to kitlore: wall | processor |\n|---|---|---|---|---|---|---|"
        )
    for figure in sources:
        base = next((one for one in sources if one["source"] == figure["source"] and one["name"] == "kitlore"), None)
        ratios = ("", "") if base is None else (f"{figure[time] / base[time]:.2f}" for time in ("wall", "processor"))
        print(f"| {figure['source']} | {figure['name']} | {measured(figure)} | {' | '.join(ratios)} |")


def measured(figure: dict[str, Any]) -> str:
    return f"{seconds(figure['wall'])} | {seconds(figure['processor'])} | {figure['peak']:.2f} GiB"


def seconds(time: float) -> str:
    return f"{time:.2f} s" if time >= 1 else f"{time * 1000:.0f} ms"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument(
        "--shapes", default="", help="only what has one of these words (separated by commas) in its name"
    )
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--json", type=Path, help="a file for the figures")
    # What the processes of single measurements are started with.
    parser.add_argument("--prepare", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--shape", help=argparse.SUPPRESS)
    parser.add_argument("--source", nargs=2, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.prepare:
        prepare_files(asked.folder)
    elif asked.shape:
        print(json.dumps(shape(asked.folder, asked.shape, asked.rounds)))
    elif asked.source:
        print(json.dumps(contender(asked.folder, *asked.source, asked.rounds)))
    else:
        compare(asked.folder, [word for word in asked.shapes.split(",") if word], asked.rounds, asked.json)


if __name__ == "__main__":
    main()
