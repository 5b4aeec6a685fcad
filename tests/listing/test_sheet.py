"""The sheet in words: what is stated is said, what is not is not there."""

from typing import Any

from listkit.listing.listings import Listings
from listkit.listing.sheet import Document, EntryText, document_of, full_name, sheet_name
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
