"""The command that comes with the wheel."""

from __future__ import annotations

import importlib.metadata
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import kitlore
from cases import STUDIO

DUE = ["due", str(STUDIO / "house.lore"), "--items", str(STUDIO / "inventory.xlsx"), "--log", str(STUDIO / "log.csv"),
       "--columns", str(STUDIO / "columns"), "--at", "2026-11-25"]


def kitlore_command() -> str:
    """The script that was installed beside this Python."""
    found = shutil.which("kitlore", path=sysconfig.get_path("scripts"))
    assert found is not None
    return found


def run(*args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([kitlore_command(), *args], capture_output=True, text=True)


def test_due():
    done = run(*DUE)
    assert done.returncode == 0 and "overdue" in done.stdout and "unknown-event" in done.stderr
    assert "\x1b" not in done.stdout + done.stderr
    assert run(*DUE, "--fail-on", "overdue").returncode == 3


def test_wrong_use():
    done = run("due")
    assert done.returncode == 2 and done.stdout == "" and "--items" in done.stderr
    missing = run("due", "missing.lore", "--items", "i.csv", "--log", "l.csv")
    assert missing.returncode == 1 and missing.stderr.startswith("kitlore: cannot read the rules: `missing.lore`")


def test_tidy_and_version(tmp_path: Path):
    file = tmp_path / "house.lore"
    file.write_text("FOR cameras\nAfter  90 days,inspect sensor")
    assert run("tidy", str(file), "--show").stdout == "for cameras\n  after 90 days, inspect sensor\n"
    assert importlib.metadata.version("kitlore") == kitlore.__version__


def test_a_reader_that_stops_early():
    args = [kitlore_command(), *DUE, "--as", "json"]
    with subprocess.Popen(args, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as command:
        assert command.stdout is not None and command.stderr is not None
        command.stdout.read(10)
        command.stdout.close()
        assert command.wait() == 0 and command.stderr.read() == b""


def test_nothing_else_is_imported():
    """Paths and lists need no library of frames."""
    code = (
        "import sys, kitlore; r = kitlore.Rules('for cameras\\n after 5 days, wipe body');"
        "f = r.standings([{'id': 'C1', 'kind': 'camera', 'received': '2026-01-10'}], at='2026-02-08');"
        "print(f.rows[0].standing, f._repr_html_()[:5], [m for m in ('pandas', 'polars', 'pyarrow', 'numpy', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout == "overdue <div> []\n", done.stderr
