"""The conformance data of the repository (tests/cases, see its README), read anew for Python."""

from __future__ import annotations

import csv
import io
import os
import re
from dataclasses import dataclass, field
from datetime import datetime, timezone
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[3]
CASES = REPOSITORY / "tests" / "cases"
STUDIO = REPOSITORY / "examples" / "studio"

Row = dict[str, str | None]


@dataclass
class Case:
    """One case."""

    place: str
    title: str
    rules: str
    items: list[Row]
    log: list[Row]
    asks: list[tuple[str, set[tuple[str | None, ...]] | None]] = field(default_factory=list)
    """Each instant with its rows; None where the rules are refused."""
    problems: set[tuple[str, str]] | None = None
    is_now: bool = False
    """The asker says that the instant is now, which Python says by leaving it out."""


def read_cases() -> list[Case]:
    cases: list[Case] = []
    for file in sorted(CASES.glob("*.txt")):
        blocks = ("\n" + file.read_text(encoding="utf-8")).split("\n=== ")[1:]
        for number, block in enumerate(blocks, 1):
            cases.append(_case(f"{file.name} case {number}", block))
    return cases


def _case(place: str, block: str) -> Case:
    title, _, rest = block.partition("\n")
    rules, *sections = ("\n" + rest).split("\n--- ")
    case = Case(place, title, rules.strip("\n") + "\n", _table("id,kind,received\nC1,camera,2026-01-01"), [])
    for section in sections:
        heading, _, body = section.partition("\n")
        lines = [line.strip() for line in body.splitlines()]
        lines = [line for line in lines if line and not line.startswith("#")]
        word, _, when = heading.strip().partition(" ")
        if word == "items":
            case.items = _table("\n".join(lines))
        elif word == "log":
            case.log = _table("\n".join(lines))
        elif word in ("at", "now"):
            case.asks.append((when.strip(), _expected(lines)))
            case.is_now |= word == "now"
        elif word == "problems":
            case.problems = {tuple(map(str.strip, line.split("|"))) for line in lines if line != "none"}
        else:
            raise ValueError(f"{place}: `--- {heading}` is no section")
    return case


def _table(text: str) -> list[Row]:
    rows = list(csv.DictReader(io.StringIO(text)))
    return [{name: value or None for name, value in row.items() if name is not None} for row in rows]


def _expected(lines: list[str]) -> set[tuple[str | None, ...]] | None:
    if lines == ["error"]:
        return None
    rows = set()
    for line in lines:
        if line != "none":
            item, task, standing, *times = map(str.strip, line.split("|"))
            rows.add((item, task, standing, *map(_time, times)))
    return rows


def _time(text: str) -> str | None:
    return None if text == "-" else in_utc(text)


def in_utc(text: str) -> str:
    """An instant in UTC; a bare date is its 00:00. Fractions of a second stay as they are written."""
    if len(text) == 10:
        return f"{text}T00:00:00"
    # What is finer than a microsecond is kept apart: datetime cannot hold it.
    found = re.fullmatch(r"([^.]*)(\.\d+)?(.*)", text)
    assert found is not None
    head, fraction, offset = found.groups()
    at = datetime.fromisoformat(head + offset.replace("Z", "+00:00"))
    if at.tzinfo is not None:
        at = at.astimezone(timezone.utc).replace(tzinfo=None)
    return at.isoformat(timespec="seconds") + (fraction or "").rstrip("0")


def answer(found) -> set[tuple[str | None, ...]]:
    """The rows of an answer as cases state them."""
    rows = set()
    for row in found.to_dicts()["rows"]:
        times = [row["due_at"], row["limit_at"], row["last_done"]]
        shown = [None if time is None else in_utc(time) for time in times]
        rows.add((row["item"], row["task"], row["standing"], *shown))
    return rows


def reported(found, first: int) -> set[tuple[str, str]]:
    """The problems as cases state them; `first` is the number that the tables' first row has."""
    codes = set()
    for problem in found.problems:
        place = "-"
        if problem.source is not None:
            source = os.path.splitext(problem.source)[0]
            # In cases the heading is line 1.
            place = f"{source} {problem.line - first + 2}"
        codes.add((problem.code, place))
    return codes


def fits(expected: set[tuple[str, str]], found: set[tuple[str, str]]) -> bool:
    """Whether problems are those that a case states: `-` is any place."""

    def same(one: tuple[str, str], other: tuple[str, str]) -> bool:
        return one[0] == other[0] and (one[1] == "-" or one[1] == other[1])

    every = all(any(same(wanted, one) for one in found) for wanted in expected)
    return every and all(any(same(wanted, one) for wanted in expected) for one in found)
