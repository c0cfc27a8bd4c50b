"""Small jobs as a whole: the command on the shipped studio and on a hundred items, and `import kitlore`. Medians of 40
runs, the start of the process included; the import is what it takes beyond a Python that imports nothing.

    python command.py KITLORE      the path of the command
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RULES = "for cameras\n  after 20 lens changes in dust or 90 days, inspect sensor\n  after 10 shoots, inspect strap\n"
Times = tuple[float, float]


def median(command: list[str]) -> Times:
    """Wall and processor time, in milliseconds."""
    walls, busy = [], []
    for _ in range(40):
        start, before = time.perf_counter(), of_children()
        subprocess.run(command, check=True, capture_output=True)
        walls.append(time.perf_counter() - start)
        busy.append(of_children() - before)
    return statistics.median(walls) * 1000, statistics.median(busy) * 1000


def of_children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def show(name: str, times: Times) -> None:
    print(f"| {name} | {times[0]:.1f} ms | {times[1]:.1f} ms |")


def main(kitlore: str) -> None:
    print("| small jobs | wall | processor |\n|---|---|---|")
    studio = Path(__file__).resolve().parent.parent.parent / "examples" / "studio"
    data = [
        f"--items={studio}/inventory.xlsx",
        f"--columns={studio}/columns",
        f"--log={studio}/log.csv",
        "--at=2026-11-25",
    ]
    show("`kitlore due` on the shipped studio", median([kitlore, "due", f"{studio}/house.lore", *data]))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "house.lore").write_text(RULES)
        (folder / "items.csv").write_text(
            "id,kind,received\n" + "".join(f"C{n},camera,2025-01-01\n" for n in range(100))
        )
        rows = (
            f"2026-{n % 12 + 1:02}-{n % 28 + 1:02},C{n % 100},{('lens change', 'shoot')[n % 2]},dust\n"
            for n in range(10_000)
        )
        (folder / "log.csv").write_text("when,item,event,in\n" + "".join(rows))
        data = [f"--items={folder}/items.csv", f"--log={folder}/log.csv", "--at=2026-11-25"]
        show("`kitlore due` on 100 items and 10,000 entries", median([kitlore, "due", f"{folder}/house.lore", *data]))
    bare, loaded = (median([sys.executable, "-c", work]) for work in ("pass", "import kitlore"))
    show("`import kitlore`", (loaded[0] - bare[0], loaded[1] - bare[1]))


if __name__ == "__main__":
    main(sys.argv[1])
