"""What a listing shows and says while a reduction is in force."""

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Announced, Listing, Listings, OnDay, PriorPrice
from listkit.model.shop import Shop
from listkit.units.money import Money
from listkit.write.json_feed import product_group
from tests.listing.shops import channel, folder, shop

TENTH = {"from": "2027-03-01", "until": "2027-03-07", "by": "10 %"}
DAY = datetime.date(2027, 3, 3)
JAR, SCRUB = "HHS-1-U1", "HHS-1-S1"  # 29.00 and 27.00


def pounds(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


def priors(**lowest: str) -> tuple[PriorPrice, ...]:
    return tuple(PriorPrice("web", code.replace("_", "-"), pounds(price)) for code, price in lowest.items())


def reducing(*, text: str = "plain", **says: object) -> Shop:
    return shop(folder(reduction=[TENTH | says]), channels=(channel(text=text), channel("fair", text=text)))


def on(*known: PriorPrice, announce: bool = True) -> OnDay:
    return OnDay(DAY, known, announce)


def first(of: Listings) -> Listing:
    return of.listings[0]


BOTH = priors(HHS_1_U1="29.00", HHS_1_S1="27.00")


def test_prices_follow_and_the_text_with_them() -> None:
    listing = first(build_listings(build_catalog(reducing()), on(*BOTH)))
    assert [str(offer.price) for offer in listing.offers] == ["26.10", "24.30"]
    assert [str(offer.usual_price) for offer in listing.offers] == ["29.00", "27.00"]
    assert "from £24.30 to £26.10" in listing.plain
    assert (
        "Now sugar scrub £24.30 (was £27.00) and body butter £26.10 (was £29.00) until 7 March 2027." in listing.plain
    )
    assert "“Was” is the lowest price of the 30 days before." in listing.plain


def test_one_price_for_all_is_said_in_one_sentence() -> None:
    one = folder(reduction=[TENTH], contents=[{"item": "HH-B1"}, {"item": "HH-L1"}])
    listing = first(build_listings(build_catalog(shop(one)), on(*priors(HHS_1="13.00"))))
    assert "<p>Was £13.00, now £11.70 until 7 March 2027." in listing.description


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_nothing_is_said_where_no_prior_price_is_lawful(text: str) -> None:
    listing = first(build_listings(build_catalog(reducing(text=text)), on()))
    assert "was £" not in listing.description
    assert listing.reduction is not None
    assert listing.reduction.silent == "HHS-1-S1: no price before is known."
    assert listing.offers[0].prior is None


def test_a_prior_price_that_is_no_higher_is_not_announced() -> None:
    """CJEU C-330/23: what is not lower than the lowest price of the days before is no reduction."""
    listing = first(build_listings(build_catalog(reducing()), on(*priors(HHS_1_U1="26.10", HHS_1_S1="27.00"))))
    assert listing.reduction is not None
    assert listing.reduction.announced == (Announced(pounds("24.30"), pounds("27.00"), ("sugar scrub",)),)
    assert "£26.10 (was" not in listing.plain


def test_of_variants_with_one_price_the_lowest_prior_price_counts_and_none_where_one_has_none() -> None:
    alike = reducing()
    dearest = alike.settings.model_copy(
        update={"prices": alike.settings.prices.model_copy(update={"option_prices": "dearest"})}
    )
    catalog = build_catalog(replace(alike, settings=dearest))
    said = first(build_listings(catalog, on(*priors(HHS_1_U1="29.00", HHS_1_S1="28.00"))))
    assert "Was £28.00, now £26.10 until 7 March 2027." in said.plain
    silent = first(build_listings(catalog, on(*priors(HHS_1_U1="29.00"))))
    assert "was £" not in silent.plain.lower()


def test_nothing_is_said_where_that_is_not_wished() -> None:
    listing = first(build_listings(build_catalog(reducing()), on(*BOTH, announce=False)))
    assert [str(offer.price) for offer in listing.offers] == ["26.10", "24.30"]
    assert "was £" not in listing.plain
    assert listing.reduction is not None
    assert listing.reduction.silent == ""


def test_channels_with_and_without_a_reduction_do_not_share_their_texts() -> None:
    web, fair = build_listings(build_catalog(reducing(channels=["web"])), on(*BOTH)).listings
    assert "£26.10 (was £29.00)" in web.plain
    assert "from £27.00 to £29.00" in fair.plain
    assert fair.reduction is None


def test_the_last_day_of_a_price_is_that_of_the_season_or_before_the_next_turn() -> None:
    def until(day: datetime.date | None) -> str:
        return str(first(build_listings(build_catalog(reducing()), OnDay(day))).price_until)

    assert until(None) == "2027-05-10"
    assert until(datetime.date(2027, 2, 20)) == "2027-02-28"
    assert until(DAY) == "2027-03-07"
    assert until(datetime.date(2027, 3, 8)) == "2027-05-10"


def test_without_a_day_no_reduction_is_in_force() -> None:
    listing = first(build_listings(build_catalog(reducing())))
    assert [str(offer.price) for offer in listing.offers] == ["29.00", "27.00"]


def test_the_price_before_stands_in_the_vocabulary_as_struck_through() -> None:
    """schema.org 30.0: StrikethroughPrice is a priceType of a UnitPriceSpecification."""
    listing = first(build_listings(build_catalog(reducing()), on(*BOTH)))
    offer = product_group(listing)["hasVariant"][0]["offers"]
    assert (offer["price"], offer["priceValidUntil"]) == ("26.10", "2027-03-07")
    assert offer["priceSpecification"] == {
        "@type": "UnitPriceSpecification",
        "priceType": "https://schema.org/StrikethroughPrice",
        "price": "29.00",
        "priceCurrency": "GBP",
    }
