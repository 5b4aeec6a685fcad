"""`listkit show`: the row of each box, of variants of which some go in, some do not, and some nobody knows."""

from dataclasses import replace

from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.present.gift_set import boxes_json, boxes_text
from tests.small_shop import gift_set, item, shop

LARGE = {"size": "80 x 80 x 80 mm"}


def rows(*large: str) -> list[str]:
    """Return the rows of a set of one of three bars, those of `large` too high for box S, when nothing may be tried."""
    items = [item(code, **(LARGE if code in large else {})) for code in ("B1", "B2", "B3")]
    catalog = build_catalog(shop(items, [gift_set([{"slot": "Bar", "choose": ["B1", "B2", "B3"]}])]))
    facts, starved = catalog.sets[0], replace(catalog, searches=Searches(left=0))
    (row,) = boxes_json(facts, facts.variants, starved)
    assert row["does_not_take"] == [f"SET-1-{code}" for code in large]
    assert row["fits"] is False
    return [" ".join(line.split()) for line in boxes_text(facts, facts.variants, starved).splitlines()[1:]]


def test_variants_that_go_nowhere_and_those_not_decided_are_told_apart() -> None:
    nothing = "not tried, for other boxes had used up what may be tried"
    assert rows() == [f"S (this one) not decided: {nothing} – 10 %"]
    assert rows("B2") == [
        f"S (this one) not all; SET-1-B1, SET-1-B3 not decided: {nothing} – 37 % SET-1-B2",
    ]
    assert rows("B1", "B2", "B3") == ["S (this one) no – 37 %"]
