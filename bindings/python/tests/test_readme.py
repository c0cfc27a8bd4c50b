"""Every example of the README runs, in order, and prints what stands below it; so do those of docstrings."""

from __future__ import annotations

import contextlib
import doctest
import importlib
import io
import pkgutil
import re
from pathlib import Path

import kitlore
import pytest
from cases import REPOSITORY

README = Path(__file__).resolve().parents[1] / "README.md"


def examples() -> list[tuple[str, str | None]]:
    text = README.read_text(encoding="utf-8")
    return [(code, printed or "") for code, printed in re.findall(r"```python\n(.*?)```\n(?:```text\n(.*?)```)?", text, re.S)]


def test_the_readme(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "examples").symlink_to(REPOSITORY / "examples")
    names: dict[str, object] = {}
    found = examples()
    assert len(found) >= 8
    for code, printed in found:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            exec(compile(code, str(README), "exec"), names)
        assert out.getvalue() == printed, code


# The native module has no Python text, and `__main__` runs the command.
MODULES = ["kitlore"] + [
    f"kitlore.{module.name}"
    for module in pkgutil.iter_modules(kitlore.__path__)
    if module.name not in ("__main__", "_native")
]


@pytest.mark.parametrize("name", MODULES)
def test_docstrings(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_docstrings_have_examples():
    assert sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES) >= 12


def test_everything_public_is_documented():
    classes = [getattr(kitlore, name) for name in kitlore.__all__ if isinstance(getattr(kitlore, name), type)]
    parts = [
        (f"{cls.__name__}.{name}", part)
        for cls in classes
        for name, part in vars(cls).items()
        if not name.startswith("_") and (callable(part) or isinstance(part, (property, classmethod)))
    ]
    assert len(classes) >= 15 and len(parts) >= 25
    documented = [*parts, *((cls.__name__, cls) for cls in classes)]
    assert [name for name, part in documented if not part.__doc__] == []
