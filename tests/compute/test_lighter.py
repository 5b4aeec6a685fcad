"""What would bring a parcel a step down, reckoned on the demo shop by hand.

No source beyond the shop's own rates.
"""

from dataclasses import replace

from listkit.compute.box.searches import Searches
from listkit.compute.catalog import SetFacts
from listkit.compute.freight import Way, postage, ways_down
from listkit.listing.listings import Listings
from listkit.model.packaging import Carton
from listkit.units.weight import Weight


def pocket_hive(demo: Listings) -> SetFacts:
    return next(facts for facts in demo.catalog.sets if facts.code == "OHS-6")


def test_a_lighter_jar_a_lighter_bar_or_no_card_save_a_gram(demo: Listings) -> None:
    """By hand: 351 g lie 1 g above 350. The butter is 16 g lighter, the fennel bar 5 g, the card 14 g; box P is the
    smallest, so no box is lighter; no other bar of its form weighs less."""
    facts, shop = pocket_hive(demo), demo.catalog.shop
    one = next(one for one in facts.variants if one.code == "OHS-6-M01")
    first = postage(one.weights, facts.carton, shop.rates, shop.settings.freight.packet)[0]
    assert first.lighter == Weight.parse("1 g")
    assert ways_down(facts, one, first, shop, Searches()) == (
        Way("variant", "OHS-6-M02"),
        Way("item", "OH-B03", "OH-B02"),
        Way("card", ""),
    )


def test_another_box_helps_where_it_holds_the_set(demo: Listings) -> None:
    """By hand: in box S, with its carton, it would weigh 52 g more than in P; so P is told to one that lies in S."""
    facts, shop = pocket_hive(demo), demo.catalog.shop
    box = next(box for box in shop.packaging.boxes if box.code == "S")
    one = facts.variants[0]
    weights = replace(one.weights, gift=one.weights.gift + Weight.parse("26 g"), parcel=Weight.parse("403 g"))
    larger = replace(facts, box=box, carton=box.carton)
    one = replace(one, box=box, carton=box.carton)
    assert isinstance(box.carton, Carton)
    [rate, *_] = postage(weights, box.carton, shop.rates, shop.settings.freight.packet)
    assert rate.lighter == Weight.parse("53 g")
    assert Way("box", "P") not in ways_down(larger, replace(one, weights=weights), rate, shop, Searches())
    nearer = replace(rate, lighter=Weight.parse("52 g"))
    assert Way("box", "P") in ways_down(larger, replace(one, weights=weights), nearer, shop, Searches())
