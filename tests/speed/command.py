"""The whole command on the shipped studio and on a hundred items: the median of 40 runs, the program's start included."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RULES = "for cameras\n  after 20 lens changes in dust or 90 days, inspect sensor\n  after 10 shoots, inspect strap\n"


def median(command: list[str]) -> float:
    times = []
    for _ in range(40):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1000


def main(kitlore: str) -> None:
    studio = Path(__file__).resolve().parent.parent.parent / "examples" / "studio"
    data = [f"--items={studio}/inventory.xlsx", f"--columns={studio}/columns", f"--log={studio}/log.csv", "--at=2026-11-25"]
    print(f"\n`kitlore due` on the shipped studio: {median([kitlore, 'due', f'{studio}/house.lore', *data]):.1f} ms")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "house.lore").write_text(RULES)
        (folder / "items.csv").write_text("id,kind,received\n" + "".join(f"C{n},camera,2025-01-01\n" for n in range(100)))
        rows = (f"2026-{n % 12 + 1:02}-{n % 28 + 1:02},C{n % 100},{('lens change', 'shoot')[n % 2]},dust\n" for n in range(10_000))
        (folder / "log.csv").write_text("when,item,event,in\n" + "".join(rows))
        data = [f"--items={folder}/items.csv", f"--log={folder}/log.csv", "--at=2026-11-25"]
        print(f"`kitlore due` on 100 items and 10,000 entries: {median([kitlore, 'due', f'{folder}/house.lore', *data]):.1f} ms")


if __name__ == "__main__":
    main(sys.argv[1])
