"""The sheet in words: what is stated is said, what is not is not there."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from listkit.listing.listings import Listings
from listkit.listing.sheet import Document, EntryText, document_of, full_name, sheet_name, sheet_text
from listkit.model.settings import Season
from listkit.paths import path_fault
from tests.write.sheets import hard


def document(of: Listings) -> Document:
    made = document_of(of.catalog)
    assert made is not None
    return made


def bar(**terms: Any) -> EntryText:
    return document(hard(**terms)).text.groups[0].entries[1]


def test_no_term_is_invented() -> None:
    text = document(hard(tier=[], issued=None, opening=None)).text
    assert (text.head, text.terms) == ((), ())
    assert text.notes == (
        "Wholesale prices are before tax.",
        "Retail prices are suggestions; every shop sets its own.",
    )
    assert text.groups[0].window == ()
    assert bar().facts == ("86 × 58 × 28 mm", "119 g", "keeps 12 months from making")


def test_what_is_stated_stands_in_one_order_everywhere() -> None:
    terms = {"case_pack": {"items": 6}, "minimum": {"items": 12}, "oldest": "2 months"}
    assert bar(**terms).facts == (
        "case of 6", "at least 12", "86 × 58 × 28 mm", "119 g", "keeps at least 10 months on arrival",
    )  # fmt: skip


def test_one_choice_is_called_by_what_tells_it_apart() -> None:
    entry = document(hard()).text.groups[0].entries[0]
    assert [line.choice for line in entry.lines[:2]] == ["Rosemary & Rind bar soap", "Lavender & Rind bar soap"]
    assert full_name(entry, entry.lines[0]).endswith(", Rosemary & Rind bar soap")
    assert entry.contents[-1] == "A jar of your choosing, 110 g"


def test_files_are_called_by_as_much_as_is_stated() -> None:
    assert sheet_name(document(hard(issued=None)).sheet, "CN69X") == "CN69X"
    assert sheet_name(document(hard(season="Été / fête")).sheet, "CN69X") == "été-fête-2027-01-15-CN69X"
    for long in ("spring " * 60, "春" * 200, "\U00020000" * 100):  # whatever a season is called, the file can be named
        name = sheet_name(document(hard(season=long)).sheet, "CN69X")
        assert name.endswith("-2027-01-15-CN69X")
        assert path_fault(f"wholesale/line-sheet-{name}.pdf") == ""


def test_windows_are_said_as_far_as_they_are_known() -> None:
    def window(**says: str) -> object:
        return document(hard(window=says)).text.groups[0].window

    assert window(order_by="2027-02-28") == (("Order by", "28 Feb 2027"),)
    assert window(ships_from="2027-03-01") == (("Ships", "from 1 Mar 2027"),)
    assert window(ships_until="2027-04-15") == (("Ships", "until 15 Apr 2027"),)
    assert window(ships_from="2027-03-01", ships_until="2027-04-15") == (("Ships", "1 Mar 2027 to 15 Apr 2027"),)
    days = {"order_by": "2027-04-15", "ships_from": "2027-03-01"}
    assert window(**days, ships="as ordered") == (
        ("Order by", "15 Apr 2027"),
        ("Ships", "from 1 Mar 2027, as ordered"),
    )


def test_a_group_may_be_sent_at_any_time_beside_others_with_days() -> None:
    group = [
        {"title": "Spring", "lines": ["SET-1"]},
        {"title": "Always", "lines": ["B-1"], "window": "any time"},
    ]
    groups = document(hard(group=group, window={"order_by": "2027-02-28"})).text.groups
    assert [each.window for each in groups] == [(("Order by", "28 Feb 2027"),), (("Ships", "any time"),)]


@pytest.mark.parametrize(
    ("seasons", "says"),
    [
        ((("spring", "2027-02-15", "2027-05-10"), ("autumn", "2027-09-06", "2027-10-31")), "Spring to autumn 2027"),
        ((("spring", "2027-02-15", "2027-05-10"), ("spring", "2027-02-15", "2027-05-10")), "Spring 2027"),
        (
            (("winter", "2026-11-02", "2027-01-06"), ("spring", "2027-02-15", "2027-05-10")),
            "Winter 2026 to spring 2027",
        ),
        ((("all year", "2026-11-02", "2027-10-31"), ("spring 2027", "2027-02-15", "2027-05-10")), "Spring 2027"),
        ((), "As stated"),
    ],
)
def test_a_sheet_says_the_seasons_that_its_sets_span(
    seasons: tuple[tuple[str, str, str], ...], says: str, demo: Listings
) -> None:
    """What is on sale nearly all year is of no season; without one the sheet says what its terms do."""
    document = document_of(demo.catalog)
    assert document is not None
    sheet = document.sheet
    entries = [entry for entry in sheet.entries if entry.facts][: max(1, len(seasons))]
    spans: list[Season | None] = [
        Season(name=name, on_sale=date.fromisoformat(first), off_sale=date.fromisoformat(last))
        for name, first, last in seasons
    ]
    made = tuple(
        replace(entry, facts=replace(entry.facts, season=season))
        for entry, season in zip(entries, spans or [None], strict=True)
        if entry.facts
    )
    terms = sheet.terms.model_copy(update={"season": "as stated"})
    text = sheet_text(
        replace(sheet, terms=terms, groups=(replace(sheet.groups[0], entries=made),)), demo.catalog.shop, document.voice
    )
    assert dict(text.head)["Season"] == says


@pytest.mark.parametrize(
    ("carriage", "free", "told"),
    [
        ("£7.50 a parcel", "50", "£7.50 a parcel; free with an order of £50.00 or more"),
        ("at cost within 350 km, then £35", "35.00", "at cost within 350 km, then £35"),
        ("free from £1,000", "1000", "free from £1,000"),
        ("frei ab 1.000,00", "1000", "frei ab 1.000,00"),
        ("£12 a parcel, 2 to 3 days", "2.5", "£12 a parcel, 2 to 3 days; free with an order of £2.50 or more"),
    ],
)
def test_from_what_sum_carriage_is_free_is_left_out_only_where_the_terms_say_that_sum(
    carriage: str, free: str, told: str
) -> None:
    """Of £7.50 a parcel the 50 is no sum: the sheet kept silent that carriage is free from £50."""
    text = document(hard(carriage=carriage, carriage_free=free)).text
    assert dict(text.terms)["Carriage"] == told
