"""Lens changes of real bodies: what `kitlore photos` makes of their pictures, against a list and against exiftool.

The pictures are those of Debian's source package exiv2 0.27.6 whose bodies were used with two lenses and wrote
their serial number. `changes.csv` lists the changes; the same list must follow from what exiftool says of the files,
put in order of time.
"""

import csv
import json
import subprocess
import sys
import tempfile
from collections import Counter
from datetime import datetime
from itertools import pairwise
from pathlib import Path


def by_exiftool(work: Path, files: list[Path], items: dict[str, str]) -> tuple[list[tuple[str, ...]], Counter]:
    """Changes, and how many pictures each body took, as exiftool sees it."""
    tool = work / "exiftool" / "usr"
    tags = ["ExifIFD:SerialNumber", "ExifIFD:LensModel", "ExifIFD:DateTimeOriginal", "ExifIFD:SubSecTimeOriginal"]
    command = ["perl", f"-I{tool}/share/perl5", str(tool / "bin" / "exiftool"), "-q", "-q", "-j", "-n"]
    command += [*(f"-{tag}" for tag in [*tags, "ExifIFD:OffsetTimeOriginal"]), *map(str, files)]
    answer = json.loads(subprocess.run(command, capture_output=True, text=True, check=False).stdout)
    frames: dict[str, list[tuple[datetime, str, str]]] = {}
    for tags in answer:
        item = items.get(str(tags.get("SerialNumber", "")))
        if item is None:
            continue
        taken = datetime.strptime(tags["DateTimeOriginal"], "%Y:%m:%d %H:%M:%S")
        digits = str(tags.get("SubSecTimeOriginal", ""))
        taken = taken.replace(microsecond=int(f"{digits:0<6}"[:6]))
        frames.setdefault(item, []).append((taken, tags.get("OffsetTimeOriginal", ""), str(tags["LensModel"]).strip()))
    changes = []
    for item, taken in frames.items():
        for (_, _, before), (time, offset, lens) in pairwise(sorted(taken)):
            if lens != before:
                fraction = "milliseconds" if time.microsecond else "seconds"
                changes.append((item, time.isoformat(timespec=fraction) + offset, before, lens))
    return sorted(changes), Counter({item: len(taken) for item, taken in frames.items()})


def by_kitlore(command: str, folder: Path, items: dict[str, str]) -> tuple[list[tuple[str, ...]], Counter]:
    """Changes and counted frames, as `kitlore photos` gives them."""
    inventory = folder.parent / "items.csv"
    # No models: by them, pictures of other people's bodies without a serial number would be these bodies'.
    lines = [f"{item},camera,{serial}" for serial, item in items.items()]
    inventory.write_text("\n".join(["id,kind,serial", *lines, ""]))
    arguments = [command, "photos", str(folder), "--items", str(inventory)]
    output = subprocess.run(arguments, capture_output=True, text=True, check=True)
    changes, frames = [], Counter()
    for row in csv.DictReader(output.stdout.splitlines()):
        if row["event"] == "lens change":
            before, lens = row["note"].removeprefix("from ").split(" to ")
            changes.append((row["item"], row["when"], before, lens))
        elif row["event"] == "frames":
            frames[row["item"]] += int(row["amount"])
    return sorted(changes), frames


def main() -> int:
    work, command = Path(sys.argv[1]), sys.argv[2]
    rows = list(csv.DictReader((Path(__file__).parent / "changes.csv").open()))
    listed = sorted((row["item"], row["when"], row["from"], row["to"]) for row in rows)
    items = {row["serial"]: row["item"] for row in rows}
    with tempfile.TemporaryDirectory() as folder:
        card = Path(folder) / "card"
        card.mkdir()
        # All pictures of that package; the names say nothing of the order in which they were taken.
        for path in sorted((work / "pictures").glob("exiv2-*/test/data/*.exv.as-jpeg")):
            (card / f"{path.name.removesuffix('.exv.as-jpeg')}.jpg").write_bytes(path.read_bytes())
        files = sorted(card.iterdir())
        seen, pictures = by_exiftool(work, files, items)
        given, frames = by_kitlore(command, card, items)
    print(f"{len(files)} files; of {len(items)} bodies with two lenses {sum(pictures.values())} pictures, {len(listed)} lens changes")
    for name, changes in (("exiftool", seen), ("kitlore", given)):
        for change in sorted(set(listed) ^ set(changes)):
            print(f"{'listed and not seen' if change in listed else 'seen and not listed'} by {name}: {change}")
    if frames != pictures:
        print(f"frames: kitlore {dict(frames)}, exiftool {dict(pictures)}")
    return 0 if listed == seen == given and frames == pictures and len(files) > 100 else 1


if __name__ == "__main__":
    sys.exit(main())
