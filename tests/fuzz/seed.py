"""Makes first inputs for the fuzz targets out of the cases and examples of the repository.

`python3 tests/fuzz/seed.py FOLDER` fills FOLDER/<target>/. What is worth keeping of them and of what a run
adds is kept in `corpus/` by `minimise`.
"""

import pathlib
import random
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


def texts(pattern: str) -> list[str]:
    return [path.read_text() for path in sorted(ROOT.glob(pattern))]


def parts(text: str) -> list[str]:
    """What stands under each `=== title` of a file of cases."""
    return [part.split("\n", 1)[1] for part in text.split("=== ")[1:] if "\n" in part]


def rules() -> list[str]:
    found = [part for text in texts("crates/syntax/tests/wrong/*.lore") for part in parts(text)]
    found += [part.split("\n--- ")[0] for text in texts("tests/cases/*.txt") for part in parts(text)]
    found += re.findall(r"```lore\n(.*?)```", (ROOT / "grammar/README.md").read_text(), re.DOTALL)
    return found + texts("examples/**/*.lore")


def tables(ending: str) -> list[str]:
    found = []
    for text in texts("crates/tables/tests/cases/*.txt"):
        for part in re.findall(r"--- (?:items|log) (\S+)[^\n]*\n(.*?)(?=\n--- |\n=>)", text, re.DOTALL):
            if part[0].endswith(ending):
                found.append(part[1] + "\n")
    found += [text[:4000] for text in texts(f"examples/**/*.{ending}")]
    return found


def cases() -> list[str]:
    """Without the answers: what is asked is what matters."""
    return [
        re.sub(r"(--- at [^\n]*\n)(?:(?!---)[^\n]*\n?)*", r"\1", part.split("\n--- problems")[0] + "\n")
        for text in texts("tests/cases/*.txt")
        for part in parts(text)
    ]


SHEETS = [
    '<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>when</t></is></c><c r="B1" t="str"><v>event</v></c>'
    '<c r="C1" t="s"><v>0</v></c></row><row r="2"><c r="A2" s="1"><v>46062</v></c><c r="B2" t="s"><v>1</v></c>'
    '<c r="C2"><v>12.5</v></c></row><row r="3"><c r="A3" s="2"><v>46062.5</v></c><c r="B3" t="e"><v>#N/A</v></c>'
    "</row></sheetData></worksheet>=== xl/sharedStrings.xml\n<sst><si><t>amount</t></si><si><r><t>lens </t></r>"
    "<r><t>change</t></r></si></sst>",
    '<worksheet><dimension ref="A1:XFD1048576"/><sheetData><row r="2"><c r="B2" t="str"><v>id</v></c><c r="C2" t="str">'
    '<v>kind</v></c><c r="D2" t="str"><v>received</v></c></row><row r="4"><c r="B4" t="b"><v>1</v></c><c r="C4" t="str">'
    '<v>camera</v></c><c r="D4" t="d"><v>2026-01-10T00:00:00Z</v></c></row></sheetData><mergeCells><mergeCell ref="B2:C3"/>'
    "</mergeCells></worksheet>",
    '<worksheet><sheetData><row><c t="str"><v>id</v></c><c t="str"><v>kind</v></c></row><row><c><f>A1</f><v>7</v></c>'
    '<c t="str"><v>camera</v></c></row></sheetData></worksheet>=== xl/workbook.xml\n<workbook xmlns:r="http://schemas.'
    'openxmlformats.org/officeDocument/2006/relationships"><workbookPr date1904="1"/><sheets><sheet name="Two" '
    'sheetId="1" r:id="r1"/></sheets><definedNames><definedName name="x">One!$A$1</definedName></definedNames></workbook>',
]


def main() -> None:
    folder = pathlib.Path(sys.argv[1])
    choose = random.Random(1)
    made: dict[str, list[bytes]] = {
        "parse": [text.encode() for text in rules()],
        "tidy": [text.encode() for text in rules()],
        "csv": [text.encode() for text in tables("csv") + tables("tsv")],
        "jsonl": [text.encode() for text in tables("jsonl")],
        "xlsx": [text.encode() for text in SHEETS] + [path.read_bytes() for path in ROOT.glob("examples/**/*.xlsx")],
        "pictures": [path.read_bytes() for path in sorted(ROOT.glob("examples/pictures/card/*"))[:12]],
        "case": [text.encode() for text in cases()],
        "arrow": [choose.randbytes(120) for _ in range(200)],
        "columns": [choose.randbytes(300) for _ in range(200)],
        "evaluate": [choose.randbytes(600) for _ in range(400)],
    }
    for target, inputs in made.items():
        (folder / target).mkdir(parents=True, exist_ok=True)
        for number, data in enumerate(inputs):
            (folder / target / f"seed-{number:04}").write_bytes(data)
        print(target, len(inputs))


if __name__ == "__main__":
    main()
