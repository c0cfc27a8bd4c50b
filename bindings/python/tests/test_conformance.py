"""Every conformance case of the repository, in every form that a table can have."""

from pathlib import Path

import forms
import kitlore
import pytest
from cases import Case, answer, fits, read_cases, reported

# Many cases are about rules in doubt.
pytestmark = pytest.mark.filterwarnings("ignore::kitlore.RuleWarning")

ALL = read_cases()


def test_the_cases_are_there():
    assert len(ALL) >= 500
    assert sum(len(case.asks) for case in ALL) >= 700


def mismatches(case: Case, items, log, first: int) -> list[str]:
    """What differs from the case."""
    found = []
    try:
        rules = kitlore.Rules(case.rules)
    except kitlore.RuleError:
        return [] if all(rows is None for _, rows in case.asks) else [f"{case.place}: the rules are refused"]
    book = rules.book(items(), log())
    for at, expected in case.asks:
        if expected is None:
            found.append(f"{case.place}: the rules should be refused")
            continue
        standings = book.standings(at)
        if answer(standings) != expected:
            found.append(f"{case.place} ({case.title}) at {at}: {answer(standings)} and not {expected}")
    if case.problems is not None:
        problems = reported(book.standings(case.asks[-1][0]), first)
        # Of what is done later than now, the clock alone decides: test_objects asks without an instant.
        expected = {problem for problem in case.problems if not (case.is_now and problem[0] == "not-yet-done")}
        if not fits(expected, problems):
            found.append(f"{case.place} ({case.title}): reported {problems} and not {case.problems}")
    return found


@pytest.mark.parametrize("form", forms.FRAMES)
def test_frames(form):
    make = forms.FRAMES[form]
    wrong = []
    for case in ALL:
        wrong += mismatches(case, lambda: make(case.items), lambda: make(case.log), 0)
    assert not wrong, f"{len(wrong)} mismatches\n" + "\n".join(wrong[:20])


@pytest.mark.parametrize("form", forms.FILES)
def test_files(form, tmp_path: Path):
    make, first = forms.FILES[form]
    wrong = []
    for number, case in enumerate(ALL):
        folder = tmp_path / str(number)
        folder.mkdir()
        items = make(case.items, folder / "items")
        # A file without a row of headings is no table; without entries no log is needed.
        log = make(case.log, folder / "log") if case.log else ()
        if not case.items and form == "jsonl":
            items = ()
        wrong += mismatches(case, lambda: items, lambda: log, first)
    assert not wrong, f"{len(wrong)} mismatches\n" + "\n".join(wrong[:20])


def test_a_wrong_answer_is_noticed():
    case = next(case for case in ALL if case.asks[0][1])
    at, rows = case.asks[0]
    first = sorted(rows, key=str)[0]
    wrong = Case(case.place, case.title, case.rules, case.items, case.log, [(at, rows - {first})])
    assert mismatches(wrong, lambda: wrong.items, lambda: wrong.log, 0)
