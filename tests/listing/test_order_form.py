"""What an order form says, before any cell: lines in the order of the sheet, and what is counted together."""

from typing import Any

from listkit.listing.order_form import DISPLAY, ITEM, SET, FormText, form_of
from listkit.listing.sheet import document_of
from tests.write.sheets import hard


def form(**terms: Any) -> FormText:
    of = hard(**terms)
    document = document_of(of.catalog)
    assert document is not None
    return form_of(document, of.catalog.shop)


def test_the_display_of_a_set_stands_behind_its_lines() -> None:
    lines = form(display={"price": "half"}).lines
    assert [line.kind for line in lines] == [SET] * 40 + [DISPLAY] + [ITEM] * 2
    assert (lines[40].code, lines[40].packed, lines[40].priced) == ("SET-1 display", (0, 40), (0, 40))
    assert [line.code for line in lines[41:]] == ["B-1", "B-2"]


def test_lines_are_counted_together_where_a_case_may_be_mixed_and_one_of_them_tells() -> None:
    mixed = form(case_pack={"sets": 6, "mixed": True}).lines
    apart = form(case_pack={"sets": 6}).lines
    assert ({line.packed for line in mixed[:40]}, sum(line.leads for line in mixed[:40])) == ({(0, 40)}, 1)
    assert (apart[7].packed, all(line.leads for line in apart)) == ((7, 8), True)
    assert {line.priced for line in apart[:40]} == {(0, 40)}  # for lower prices all choices count


def test_prices_are_wholesale_and_every_tier() -> None:
    made = form(tier=[{"from": 24, "wholesale": "47 %"}, {"from": 48, "wholesale": "45 %"}])
    assert made.tiers == (24, 48)
    assert [f"{price}" for price in made.lines[0].prices] == ["8.75", "8.23", "7.88"]
    assert made.headings[3:7] == ("Wholesale", "From 24", "From 48", "Suggested retail")
