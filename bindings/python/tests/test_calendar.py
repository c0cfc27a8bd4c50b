"""The calendar file in readers that are not ours, before and after a changed export.

Which faults a reader lets pass is not the same for each, so all three read every file, and what none of them
looks at is tried on the bytes. Sections are those of RFC 5545.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import icalendar
import ics
import pytest
import vobject

import kitlore

RULES = """
house "Kestrel Yard"
time zone Europe/Lisbon
for cameras
  after 90 days, inspect sensor
    notice 2 weeks
    needs blower, plain bright wall
    because "spots \\\\ streaks; both, at once"
    caution "Körper nach unten 📷: Spiegel nie berühren, 日本語 ok, and so on until the line is too long to be one."
  after 20 lens changes, clean mount
for straps
  before every trip, inspect strap
    within 3 days
for lights
  after 1 month, test lamp
    do not use until done
"""
ITEMS = [
    {"id": "C1", "kind": "camera", "received": "2026-01-31"},
    {"id": "Ü;2,\\n", "kind": "camera", "received": "2026-02-10"},
    {"id": "S1", "kind": "strap", "received": "2026-01-31"},
    {"id": "L1", "kind": "light", "received": "2026-04-01"},
]
TRIP = {"when": "2026-05-10T09:00:00", "item": "S1", "event": "trip"}
DONE = [
    {"when": "2026-05-02", "item": "C1", "event": "inspect sensor"},
    {"when": "2026-05-02", "item": "C1", "event": "clean mount"},
]


def export(log: list[dict[str, str]], at: str) -> str:
    found = kitlore.Rules(RULES).standings(items=ITEMS, log=log, at=at)
    return found.to_ical(events=True)


BEFORE = export([TRIP], "2026-04-28")
AFTER = export([TRIP, *DONE], "2026-05-03")


def instant(value: dt.date | dt.datetime) -> str:
    return value.astimezone(dt.UTC).isoformat() if isinstance(value, dt.datetime) else value.isoformat()


Entries = dict[str, dict[str, Any]]


def by_icalendar(file: str) -> Entries:
    calendar = icalendar.Calendar.from_ical(file)
    entries: Entries = {}
    for part in calendar.walk():
        if part.name not in ("VTODO", "VEVENT"):
            continue
        assert not part.errors and all(part.get(name) is not None for name in part.required)
        dates = {name: instant(part[name].dt) for name in ("DTSTART", "DUE", "DTEND", "COMPLETED") if name in part}
        texts = {name: str(part[name]) for name in ("SUMMARY", "DESCRIPTION", "STATUS") if name in part}
        alarms = [str(alarm["TRIGGER"].to_ical().decode()) for alarm in part.walk("VALARM")]
        related = [alarm["TRIGGER"].params.get("RELATED") for alarm in part.walk("VALARM")]
        assert related == ["END"] * len(alarms), "§3.8.6.3"
        entries[str(part["UID"])] = {"is": part.name, **dates, **texts, "alarms": alarms, "sequence": int(part["SEQUENCE"])}
    return entries


def by_vobject(file: str) -> Entries:
    calendar = vobject.readOne(file)
    assert calendar.validate(raiseException=True)
    entries: Entries = {}
    for part in calendar.components():
        if part.name not in ("VTODO", "VEVENT"):
            continue
        entry: dict[str, Any] = {"is": part.name}
        for name in ("DTSTART", "DUE", "DTEND", "COMPLETED"):
            for line in part.contents.get(name.lower(), []):
                entry[name] = instant(line.value)
        for name in ("SUMMARY", "DESCRIPTION", "STATUS"):
            for line in part.contents.get(name.lower(), []):
                entry[name] = line.value
        alarms = [alarm.trigger for alarm in part.contents.get("valarm", [])]
        entry["alarms"] = [f"-P{-alarm.value.days}D" for alarm in alarms]
        entry["sequence"] = int(part.sequence.value)
        entries[part.uid.value] = entry
    return entries


@pytest.mark.parametrize("file", [BEFORE, AFTER], ids=["before", "after"])
def test_two_readers_see_the_same(file: str) -> None:
    one, other = by_icalendar(file), by_vobject(file)
    assert len(one) > 5
    assert one == other


def summaries(entries: Entries) -> dict[str, str]:
    return {entry["is"] + " " + entry["SUMMARY"].split(" (")[0]: uid for uid, entry in entries.items()}


def test_a_later_export_updates_and_never_doubles() -> None:
    before, after = by_icalendar(BEFORE), by_icalendar(AFTER)
    old, new = summaries(before), summaries(after)
    shared = old.keys() & new.keys()
    assert {"VTODO inspect sensor: camera C1", "VTODO test lamp: light L1"} <= shared
    assert all(old[name] == new[name] for name in shared)
    assert len(set(new.values())) == len(new)
    # What an importer holds after both is one entry for each row, as the later file has it.
    merged = before | after
    assert len(summaries(merged)) == len(merged)
    assert all(after[uid]["sequence"] > before[uid]["sequence"] for uid in before.keys() & after.keys())
    uid = old["VTODO inspect sensor: camera C1"]
    assert (before[uid]["DTSTART"], before[uid]["DUE"]) == ("2026-05-01", "2026-05-02")
    assert (after[uid]["DTSTART"], after[uid]["DUE"]) == ("2026-07-31", "2026-08-01")
    assert after[new["VTODO clean mount: camera C1"]]["STATUS"] == "COMPLETED"


@pytest.mark.parametrize("file", [BEFORE, AFTER], ids=["before", "after"])
def test_a_third_reader_takes_it(file: str) -> None:
    calendar = ics.Calendar(file)
    entries = by_icalendar(file)
    seen = {todo.uid for todo in calendar.todos} | {event.uid for event in calendar.events}
    assert seen == entries.keys()
    # It reads an escaped backslash before an n as a backslash and a line break (§3.3.11 has a backslash and n).
    plain = {uid: entry["SUMMARY"] for uid, entry in entries.items() if "\\" not in entry["SUMMARY"]}
    assert {todo.uid: todo.name for todo in calendar.todos if todo.uid in plain} == {
        uid: summary for uid, summary in plain.items() if entries[uid]["is"] == "VTODO"
    }


def test_texts_come_back_as_they_were() -> None:
    texts = [entry["DESCRIPTION"] for entry in by_icalendar(BEFORE).values()]
    cautions = [text for text in texts if text.startswith("Caution: Körper nach unten 📷: Spiegel nie berühren, 日本語 ok")]
    assert len(cautions) == 4, "each camera as a task and as an event"
    assert all("\nNeeds: blower, plain bright wall\n" in text for text in cautions)


@pytest.mark.parametrize("file", [BEFORE, AFTER], ids=["before", "after"])
def test_bytes(file: str) -> None:
    data = file.encode()
    lines = data.split(b"\r\n")
    assert lines.pop() == b"" and not any(b"\n" in line or b"\r" in line for line in lines), "§3.1: CRLF"
    assert max(map(len, lines)) <= 75, "§3.1: octets"
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode()
    whole = data.replace(b"\r\n ", b"").decode()
    for part in re.findall(r"BEGIN:(?:VTODO|VEVENT)\r\n.*?END:(?:VTODO|VEVENT)\r\n", whole, re.S):
        assert part.count("\r\nUID:") >= 1 and part.count("\r\nDTSTAMP:") >= 1
        assert "\r\nDURATION" not in part
    for trigger in re.findall(r"\r\nTRIGGER.*", whole):
        assert trigger.strip().startswith("TRIGGER;RELATED=END:-P")


def broken(pattern: str, instead: str) -> str:
    text, count = re.subn(pattern, instead, BEFORE.replace("\r\n ", ""), count=1)
    assert count == 1
    return text


FAULTS = {
    # The fault, and the readers that see it (found with icalendar 7.3.2, vobject 0.9.9, ics 0.7.3).
    "no UID": (r"\r\nUID:[^\r]*", "", {"icalendar", "ics"}),
    "no DTSTAMP": (r"\r\nDTSTAMP:[^\r]*", "", {"icalendar", "vobject", "ics"}),
    "DUE beside DURATION": (r"\r\nDUE[^\r]*", r"\g<0>\r\nDURATION:P1D", {"vobject", "ics"}),
    "a date that is none": (r"\r\nDUE;VALUE=DATE:\d{8}", "\r\nDUE;VALUE=DATE:20260230", {"icalendar", "vobject", "ics"}),
    "an alarm without a trigger": (r"\r\nTRIGGER[^\r]*", "", {"ics"}),
    "a task that does not end": (r"END:VTODO\r\n", "", {"icalendar", "vobject", "ics"}),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_the_readers_would_see_the_fault(fault: str) -> None:
    """Without this, that a reader is content would say nothing."""
    pattern, instead, sees = FAULTS[fault]
    file = broken(pattern, instead)
    readers = {"icalendar": by_icalendar, "vobject": by_vobject, "ics": ics.Calendar}
    for name in sees:
        with pytest.raises(Exception):  # noqa: B017  each reader has its own
            readers[name](file)


def test_pages() -> None:
    found = kitlore.Rules(RULES).standings(items=ITEMS, log=[TRIP], at="2026-05-03")
    page = found.to_html()
    assert page.startswith("<!DOCTYPE html>") and "Kestrel Yard: work sheet" in page
    assert "<h2 id=\"clear\">" not in page and "<h2 id=\"clear\">" in found.to_html(all=True)
