"""Small shops for the listing's tests: built in memory, with our own templates and pictures that were never taken."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.photo import FocusBox, PhotoFacts
from listkit.model.settings import Settings
from listkit.model.shop import Photo, SetFolder, Shop, Story, Templates
from listkit.read.templates import own_templates

CONTEXT = {"currency": "GBP"}
FOUND = FocusBox(Decimal("0.2"), Decimal("0.2"), Decimal("0.8"), Decimal("0.8"))

BAR = {
    "code": "HH-B1", "name": "Gorse & Salt", "form": "bar soap", "scent": "gorse", "net": "110 g",
    "container": "paper band", "retail": "7.50", "cost": "1.85", "weight": "119 g", "size": "86 x 58 x 28 mm",
    "shelf_life": "18 months", "on_hand": 20, "ingredients": "Sodium Olivate, Aqua",
    "cautions": ["external-use", "avoid-eyes"],
}  # fmt: skip
BALM = BAR | {
    "code": "HH-L1", "name": "Quince & Wax", "form": "lip balm", "scent": "quince", "net": "4.5 g", "container": "tube",
    "retail": "4.50", "shelf_life": "24 months", "ingredients": "Cera Alba", "cautions": ["lip-use"],
}  # fmt: skip
JAR = BAR | {
    "code": "HH-U1", "name": "Meadow", "form": "body butter", "scent": "hay", "net": "100 ml",
    "container": "glass jar", "retail": "16.00", "size": "72 x 72 x 64 mm", "shape": "cylinder",
    "shelf_life": "12 months", "ingredients": "Cera Alba, Parfum", "cautions": ["external-use", "Keep out of reach."],
}  # fmt: skip
SCRUB = JAR | {
    "code": "HH-S1", "name": "Shoreline", "form": "sugar scrub", "scent": "kelp", "net": "150 g", "retail": "14.00",
    "ingredients": "Sucrose",
}  # fmt: skip
MINI = JAR | {
    "code": "HH-M1", "form": "mini butter", "net": "30 ml", "container": "mini jar", "retail": "6.50",
    "larger": "HH-U1",
}  # fmt: skip
DISH = {
    "code": "HH-D1", "name": "Slatted", "form": "soap dish", "retail": "8.50", "cost": "4.10", "weight": "86 g",
    "size": "118 x 80 x 18 mm",
}  # fmt: skip
ITEMS = (BAR, BALM, JAR, SCRUB, MINI, DISH)

SET: dict[str, Any] = {
    "code": "HHS-1", "name": "Low Tide", "theme": "For the hour when the rocks are bare.", "season": "spring",
    "box": "S", "keywords": ["spring gift", "sea gift"],
    "contents": [{"item": "HH-B1"}, {"item": "HH-L1"}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}],
}  # fmt: skip
CHANNEL: dict[str, Any] = {
    "name": "Web shop", "make": ["feed", "listings", "photos"], "photo_address": "https://hh.example/p/",
    "listing_address": "https://hh.example/sets/", "crop": [{"name": "Grid", "ratio": "1:1", "width": 1000}],
}  # fmt: skip
BOX = {"code": "S", "inside": "162 x 122 x 70 mm", "weight": "58 g", "cost": "0.95"}
CARD = {"weight": "14 g", "cost": "0.18"}
STORY = "{{ set.name }} holds {{ items }}, from {{ cheapest | in_currency }} to {{ dearest | in_currency }}."


def item(**changes: Any) -> Item:
    return Item.model_validate(BAR | changes, context=CONTEXT)


def channel(key: str = "web", **changes: Any) -> Channel:
    made = Channel.model_validate(CHANNEL | changes, context=CONTEXT)
    return made.model_copy(update={"key": key})


def photo(name: str, shot: str = "other", *, shows: Sequence[str] = (), alt: str = "") -> Photo:
    facts = PhotoFacts(
        width=3000, height=2000, sha256="0" * 64, format="JPEG", mode="colour", profile="sRGB", orientation=1,
        frames=1, ground="#ffffff", plain=True, found=FOUND, how_found="ground", detail=FOUND,
        sharpness=Decimal(1), brightness=Decimal("0.8"), likeness=0,
    )  # fmt: skip
    return Photo(f"sets/low-tide/photos/{name}", facts, shot, None, alt, tuple(shows))


def folder(*, story: str = STORY, photos: Sequence[Photo] = (), at: str = "low-tide", **changes: Any) -> SetFolder:
    gift_set = GiftSet.model_validate(SET | changes, context=CONTEXT)
    stories = (Story(f"sets/{at}/story.md", "", story),) if story else ()
    return SetFolder(at, gift_set, stories, tuple(photos))


def shop(
    *sets: SetFolder,
    items: Sequence[dict[str, Any]] = ITEMS,
    channels: Sequence[Channel] = (),
    templates: dict[str, str] | None = None,
    season_photos: Sequence[tuple[str, Photo]] = (),
    packaging: Sequence[dict[str, Any]] = (BOX,),
    **changes: Any,
) -> Shop:
    settings = {
        "name": "Hob & Hedge", "currency": "GBP", "country": "GB", "prices": {"uplift": "1.00", "wage": "18.00"},
        "season": [{"name": "spring", "on_sale": "2027-02-15", "off_sale": "2027-05-10"}],
    }  # fmt: skip
    return Shop(
        Path(),
        Settings.model_validate(settings | changes, context=CONTEXT),
        tuple(Item.model_validate(one, context=CONTEXT) for one in items),
        Packaging.model_validate({"box": packaging, "card": CARD}, context=CONTEXT),
        sets or (folder(),),
        tuple(season_photos),
        tuple(channels) or (channel(),),
        templates=Templates(tuple(sorted((dict(own_templates()) | (templates or {})).items()))),
    )


def listed(made: Shop) -> Listings:
    return build_listings(build_catalog(made))
