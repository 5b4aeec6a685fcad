"""Tests of one price a variant in every country.

That buyers compare channels is common practice, no source.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from listkit.check.places import CheckContext
from listkit.check.prices import price_parity
from listkit.listing.listings import Listing, Listings
from listkit.units.money import Money
from tests.write.two_sets import channel, listings


def dearer(listing: Listing) -> Listing:
    """The listing with its first variant at 99."""
    first = listing.offers[0]
    prices = replace(first.variant.prices, price=Money(Decimal("99.00"), "GBP"))
    offer = replace(first, variant=replace(first.variant, prices=prices))
    return replace(listing, offers=(offer, *listing.offers[1:]))


def told(of: Listings) -> list[str]:
    return [str(problem) for problem in price_parity(of, CheckContext(date(2027, 3, 1)))]


def test_a_shop_as_it_is_computed_has_one_price_everywhere() -> None:
    assert told(listings(channel("a"), channel("b"))) == []


def test_a_variant_with_two_prices_is_told_with_both_channels() -> None:
    of = listings(channel("a", name="Shop"), channel("b", name="Fair"))
    changed = replace(of, listings=(dearer(of.listings[0]), *of.listings[1:]))
    assert told(changed) == [
        "Must fix · sets/first-nectar/set.toml: OHS-1-M02-L01 costs £99.00 on Shop and £23.50 on Fair. Buyers compare; "
        "let all channels of a country show one price."
    ]


def test_channels_of_other_countries_may_have_other_prices() -> None:
    of = listings(channel("a"), channel("b"))
    changed = replace(of, listings=(replace(dearer(of.listings[0]), country="IE"), *of.listings[1:]))
    assert told(changed) == []
