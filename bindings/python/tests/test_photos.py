"""Pictures as a log: on the example pictures."""

from __future__ import annotations

import datetime as dt
import shutil

import kitlore
import pandas as pd
import pytest
from cases import REPOSITORY

PICTURES = REPOSITORY / "examples" / "pictures"
ITEMS = PICTURES / "items.csv"


def read(**options):
    return kitlore.read_photos(PICTURES / "card", ITEMS, **options)


def test_entries_frames_and_what_has_no_item():
    photos = read(zone="Europe/Lisbon")
    assert (photos.frames, photos.copies) == (27, 0)
    changes = [entry["when"] for entry in photos if entry["event"] == "lens change"]
    assert len(changes) == 6 and changes[0] == "2026-11-07T09:40:00.100+00:00"
    frames = sum(entry["amount"] for entry in photos if entry["event"] == "frames" and entry["item"] == "C2")
    assert frames == 20
    (lens,) = photos.unmatched
    assert (lens.is_lens, lens.model, lens.pictures) == (True, "Harbour 85mm F1.8", 8)
    assert (lens.first, lens.last) == (dt.date(2026, 11, 7), dt.date(2026, 11, 8))
    assert lens.line == "Harbour 85mm F1.8,lens,Harbour 85mm F1.8,"
    assert [problem.code for problem in photos.problems] == ["unknown-gear"]


def test_tables_say_the_same():
    photos = read()
    dicts = photos.to_dicts()
    assert len(dicts) == len(photos) == photos.to_arrow().num_rows == len(photos.to_polars())
    frame = photos.to_pandas()
    assert isinstance(frame, pd.DataFrame) and frame["amount"].dtype == "int64"
    again = [
        {name: value for name, value in row.items() if isinstance(value, int) or (isinstance(value, str) and value)}
        for row in frame.to_dict("records")
    ]
    assert again == dicts


@pytest.mark.parametrize("form", ["itself", "to_dicts", "to_arrow", "to_pandas", "to_polars"])
def test_entries_are_a_log(form):
    photos = read(zone="Europe/Lisbon")
    log = photos if form == "itself" else getattr(photos, form)()
    rules = kitlore.Rules("for cameras\n  after 6 lens changes, inspect sensor")
    found = rules.standings(ITEMS, log, at="2026-11-08")
    assert {row.item: row.standing for row in found.rows} == {"C1": "clear", "C2": "due"}


def test_what_the_log_holds_is_left_out(tmp_path):
    first = read()
    assert len(read(log=first)) == 0
    shutil.copytree(PICTURES / "card", tmp_path / "copy")
    both = kitlore.read_photos([PICTURES / "card", tmp_path / "copy"], ITEMS)
    assert both.copies == 27 and both.to_dicts() == first.to_dicts()


def test_clocks_and_marks():
    later = read(shift={"C2": dt.timedelta(hours=-1)}, mark="cold: temperature below 0")
    changes = [entry for entry in later if entry["event"] == "lens change"]
    assert changes[0]["when"] == "2026-11-07T08:40:00.100+00:00"
    assert {entry["when"] for entry in changes if entry.get("in") == "cold"} == {
        "2026-11-08T06:50:00.100+00:00",
        "2026-11-08T07:25:00.100+00:00",
    }


def test_what_cannot_be_read_is_reported(tmp_path):
    (tmp_path / "notes.jpg").write_text("no picture")
    photos = kitlore.read_photos([tmp_path, tmp_path / "missing"], ITEMS)
    assert sorted(problem.code for problem in photos.problems) == ["not-a-picture", "unreadable-folder"]


@pytest.mark.parametrize(
    "options",
    [{"zone": "Lisbon"}, {"shift": {"C9": "+1h"}}, {"shift": {"C1": "an hour"}}, {"mark": ["wet: rain above 1"]}],
)
def test_wrong_arguments(options):
    with pytest.raises(kitlore.EntryError) as error:
        read(**options)
    assert error.value.code == "bad-argument"


def test_many_pictures_need_a_folder_for_temporary_files(tmp_path, monkeypatch):
    for copy in ["", *(f" copy {number}" for number in range(4_200))]:
        shutil.copy(PICTURES / "card" / "HRB_0319.JPG", tmp_path / f"HRB_0319{copy}.JPG")
    monkeypatch.setenv("TMPDIR", str(tmp_path / "nowhere"))
    with pytest.raises(kitlore.FileError, match="nowhere`, and that failed") as caught:
        kitlore.read_photos(tmp_path, ITEMS)
    assert caught.value.code == "cannot-write"
    monkeypatch.undo()
    photos = kitlore.read_photos(tmp_path, ITEMS)
    assert (photos.frames, photos.copies) == (1, 4_200)
