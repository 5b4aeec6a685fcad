"""`listkit show`: what sending costs, and what goes into a case."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from listkit.cli import main
from listkit.compute.build import build_catalog
from listkit.model.packaging import Rate
from listkit.present.sending import sending_text
from tests.shops import clean_shop
from tests.small_shop import GBP, gift_set, item, settings
from tests.small_shop import shop as small_shop


def shown(capsys: pytest.CaptureFixture[str], folder: Path, *words: str) -> str:
    assert main(["show", *words, "--shop", str(folder)]) == 0
    return capsys.readouterr().out


def test_postage_what_saves_a_step_and_free_postage_are_told(
    demo_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By hand: 351 g go up to 600 g for 2.95; 1 g less would cost 2.45. Three of 19.50 reach 40.00."""
    told = shown(capsys, demo_folder, "OHS-6", "--variant", "OHS-6-M01")
    assert "small packet           yes" in told
    assert "length and girth       575 mm" in told  # 165 + 2 · (120 + 85)
    assert "Marsh Packet    home     351 g   600 g   2.95  cheapest" in told
    assert (
        "1 g lighter would ship one step cheaper (£0.50 less); variant OHS-6-M02, or OH-B03 instead of OH-B02" in told
    )
    assert "Postage is free from £40.00: one alone does not reach it, 3 together do." in told
    dear = shown(capsys, demo_folder, "OHS-4", "--variant", "OHS-4-S01")
    assert "to home that costs £3.40 of it, 8 %" in dear
    assert "22.44 on Own web shop" in dear
    [home, abroad] = [line for line in dear.splitlines() if "kept then" in line]
    assert "Saturday stall" not in home + abroad  # whoever stands at the stall is sent nothing


def test_scripts_read_postage_and_cases(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    facts = json.loads(shown(capsys, demo_folder, "OHS-4", "--json"))
    one = facts["variants"][0]
    assert one["small_packet"] is True
    assert one["length_and_girth"] == 240 + 2 * (190 + 105)
    assert one["postage"][1] == {
        "service": "Marsh Parcel",
        "zone": "home",
        "counted": 958,
        "up_to": 1200,
        "price": "4.75",
        "lighter": None,
        "saves": None,
    }
    [case] = facts["cases"]
    assert (case["code"], case["holds"], case["weight"]) == ("C1", 6, 6 * 703 + 410)


def test_a_case_tells_how_the_boxes_stand(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: 164 × 214 stands twice along 410 and once across 310; three times 79 are 237 of 260."""
    told = shown(capsys, demo_folder, "OHS-4")
    assert "case C1: 6 boxes, 2 along × 1 across × 3 up (164 × 214 × 79 mm); 4.6 kg full; a case pack of 2" in told


def test_without_outside_and_rates_nothing_is_made_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path)
    told = shown(capsys, shop, "RRS-1")
    assert "postage" not in told
    assert "case " not in told
    with (shop / "packaging.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[case]]\ncode = "K"\ninside = "40 x 30 x 30 cm"\noutside = "41 x 31 x 31 cm"\nweight = "9 g"\n')
    assert "box S states no outside" in shown(capsys, shop, "RRS-1")


@pytest.mark.parametrize(
    ("freight", "said"),
    [
        ({"free_share": "20 %"}, "Postage is free for 20 % of orders, whatever they come to."),
        (
            {"free_above": "40", "free_share": "20 %"},
            "Postage is free from £40.00: one alone does not reach it, 2 together do; "
            "20 % of such orders go free all the same.",
        ),
        ({"free_above": "40"}, "Postage is free from £40.00: one alone does not reach it, 2 together do."),
        ({}, ""),
    ],
)
def test_a_share_of_orders_that_go_free_is_told_with_and_without_a_free_order_value(
    freight: dict[str, str], said: str
) -> None:
    rate = Rate.model_validate({"service": "slow", "up_to": "2 kg", "price": "3.00"}, context=GBP)
    rules = settings(prices={"uplift": "0"}, freight=freight)
    catalog = build_catalog(
        small_shop([item("A-1", retail="20.00")], [gift_set([{"item": "A-1"}])], settings=rules, rates=(rate,))
    )
    lines = sending_text(catalog.sets[0], catalog.sets[0].variants[0], catalog).splitlines()
    assert [line for line in lines if "Postage is free" in line] == ([said] if said else [])


def test_a_set_that_costs_nothing_is_told_with_what_free_postage_costs() -> None:
    free = settings(prices={"uplift": "0"}, freight={"free_above": "0"})
    of = small_shop([item("A-1", retail="0.00")], [gift_set([{"item": "A-1"}])], settings=free)
    rate = Rate.model_validate({"service": "slow", "up_to": "2 kg", "price": "3.00"}, context=GBP)
    catalog = build_catalog(replace(of, rates=(rate,)))
    facts = catalog.sets[0]
    assert not facts.cheapest.amount
    assert "costs £3.00 of it." in sending_text(facts, facts.variants[0], catalog)
