"""Keeps a few of the inputs that fuzzing gathered, for `corpus/` and the test that replays it.

`python3 tests/fuzz/keep.py FOLDER` takes FOLDER/<target>/, as `cargo fuzz cmin` left it, and keeps of each
target at most 60 inputs of every size, 40 KB in all.
"""

import pathlib
import sys

KEPT = pathlib.Path(__file__).parent / "corpus"
MOST, BYTES, LONGEST = 60, 40_000, 2_000


def main() -> None:
    for target in sorted(path for path in pathlib.Path(sys.argv[1]).iterdir() if path.is_dir()):
        files = sorted((path.stat().st_size, path.name, path) for path in target.iterdir())
        files = [file for file in files if 0 < file[0] <= LONGEST]
        step = max(1, len(files) / MOST)
        chosen = [files[int(n * step)] for n in range(min(MOST, len(files)))]
        while sum(size for size, _, _ in chosen) > BYTES:
            chosen.pop()
        kept = KEPT / target.name
        kept.mkdir(parents=True, exist_ok=True)
        for old in kept.iterdir():
            old.unlink()
        for _, name, path in chosen:
            (kept / name).write_bytes(path.read_bytes())
        print(target.name, len(chosen), "of", len(files))


if __name__ == "__main__":
    main()
