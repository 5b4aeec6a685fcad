"""`listkit show`: what JSON says of each variant."""

from listkit.compute.build import build_catalog
from listkit.present.gift_set import set_json
from tests.small_shop import channel, gift_set, item, settings, shop


def test_each_variant_has_its_status_and_what_each_channel_takes_of_its_price() -> None:
    """By hand: 12.00 holds 2.00 tax at 20 %, and 10 % of it with 0.30 is 1.50."""
    bars = gift_set(
        [{"slot": "Bar", "choose": ["B1", "B2", "B3"]}],
        box="none",
        status="last chance",
        variant=[{"options": {"Bar": "B2"}, "status": "closed"}, {"options": {"Bar": "B3"}, "status": "on sale"}],
    )
    items = [item(code, retail="12.00", cost="4.00") for code in ("B1", "B2", "B3")]
    on = channel(fee="10 %", fixed_fee="0.30")
    catalog = build_catalog(shop(items, [bars], settings=settings(prices={"tax": "20 %"}), channels=(on,)))
    variants = set_json(catalog.sets[0], catalog.sets[0].variants, catalog)["variants"]
    assert [one["status"] for one in variants] == ["last chance", "closed", "on sale"]
    assert variants[0]["taken"] == {"stall": {"tax": "2.00", "fee": "1.50", "postage": "0.00"}}
    assert variants[0]["kept"] == {"stall": "4.50"}
