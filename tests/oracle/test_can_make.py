"""What can be made of a set, tried out: the most of all ways to make its open variants from what is there."""

import json
from pathlib import Path

import pytest

from tests.oracle.compared import run
from tests.oracle.reading import read_shop
from tests.oracle.stock import set_can_make
from tests.oracle.stock_shops import write_stock_shop

DAILY = range(100, 112)
LONG = range(200, 800)


def differing(seeds: range, folder: Path) -> list[str]:
    """Return the shops of which listkit says another count."""
    wrong = []
    for seed in seeds:
        place = write_stock_shop(folder / f"shop-{seed}", seed)
        shop = read_shop(place)
        said = json.loads(run("show", "STS-1", "--json", "--shop", str(place)))["can_make"]
        tried = set_can_make(shop.sets["STS-1"], shop)
        if said != tried:
            wrong.append(f"{place}: {said}, tried out {tried}")
    return wrong


def test_what_can_be_made_of_a_set_is_the_most_that_its_open_variants_allow(tmp_path: Path) -> None:
    assert differing(DAILY, tmp_path) == []


@pytest.mark.long
def test_what_can_be_made_of_six_hundred_sets_is_what_trying_out_gives(tmp_path: Path) -> None:
    wrong = differing(LONG, tmp_path)
    assert wrong == [], f"{len(wrong)} of {len(LONG)}"


def test_the_shops_tried_hold_unlike_quantities_closed_variants_and_counted_boxes(tmp_path: Path) -> None:
    shops = [read_shop(write_stock_shop(tmp_path / f"shop-{seed}", seed)) for seed in DAILY]
    slots = [[entry["quantity"] for entry in shop.sets["STS-1"]["contents"] if "slot" in entry] for shop in shops]
    assert any(len(set(quantities)) > 1 for quantities in slots)
    assert any("variant" in shop.sets["STS-1"] for shop in shops)
    assert any("on_hand" in shop.packaging["box"][0] for shop in shops)
