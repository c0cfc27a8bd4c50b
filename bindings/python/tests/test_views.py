"""What notebooks show: escaped, readable without colour, nothing fetched; and pictures."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import kitlore
import pytest
from test_objects import COLUMNS, STUDIO, studio

HOSTILE = "<script>alert('x')</script>&\"'"


class Reader(HTMLParser):
    """Texts, tags and attributes of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def hostile() -> tuple[kitlore.Rules, kitlore.Standings]:
    name = HOSTILE.replace('"', "")
    rules = kitlore.Rules(
        f'house "{name}"\nfor cameras\n  after 2 "{name}", "wipe {name}"\n    needs "{name}"\n    by "{name}"\n'
        f'    because "{name}"\n    caution "{name}"\n',
        name=HOSTILE,
    )
    items = [{"id": HOSTILE, "kind": "camera", "received": "2026-01-10"}]
    log = [{"when": "2026-02-07", "item": HOSTILE, "event": name, "amount": 3}]
    log.append({"when": "2026-02-07", "item": HOSTILE, "event": f"other {name}"})
    return rules, rules.standings(items, log, "2026-02-08")


def pages() -> list[tuple[str, str]]:
    rules, found = hostile()
    large = studio()
    return [
        ("rules", rules._repr_html_()),
        ("standings", found._repr_html_()),
        ("why", found.why(HOSTILE)._repr_html_()),
        ("studio", large._repr_html_()),
        ("studio why", large.why(large.rows[0].item)._repr_html_()),
        ("nothing", rules.standings([], at="2026-02-08")._repr_html_()),
    ]


@pytest.mark.parametrize(("name", "page"), pages(), ids=[name for name, _ in pages()])
def test_pages_are_harmless(name, page):
    read = Reader(page)
    assert read.open == []
    assert set(read.tags) <= {"div", "p", "b", "table", "thead", "tbody", "tr", "th", "td", "span", "details", "summary", "pre", "br", "ul", "li"}
    assert {attribute for attribute, _ in read.attributes} <= {"style", "scope"}
    styles = " ".join(value or "" for attribute, value in read.attributes if attribute == "style")
    # Neither a text's colour nor a page's is set: dark and light pages keep their own.
    assert not re.search(r"(?<![-\w])(color|background-color)\s*:|url\(|@import", styles)


class Kept(HTMLParser):
    """What a page says within and outside of what no end of a line parts."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.depth: list[bool] = []
        self.whole = ""
        self.loose = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        if tag != "br":
            self.depth.append("white-space:nowrap" in (dict(attrs).get("style") or ""))

    def handle_endtag(self, tag):
        self.depth.pop()

    def handle_data(self, data):
        if any(self.depth):
            self.whole += f" {data}"
        else:
            self.loose += f" {data}"


def test_dates_and_ids_are_whole():
    found = studio()
    rules = kitlore.Rules.load(STUDIO / "house.lore")
    book = rules.book(STUDIO / "inventory.xlsx", STUDIO / "log.csv", columns=COLUMNS)
    trip = book.trip("0147", at="2026-11-25")
    day = re.compile(r"\d{4}-\d\d-\d\d")
    views = [found._repr_html_(), found.why("CAM-01")._repr_html_(), found.ahead(30)._repr_html_(), trip._repr_html_()]
    for page in views:
        kept = Kept(page)
        assert day.search(kept.whole) and not day.search(kept.loose), kept.loose
        assert "CAM-01" in kept.whole
    # Beside their rows no id of the studio stands loose but in the words of the data's problems.
    rows = found._repr_html_().split("<details>")[0]
    assert "CREW-3" in Kept(rows).whole and "CREW-3" not in Kept(rows).loose
    # A very long one may be broken.
    long = kitlore.Rules("for cameras\n after 5 days, wipe").standings(
        [{"id": "C" * 60, "kind": "camera", "received": "2026-01-10"}], at="2026-02-08"
    )
    assert "C" * 60 in Kept(long._repr_html_()).loose


def test_no_caution_is_hidden():
    found = studio()
    page = Reader(found._repr_html_()).text
    cautions = {text for row in found.rows if row.standing != "clear" for text in row.cautions}
    assert cautions
    assert all(text in page for text in cautions)


def test_foreign_text_is_shown_as_it_is():
    rules, found = hostile()
    name = HOSTILE.replace('"', "")
    assert name in Reader(rules._repr_html_()).text
    text = Reader(found._repr_html_()).text
    assert HOSTILE in text and f"wipe {name}" in text and "unknown-event" in text
    account = Reader(found.why(HOSTILE)._repr_html_()).text
    assert account.count(name) >= 5 and "overdue" in account


def test_standings_are_words():
    found = studio()
    text = Reader(found._repr_html_()).text
    for word in {row.standing for row in found} - {"clear"}:
        assert word in text
    many = kitlore.Rules("for cameras\n after 5 days, wipe body").standings(
        [{"id": f"C{number}", "kind": "camera", "received": "2026-01-10"} for number in range(100)], at="2026-02-08"
    )
    page = Reader(many._repr_html_())
    assert "100 overdue" in page.text and "and 40 more rows" in page.text and page.tags.count("tr") == 61


def test_plot_ahead():
    found = studio()
    figure = found.plot_ahead(60)
    (axes,) = figure.axes
    shown = {row.item for row in found if row.due_at and row.due_at.date().isoformat() <= "2027-01-24"}
    assert {label.get_text() for label in axes.get_yticklabels()} == shown
    points = sum(len(collection.get_offsets()) for collection in axes.collections)
    assert points == sum(row.due_at is not None and row.due_at.date().isoformat() <= "2027-01-24" for row in found)
    empty = kitlore.Rules("for cameras\n after 5 days, wipe body").standings([], at="2026-02-08").plot_ahead()
    assert [text.get_text() for text in empty.axes[0].texts] == ["nothing falls due"]


def test_plot_history():
    book = kitlore.Rules("for cameras\n  after 20 lens changes or 3 shoots, inspect sensor").book(
        [{"id": "C1", "kind": "camera"}],
        [
            {"when": "2026-02-03", "event": "lens change", "item": "C1", "amount": 12},
            {"when": "2026-02-05", "event": "lens change", "item": "C1", "amount": 9},
            {"when": "2026-02-06", "event": "inspect sensor", "item": "C1"},
            {"when": "2026-02-08", "event": "lens change", "item": "C1", "amount": 2},
        ],
    )
    points = book.history("C1", since="2026-02-01", until="2026-02-09")
    counts = [int(point["count"]) for point in points if point["text"] == "20 lens changes"]
    assert counts == [0, 0, 12, 12, 21, 0, 0, 2, 2]
    figure = book.plot_history("C1", since="2026-02-01", until="2026-02-09")
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["inspect sensor: 20 lens changes", "inspect sensor: 3 shoots"]
    step, limit, done = figure.axes[0].get_lines()
    assert list(step.get_ydata()) == counts and list(limit.get_ydata()) == [20, 20]
    assert [day.isoformat() for day in done.get_xdata()] == ["2026-02-06"] * 2
    with pytest.raises(kitlore.NoRowError, match="`C2`"):
        book.plot_history("C2", until="2026-02-09")
    with pytest.raises(kitlore.InputTypeError, match="`soon`"):
        book.plot_history("C1", until="soon")
