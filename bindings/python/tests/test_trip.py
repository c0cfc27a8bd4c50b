"""Trips through Python."""

from __future__ import annotations

from pathlib import Path

import pytest

import kitlore

STUDIO = Path(__file__).parents[3] / "examples" / "studio"


@pytest.fixture(scope="module")
def studio() -> kitlore.Book:
    rules = kitlore.Rules.load(STUDIO / "house.lore")
    columns = dict(line.split("=") for line in (STUDIO / "columns").read_text().splitlines())
    return rules.book(STUDIO / "inventory.xlsx", STUDIO / "log.csv", columns)


def test_the_trip_to_the_sea(studio: kitlore.Book) -> None:
    trip = studio.trip("0147", at="2026-11-25")
    sensor = [(task["item"], task["day"]) for task in trip.on_the_way if task["task"] == "inspect sensor"]
    assert sensor == [("CAM-01", "2026-12-02"), ("CAM-03", "2026-12-02")]
    assert "hex key" in [packed["need"] for packed in trip.pack]
    assert [left["item"] for left in trip.leave_at_home] == ["STR-02"]
    assert trip.before_minutes == 73
    assert any("carrier" in caution for caution in trip.cautions)


def test_frames_have_a_row_for_each_entry(studio: kitlore.Book) -> None:
    trip = studio.trip("0147", at="2026-11-25")
    for name in ("before", "on_the_way", "follow_ups", "on_return", "pack", "leave_at_home"):
        count = len(trip.to_dicts()[name])
        assert len(trip.to_pandas(name)) == count
        assert len(trip.to_polars(name)) == count
        assert trip.to_arrow(name).num_rows == count
    assert "Do not sew or glue it: a new one." in trip.to_pandas("leave_at_home")["cautions"][0]


def test_views_hide_no_caution_and_escape(studio: kitlore.Book) -> None:
    trip = studio.trip("0147", at="2026-11-25")
    dicts = trip.to_dicts()
    cautions = {c for name in ("before", "on_the_way", "follow_ups", "on_return") for task in dicts[name] for c in task["cautions"]}
    view = trip._repr_html_()
    assert cautions
    for caution in cautions | set(dicts["cautions"]):
        assert caution.replace("'", "&#x27;") in view
    assert trip.to_html().startswith("<!DOCTYPE html>")


def test_a_trip_that_is_not_in_the_log() -> None:
    rules = kitlore.Rules("for tripods\n  after every trip in sand, rinse legs")
    items = [{"id": "<T1>", "kind": "tripod", "kit": "travel"}]
    trip = rules.trip(items, from_="2026-12-02", to="2026-12-04", kit="travel", conditions=["sand"], at="2026-11-25")
    assert [(task["item"], task["due"]) for task in trip.on_return] == [("<T1>", "2026-12-04")]
    assert "<T1>" not in trip._repr_html_()
    assert trip.to_pandas("pack").empty


def test_what_is_refused(studio: kitlore.Book) -> None:
    with pytest.raises(kitlore.TripError, match="no planned entry"):
        studio.trip("9999", at="2026-11-25")
    with pytest.raises(kitlore.EntryError, match="no name with an amount"):
        studio.trip("0147", at="2026-11-25", expect="many")
    with pytest.raises(kitlore.InputTypeError, match="say which trip"):
        studio.trip(at="2026-11-25")
    with pytest.raises(kitlore.InputTypeError, match="say which trip"):
        studio.trip(from_="2026-12-01", at="2026-11-25")
