"""Pictures of another place, and which of a set's pictures each variant has."""

from typing import Any

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listing
from tests.listing.shops import channel, folder, photo, shop

PHOTOS = (
    photo("group.jpg", "group", shows=["HH-U1", "HH-S1"]),
    photo("jar.jpg", "detail", shows=["HH-U1"]),
    photo("scrub.jpg", "detail", shows=["HH-S1"]),
    photo("open.jpg", "open box", shows=["HH-U1"]),
)
FRENCH: dict[str, Any] = {"photos_of": "web", "make": ["feed"], "crop": [], "photo_address": ""}


def by_place(**borrower: Any) -> dict[str, Listing]:
    channels = [channel("fair", **(FRENCH | borrower)), channel("web")]
    found = build_listings(build_catalog(shop(folder(photos=PHOTOS), channels=channels)))
    return {listing.channel.key: listing for listing in found}


def names(addresses: tuple[str, ...]) -> list[str]:
    return [address.rpartition("/")[2] for address in addresses]


def test_a_place_shows_the_pictures_of_another_under_their_address() -> None:
    made = by_place()
    assert list(made) == ["fair", "web"]
    assert [offer.images for offer in made["fair"].offers] == [offer.images for offer in made["web"].offers]
    assert made["fair"].offers[0].images[0].startswith("https://hh.example/p/low-tide-detail-u1")


def test_its_own_address_and_limit_count() -> None:
    made = by_place(photo_address="https://fair.example/", limits={"photos": 1})
    assert made["fair"].offers[0].images == ("https://fair.example/low-tide-group-grid.jpg",)


def test_what_the_other_place_does_not_show_has_no_picture_to_lend() -> None:
    channels = [channel("fair", **FRENCH), channel("web", sets=["HHS-9"])]
    [listing] = build_listings(build_catalog(shop(folder(photos=PHOTOS), channels=channels)))
    assert listing.offers[0].images == ()


def test_of_pieces_without_a_box_nobody_is_shown_another_choice() -> None:
    bars = folder(photos=PHOTOS[:3], box="none", contents=[{"slot": "Jar", "choose": ["HH-U1", "HH-S1", "HH-M1"]}])
    [listing] = build_listings(build_catalog(shop(bars)))
    assert [names(offer.images) for offer in listing.offers] == [
        ["low-tide-detail-u1-grid.jpg"], ["low-tide-detail-s1-grid.jpg"], [],
    ]  # fmt: skip


def test_a_variant_has_its_own_picture_first_then_all_that_show_the_set() -> None:
    jar, scrub = by_place()["web"].offers
    assert names(jar.images) == [
        "low-tide-detail-u1-grid.jpg", "low-tide-group-grid.jpg", "low-tide-open-box-u1-grid.jpg",
    ]  # fmt: skip
    assert names(scrub.images) == [
        "low-tide-detail-s1-grid.jpg", "low-tide-group-grid.jpg", "low-tide-open-box-u1-grid.jpg",
    ]  # fmt: skip


def test_only_pictures_that_are_lent_have_words_here() -> None:
    channels = [channel("fair", **FRENCH), channel("web", limits={"photos": 2})]
    borrowing, lending = build_listings(build_catalog(shop(folder(photos=PHOTOS), channels=channels)))
    assert [shown.photo.name for shown in borrowing.photos] == ["group.jpg", "jar.jpg"]
    assert borrowing.alts == lending.alts
    assert all(shown.pictures for shown in borrowing.photos)


def test_a_set_that_the_other_place_does_not_show_has_no_words_for_pictures_either() -> None:
    channels = [channel("fair", **FRENCH), channel("web", sets=["HHS-9"])]
    [listing] = build_listings(build_catalog(shop(folder(photos=PHOTOS), channels=channels)))
    assert (listing.photos, listing.alts) == ((), ())
