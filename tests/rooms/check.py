#!/usr/bin/env python3
"""Reads the arrows between source files out of their own imports and holds them against the plan.

    tests/rooms/check.py            every crate and the Python package: no circle, no arrow that the plan forbids
    tests/rooms/check.py --list     as well, every arrow between rooms

A file is a node; `use crate::a::b::C`, `super::C` and paths written out are arrows, followed through
re-exports to the file that defines the name. Test modules are left out. `plan.toml` names, for each crate, its
rooms (a folder or a file, by module name) and what each may use.
"""

import ast
import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLAN = tomllib.loads((Path(__file__).parent / "plan.toml").read_text())


def without_noise(text):
    """The text without comments, string literals and test modules, which are no part of the structure."""
    pattern = r'//[^\n]*|/\*.*?\*/|b?r(#*)".*?"\1|b?"(?:\\.|[^"\\])*"|\'(?:\\.|[^\'\\])\''
    text = re.sub(pattern, lambda m: '""' if '"' in m[0] else "' '" if m[0][0] == "'" else "", text, flags=re.S)
    while found := re.search(r"#\[cfg\((?:all\()?test\b[^\]]*\]\s*(?:#\[[^\]]*\]\s*)*(?:pub\s+)?mod\s+\w+\s*(;|\{)", text):
        end = found.end()
        depth = 1 if found[1] == "{" else 0
        while depth and end < len(text):
            depth += {"{": 1, "}": -1}.get(text[end], 0)
            end += 1
        text = text[: found.start()] + text[end:]
    return text


def braces(text):
    """The leaves of a use tree such as `a::{b, c::{d, e as f}}`, each as (path, name it gets)."""
    text = text.strip()
    opened = text.find("{")
    if opened < 0:
        path, _, alias = (part.strip() for part in text.partition(" as "))
        parts = [part.strip() for part in path.split("::") if part.strip()]
        if parts and parts[-1] == "self":
            parts.pop()
        return [(parts, alias or (parts[-1] if parts else ""))]
    head = [part.strip() for part in text[:opened].split("::") if part.strip()]
    leaves, depth, item = [], 0, ""
    for letter in text[opened + 1 : text.rfind("}")] + ",":
        depth += {"{": 1, "}": -1}.get(letter, 0)
        if letter == "," and depth == 0:
            if item.strip():
                leaves += [(head + path, name) for path, name in braces(item)]
            item = ""
        else:
            item += letter
    return leaves


class Crate:
    """The modules of one crate, and what each imports."""

    def __init__(self, src):
        self.files, self.text, self.reexports = {}, {}, {}
        for file in sorted(src.rglob("*.rs")):
            if file.stem.endswith("_tests") or file.name == "main.rs" and (src / "lib.rs").exists():
                continue
            module = list(file.relative_to(src).with_suffix("").parts)
            if module[-1] in ("mod", "lib", "main"):
                module.pop()
            self.files[tuple(module)] = file
            self.text[tuple(module)] = without_noise(file.read_text())
        for module, text in self.text.items():
            given = self.reexports[module] = {}
            for tree in re.findall(r"\bpub(?:\([^)]*\))?\s+use\s+([^;]+);", text):
                for path, name in braces(tree):
                    where = self.absolute(module, path)
                    if where is not None:
                        given[name] = where

    def absolute(self, module, path):
        """A path from the crate's root; None of what is another crate's."""
        if not path:
            return None
        if path[0] == "crate":
            return tuple(path[1:])
        here = list(module)
        if path[0] == "self":
            return tuple(here + path[1:])
        if path[0] == "super":
            while path and path[0] == "super":
                here, path = here[:-1], path[1:]
            return tuple(here + list(path))
        return tuple(here + list(path)) if tuple(here + [path[0]]) in self.files else None

    def home(self, path, seen=()):
        """The module that defines what a path from the root names."""
        for length in range(len(path), -1, -1):
            module = path[:length]
            if module not in self.files:
                continue
            name = path[length] if length < len(path) else None
            given = self.reexports[module]
            if name in given and (module, name) not in seen:
                return self.home(given[name] + path[length + 1 :], (*seen, (module, name)))
            return module
        return None

    def arrows(self):
        for module, text in self.text.items():
            paths = []
            for tree in re.findall(r"\buse\s+([^;]+);", text):
                paths += [path for path, _ in braces(tree)]
            plain = re.sub(r"\buse\s+[^;]+;|\bpub\(in [^)]*\)", "", text)
            paths += [found.split("::") for found in re.findall(r"\b(?:crate|super|self)(?:::\w+)+", plain)]
            children = [child[-1] for child in self.files if child[:-1] == module and child]
            for child in children:
                paths += [[child, *rest.split("::")[1:]] for rest in re.findall(rf"\b{child}(?:::\w+)+", plain)]
            for path in paths:
                where = self.absolute(module, path)
                target = self.home(where) if where is not None else None
                # A folder's mod.rs is the door of its rooms: naming the folder only opens it.
                if target is not None and target != module:
                    yield module, target


def python_arrows(package):
    files = {file.stem: file for file in sorted(package.glob("*.py"))}
    for name, file in files.items():
        for node in ast.walk(ast.parse(file.read_text())):
            targets = []
            if isinstance(node, ast.ImportFrom) and node.level == 1:
                targets = [node.module] if node.module else [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module == package.name:
                targets = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(package.name + "."):
                targets = [node.module.removeprefix(package.name + ".")]
            for target in targets:
                if target in files and target != name:
                    yield (name,), (target,)


def circles(arrows):
    """Strongly connected sets of two and more (Tarjan's algorithm)."""
    graph = {}
    for a, b in arrows:
        graph.setdefault(a, set()).add(b)
        graph.setdefault(b, set())
    number, low, stack, found = {}, {}, [], []

    def visit(node):
        number[node] = low[node] = len(number)
        stack.append(node)
        for following in sorted(graph[node]):
            if following not in number:
                visit(following)
                low[node] = min(low[node], low[following])
            elif following in stack:
                low[node] = min(low[node], number[following])
        if low[node] == number[node]:
            circle = stack[stack.index(node) :]
            del stack[stack.index(node) :]
            if len(circle) > 1:
                found.append(sorted(circle))

    for node in sorted(graph):
        if node not in number:
            visit(node)
    return found


def name(module):
    return "::".join(module) or "(root)"


def room(module):
    return module[0] if module else "(root)"


def check(crate, arrows, listing):
    faults = []
    for circle in circles(arrows):
        faults.append(f"{crate}: a circle of {len(circle)} files: {', '.join(map(name, circle))}")
    between = {(room(a), room(b)) for a, b in arrows if room(a) != room(b)}
    for circle in circles({((a,), (b,)) for a, b in between}):
        faults.append(f"{crate}: a circle of {len(circle)} rooms: {', '.join(map(name, circle))}")
    plan = PLAN.get(crate)
    if plan is not None:
        for a, b in sorted(between):
            if a == "(root)":
                continue
            if a not in plan:
                faults.append(f"{crate}: the plan does not name the room `{a}`")
            elif b not in plan[a]:
                files = sorted({f"{name(x)} -> {name(y)}" for x, y in arrows if (room(x), room(y)) == (a, b)})
                faults.append(f"{crate}: `{a}` may not use `{b}`: {'; '.join(files)}")
    if listing:
        for a, b in sorted(between):
            print(f"{crate}: {a} -> {b}")
    return sorted(set(faults))


def main():
    listing = "--list" in sys.argv
    faults, count = [], 0
    sources = {path.parent.name: path for path in sorted(ROOT.glob("crates/*/src"))}
    sources["bindings/python native"] = ROOT / "bindings/python/src"
    sources["tests"] = ROOT / "tests/src"
    sources["tests/laws"] = ROOT / "tests/laws/src"
    for crate, src in sources.items():
        arrows = set(Crate(src).arrows())
        count += len(arrows)
        faults += check(crate, arrows, listing)
    arrows = set(python_arrows(ROOT / "bindings/python/python/kitlore"))
    count += len(arrows)
    faults += check("bindings/python package", arrows, listing)
    for fault in faults:
        print(fault)
    print(f"{len(sources) + 1} crates and packages, {count} arrows between files, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
