"""The demo shop against the table that was worked out for it by hand, row by row."""

from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.listing.build import build_listings
from listkit.read.shop import read_shop
from listkit.save.save import save
from listkit.write import csv_feed, json_feed, xlsx_feed
from listkit.write.context import WriteContext
from tests.shops import DEMO, demo_photos

# code: price, full cost, half-retail over cost at its lowest, gift g, parcel g, volumetric g, fill, sets possible
WORKED = {
    "OHS-1": ("27.00–29.00", "8.83–9.28", "1.53", "443–507", "531–595", "570", "36", 58),
    "OHS-2": ("33.50", "10.28–10.33", "1.62", "567–577", "655–665", "570", "42", 45),
    "OHS-3": ("32.00–34.00", "10.69–11.19", "1.48", "590–654", "710–774", "958", "34", 22),
    "OHS-4": ("42.00", "15.04–15.09", "1.39", "693–703", "813–823", "958", "30", 14),
    "OHS-5": ("34.00–36.00", "12.90–13.40", "1.32", "774–848", "939–1013", "1340", "31", 25),
    "OHS-6": ("19.50", "6.24–6.34", "1.54", "273–291", "335–353", "337", "37", 71),
}


@pytest.fixture(scope="module")
def demo() -> dict[str, SetFacts]:
    shop, problems = read_shop(DEMO, photo_facts=demo_photos())
    assert problems == []
    return {facts.code: facts for facts in build_catalog(shop).sets}


def test_the_demos_channels_take_csv_json_and_xlsx_and_each_feed_is_accepted_when_read_again(tmp_path: Path) -> None:
    shop, _ = read_shop(DEMO, photo_facts=demo_photos())
    listings = build_listings(build_catalog(shop))
    writers = (csv_feed, json_feed, xlsx_feed)
    saved = save([job for one in writers for job in one.write(listings, WriteContext("1"))], tmp_path)
    assert saved.failures == ()
    feeds = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("feed.*") if path.stem == "feed")
    assert feeds == ["hedgerow_fair/feed.json", "stall/feed.xlsx", "web_shop/feed.csv", "web_shop_fr/feed.csv"]


def span(figures: list[Decimal], digits: str) -> str:
    low, high = (f"{figure.quantize(Decimal(digits), ROUND_HALF_UP)}" for figure in (min(figures), max(figures)))
    return low if low == high else f"{low}–{high}"


@pytest.mark.parametrize("code", WORKED)
def test_the_demo_sets_come_out_as_worked_by_hand(code: str, demo: dict[str, SetFacts]) -> None:
    facts = demo[code]
    parcels = [one.weights.parcel.grams for one in facts.variants if one.weights.parcel]
    volumes = [one.weights.volumetric.grams for one in facts.variants if one.weights.volumetric]
    thinnest = min(one.price.amount / 2 / one.exact_cost for one in facts.variants)
    assert WORKED[code] == (
        span([one.price.amount for one in facts.variants], "0.01"),
        span([one.full_cost.amount for one in facts.variants], "0.01"),
        f"{thinnest.quantize(Decimal('0.01'), ROUND_HALF_UP)}",
        span([one.weights.gift.grams for one in facts.variants], "1"),
        span(parcels, "1"),
        span(volumes, "1"),
        span([(one.fill_share or Decimal(0)) * 100 for one in facts.variants], "1"),
        facts.can_make,
    )


def test_the_demo_holds_the_awkward_cases(demo: dict[str, SetFacts]) -> None:
    bars = demo["OHS-7"]
    assert bars.box is None
    assert [one.can_make for one in bars.variants].count(0) == 1, "a sold-out option"
    assert bars.variants[0].gtin == bars.variants[0].pieces[0].item.gtin, "one piece without box has its item's GTIN"
    pair = demo["OHS-8"]
    ways = len(pair.source.gift_set.slots[0].choose) * len(pair.source.gift_set.slots[1].choose)
    assert len(pair.variants) == ways - 1, "one pair is not together"
    every = [item for facts in demo.values() for item in facts.items]
    assert any("é" in item.name for item in every)
    assert any("&" in item.name for item in every)
    assert any(item.larger for item in every)
    assert any(item.on_hand == 9 for item in every)


def test_five_sets_promise_more_jars_than_there_are(demo: dict[str, SetFacts]) -> None:
    """164 sets where 119 jars are, counted by hand from the stock table."""
    assert sum(demo[code].can_make or 0 for code in ("OHS-1", "OHS-2", "OHS-3", "OHS-4", "OHS-5")) == 164
    jars = {item.code: item.on_hand or 0 for facts in demo.values() for item in facts.items}
    assert sum(jars[code] for code in ("OH-S01", "OH-S02", "OH-S03", "OH-U01", "OH-U02")) == 119
