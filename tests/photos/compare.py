"""Compares, file by file, the fields that kitlore reads with those that exiftool reads."""

import csv
import json
import re
import subprocess
import sys
from collections import Counter
from datetime import datetime
from decimal import Decimal
from pathlib import Path

ENDINGS = set(
    ".jpg .jpeg .heic .heif .avif .tif .tiff .dng .png .webp .nef .nrw .cr2 .arw .sr2 .srw .pef .orf .rw2 .raf .exv".split()
)

# exiftool's names, with the group that stands for the fields of the standard, not for makers' notes.
TEXTS = {
    "make": "IFD0:Make",
    "model": "IFD0:Model",
    "serial": "ExifIFD:SerialNumber",
    "lens_make": "ExifIFD:LensMake",
    "lens": "ExifIFD:LensModel",
    "lens_serial": "ExifIFD:LensSerialNumber",
}
NUMBERS = {
    "temperature": "ExifIFD:AmbientTemperature",
    "humidity": "ExifIFD:Humidity",
    "pressure": "ExifIFD:Pressure",
    "depth": "ExifIFD:WaterDepth",
}
OTHERS = ["ExifIFD:DateTimeOriginal", "ExifIFD:SubSecTimeOriginal", "ExifIFD:OffsetTimeOriginal"]

# Where the two differ, and why: looked at one by one.
PROFILE = "carries its Exif data as text of a program (`Raw profile`), which the standard of PNG does not know"
NO_TEXT = "made to break readers: the field's bytes are no text"
NO_FIELDS = "made to break readers: its list of Exif fields is none, so that it is reported as broken and nothing of it is taken"
DIFFER = {
    "exiv2-0.27.6/test/data/ReaganLargePng.png": PROFILE,
    "exiv2-0.27.6/test/data/ReaganSmallPng.png": PROFILE,
    "exiv2-0.27.6/test/data/exiv2-bug922.png": PROFILE,
    "exiv2-0.27.6/test/data/imagemagick.png": PROFILE,
    "exiv2-0.27.6/test/data/IMGP0006-min.jpg": NO_TEXT,
    "exiv2-0.27.6/test/data/issue_1881_coverage.jpg": NO_TEXT,
    "exiv2-0.27.6/test/data/issue_839_poc.rw2": NO_TEXT,
    "exiv2-0.27.6/test/data/issue_1706_poc.exv.as-jpeg": NO_FIELDS,
    "exiv2-0.27.6/test/data/pocIssue283.jpg": NO_TEXT,
}


def as_jpeg(path: Path) -> Path:
    """An .exv is a JPEG whose first two bytes are replaced by seven."""
    content = path.read_bytes()
    if not content.startswith(b"\xff\x01Exiv2"):
        return path
    copy = path.with_name(path.name + ".as-jpeg")
    copy.write_bytes(b"\xff\xd8" + content[7:])
    return copy


def text(value: object) -> str:
    text = str(value if value is not None else "").split("\0")[0].strip()
    # What holds controls is no text.
    return "" if re.search(r"[\x00-\x1f\x7f]", text) else text


def serial(value: object) -> str:
    """All zeros are what some bodies write for an unknown number."""
    return "" if re.fullmatch(r"[0 .-]*", text(value)) else text(value)


def expected(tags: dict) -> dict:
    """What kitlore should say, from what exiftool says."""
    fields = {name: text(tags.get(tag)) for name, tag in TEXTS.items()}
    for name in ("serial", "lens_serial"):
        fields[name] = serial(fields[name])
    fields["taken"] = ""
    try:
        taken = datetime.strptime(text(tags.get(OTHERS[0]))[:19], "%Y:%m:%d %H:%M:%S")
        digits = re.match(r"\d*", text(tags.get(OTHERS[1])))[0][:9]
        fields["taken"] = f"{taken:%Y-%m-%dT%H:%M:%S}.{digits:0<9}"
    except ValueError:
        pass
    offset = text(tags.get(OTHERS[2]))
    fields["offset"] = offset if re.fullmatch(r"[+-]\d\d:\d\d", offset) else ""
    numbers = {}
    for name, tag in NUMBERS.items():
        value = text(tags.get(tag))
        numbers[name] = Decimal(value) if re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", value) else None
    given = [value for value in numbers.values() if value is not None]
    if numbers["pressure"] == 0 or len(given) > 1 and not any(given):
        numbers = dict.fromkeys(numbers)
    return {**fields, **numbers}


def main() -> int:
    work, reader = Path(sys.argv[1]), sys.argv[2]
    found = [p for p in sorted((work / "pictures").rglob("*")) if p.suffix.lower() in ENDINGS and p.is_file()]
    files = [as_jpeg(path) for path in found]
    print(f"{len(files)} files")

    tool = work / "exiftool" / "usr"
    command = ["perl", f"-I{tool}/share/perl5", str(tool / "bin" / "exiftool"), "-q", "-q", "-j", "-n", "-G1", "-@", "-"]
    wanted = [f"-{tag}" for tag in [*TEXTS.values(), *NUMBERS.values(), *OTHERS, "File:FileType", "ExifTool:Error"]]
    asked = "\n".join([*wanted, *map(str, files)])
    answer = subprocess.run(command, input=asked, capture_output=True, text=True, check=False)
    theirs = {entry["SourceFile"]: entry for entry in json.loads(answer.stdout)}

    read = subprocess.run([reader], input="\n".join(map(str, files)), capture_output=True, text=True, check=True)
    ours = {row["file"]: row for row in csv.DictReader(read.stdout.splitlines())}

    checked, wrong, problems = Counter(), [], Counter()
    for file in map(str, files):
        row, want = ours[file], expected(theirs.get(file, {}))
        if row["problem"]:
            problems[row["problem"]] += 1
        for field, value in want.items():
            if field in NUMBERS:
                got = Decimal(row[field]) if row[field] else None
                same = got == value or (got is not None and value is not None and abs(got - value) < Decimal("0.00001"))
            else:
                got, same = row[field], row[field] == value
            if value not in ("", None) or got not in ("", None):
                checked[field] += 1
            if not same:
                name = str(Path(file).relative_to(work / "pictures"))
                wrong.append((name, field, got, value, row["problem"]))
    known = {entry[0] for entry in wrong if entry[0] in DIFFER}
    for name in sorted(known):
        print(f"{name} differs: {DIFFER[name]}")
    for name in DIFFER.keys() - known:
        print(f"{name} does not differ; take it out of the list")
    wrong = [entry for entry in wrong if entry[0] not in DIFFER]
    for name, field, got, value, problem in wrong:
        print(f"{name}: {field}: kitlore {got!r}, exiftool {value!r} {problem}")
    print("fields that one of both has:", dict(checked))
    print("files that kitlore reports:", dict(problems))
    print(f"{sum(checked.values())} fields compared, {len(known)} files differ and are known, {len(wrong)} fields differ besides")
    return 1 if wrong or known != DIFFER.keys() or sum(checked.values()) < 800 else 0


if __name__ == "__main__":
    sys.exit(main())
