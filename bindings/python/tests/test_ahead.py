"""The days ahead: rows, frames, pages, pictures."""

from __future__ import annotations

from datetime import date, timedelta

import kitlore
import pytest

RULES = kitlore.Rules(
    'house "Kestrel Yard"\nfor cameras\n  after 20 uses, inspect sensor\n    caution "Blower only."\n  after 90 days, wipe body'
)
ITEMS = [{"id": f"C{number}", "kind": "camera", "received": "2025-06-01"} for number in (1, 2)]
LOG: list[dict[str, object]] = [
    {"when": date(2025, 6, 2) + timedelta(days=3 * number), "item": item, "event": "use"}
    for number in range(80)
    for item in ("C1", "C2")
]
LOG += [{"when": "2026-01-28T20:00:00", "item": item, "event": "inspect sensor"} for item in ("C1", "C2")]


def test_rows_are_those_of_the_command_line() -> None:
    found = RULES.ahead(ITEMS, LOG, "2026-01-31", days=120, seed=5)
    assert [(row.item, row.task) for row in found] == [
        ("C1", "inspect sensor"),
        ("C1", "wipe body"),
        ("C2", "inspect sensor"),
        ("C2", "wipe body"),
    ]
    row = found.rows[0]
    assert row.enough and row.p10 is not None and row.p50 is not None and row.p90 is not None
    assert date(2026, 1, 31) < row.p10 <= row.p50 <= row.p90 <= date(2026, 5, 31)
    assert len(row.by_day) == 121 and list(row.by_day) == sorted(row.by_day)
    assert row.by_day[-1] == row.chance and row.cautions == ("Blower only.",)
    assert (found.house, found.days, found.seed, len(found)) == ("Kestrel Yard", 120, 5, 4)
    assert found.problems == [] and found.to_dicts()["rows"][0]["p50"] == str(row.p50)


def test_standings_look_ahead_from_their_instant() -> None:
    standings = RULES.standings(ITEMS, LOG, "2026-01-31")
    assert standings.ahead(120, seed=5).to_dicts() == RULES.ahead(ITEMS, LOG, "2026-01-31", days=120, seed=5).to_dicts()


def test_plans_count() -> None:
    book = RULES.book(ITEMS, LOG)
    book.record(when="2026-02-02", until="2026-02-06", item="C1", event="use", amount=1, expect="use 5")
    first, second = (row for row in book.ahead("2026-01-31") if row.task == "inspect sensor")
    assert first.p90 is not None and first.p90 <= date(2026, 2, 6) < (second.p10 or date.max)
    assert "planned 2026-02-02 to 2026-02-06" in first.basis


def test_frames_have_a_row_for_each_forecast() -> None:
    found = RULES.ahead(ITEMS, LOG, "2026-01-31")
    table = found.to_arrow()
    assert table.num_rows == 4 and table["p50"].to_pylist() == [row.p50 for row in found]
    assert found.to_polars().height == 4 and len(found.to_pandas()) == 4


def test_views_show_cautions() -> None:
    found = RULES.ahead(ITEMS, LOG, "2026-01-31", days=120)
    assert "Blower only." in found._repr_html_() and "inspect sensor" in found._repr_html_()
    assert found.to_html().startswith("<!") and "Blower only." in found.to_html()
    figure = found.plot_ahead()
    assert figure.axes[0].get_yticklabels()[0].get_text().startswith("C")


@pytest.mark.parametrize("wrong", [{"days": -1}, {"days": 4_000}, {"seed": -1}, {"seed": 1 << 64}])
def test_what_cannot_be_asked_is_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong))):
        RULES.ahead(ITEMS, LOG, "2026-01-31", **wrong)
