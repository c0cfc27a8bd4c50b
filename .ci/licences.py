"""Refuses dependencies under a licence that kitlore, under MIT, should not ship with.

Reads `cargo metadata`. An advisory check (RustSec) needs a database that the registries do not carry.
"""

import json
import re
import subprocess
import sys

ALLOWED = {
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
}


def is_allowed(expression: str) -> bool:
    """Whether an SPDX expression can be met: of `OR` one side, of `AND` all."""
    expression = expression.replace("/", " OR ")
    sides = re.split(r"\s+OR\s+", expression.replace("(", "").replace(")", ""))
    parts = [re.split(r"\s+AND\s+", side) for side in sides]
    bare = [[part.split(" WITH ")[0].strip() for part in side] for side in parts]
    return any(all(part in ALLOWED for part in side) for side in bare)


def main() -> int:
    command = ["cargo", "metadata", "--format-version", "1", "--locked", "--all-features", "--manifest-path"]
    packages = [
        package
        for manifest in ("Cargo.toml", "bindings/python/Cargo.toml")
        for package in json.loads(subprocess.check_output([*command, manifest]))["packages"]
    ]
    refused = [
        f"{package['name']} {package['version']}: {package['license'] or 'no licence stated'}"
        for package in packages
        if not is_allowed(package["license"] or "")
    ]
    for line in refused:
        print(line, file=sys.stderr)
    print(f"{len(packages)} packages, {len(refused)} refused")
    return 1 if refused else 0


if __name__ == "__main__":
    sys.exit(main())
