"""A small shop and its listings, put together by hand: what the tests of rows and writers are about.

Two sets: a boxed one with a fixed bar and two slots, and one that is a single bar without a box.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.sales import sale_on
from listkit.listing.listings import ListedPhoto, Listing, Listings, Offer, Picture, ShownOption, ShownSlot
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.photo import WHOLE, Cut, PhotoFacts
from listkit.model.settings import Settings
from listkit.model.shop import Photo, SetFolder, Shop, Templates
from listkit.read.templates import own_templates
from listkit.save.out_folder import sha256_of
from listkit.units.money import Money

GBP = {"currency": "GBP"}
SETTINGS = {
    "name": "Ottermarl Hive & Herb",
    "currency": "GBP",
    "country": "GB",
    "prices": {"uplift": "1.00", "tax": "20 %"},
    "season": [{"name": "spring", "on_sale": date(2027, 2, 15), "off_sale": date(2027, 5, 10)}],
}
PACKAGING = {
    "box": [
        {
            "code": "S",
            "inside": "162 x 122 x 70 mm",
            "outside": "166 x 126 x 74 mm",
            "weight": "58 g",
            "cost": "0.95",
            "carton": {"outside": "190 x 150 x 100 mm", "weight": "88 g"},
        }
    ]
}


def item(code: str, name: str, form: str, retail: str, **more: Any) -> dict[str, Any]:
    """Return a row of the items table."""
    row = {"code": code, "name": name, "form": form, "retail": retail, "cost": "1.85", "weight": "119 g"}
    return row | {"size": "86 x 58 x 28 mm", "net": "110 g", "on_hand": 40} | more


ITEMS = (
    item("OH-B01", "Rosemary & Rind", "bar soap", "7.50", gtin="9520000010003", shelf_life="18 months"),
    item("OH-M02", "Clover & Cream", "body butter", "6.50", weight="70.4 g", net="30 ml", on_hand=12),
    item("OH-M03", "Ginger & Propolis", "body butter", "8.50", weight="70.4 g", net="30 ml", on_hand=3),
    item("OH-L01", "Linden, Oat", "lip balm", "4.25", weight="14 g", net="4 x 5 g", on_hand=None),
    item("OH-L02", "Café crème", "lip balm", "4.25", weight="14 g", net="5 g"),
)
SETS = (
    {
        "code": "OHS-1",
        "name": "First Nectar",
        "theme": "The first warm morning at the hives, in one box.",
        "season": "spring",
        "box": "S",
        "category": "gift sets",
        "keywords": ["spring gift", "honey"],
        "contents": [
            {"item": "OH-B01"},
            {"slot": "Jar", "choose": ["OH-M02", "OH-M03"]},
            {"slot": "Balm", "choose": ["OH-L01", "OH-L02"], "quantity": 2},
        ],
        "variant": [{"options": {"Jar": "OH-M02", "Balm": "OH-L01"}, "gtin": "9520123456788"}],
    },
    {"code": "OHS-2", "name": "One Bar", "box": "none", "contents": [{"item": "OH-B01"}]},
)


def shop(channels: tuple[Channel, ...] = (), root: Path = Path("shop")) -> Shop:
    """Return the shop with these channels."""
    sets = zip(("first-nectar", "one-bar"), (GiftSet.model_validate(one, context=GBP) for one in SETS), strict=True)
    return Shop(
        root,
        Settings.model_validate(SETTINGS, context=GBP),
        tuple(Item.model_validate(row, context=GBP) for row in ITEMS),
        Packaging.model_validate(PACKAGING, context=GBP),
        tuple(SetFolder(folder, one, photos=(photo(folder, root),)) for folder, one in sets),
        channels=channels,
        templates=Templates(own_templates()),
    )


def photo(folder: str, root: Path = Path("shop")) -> Photo:
    """Return the photo of a set; only its SHA-256 is measured, and that where there is such a file."""
    file = f"sets/{folder}/photos/open-box.jpg"
    sha256 = sha256_of(root / file) if (root / file).exists() else "ab" * 32
    facts = PhotoFacts(
        900, 600, sha256, "jpeg", "colour", "sRGB", 1, 1, "#f4f0e8", True, WHOLE, "whole", WHOLE,
        Decimal("0.8"), Decimal("0.6"), 0,
    )  # fmt: skip
    return Photo(file, facts, "open box")


def channel(key: str = "web_shop", **said: Any) -> Channel:
    """Return a channel that takes everything, but for what is said otherwise."""
    facts: dict[str, Any] = {
        "name": "Own web shop",
        "make": ["feed", "listings", "photos", "price list"],
        "photo_address": "https://ottermarl.example/p/",
        "crop": [{"name": "grid", "ratio": "1:1", "width": 300}],
    }
    return Channel.model_validate(facts | said, context=GBP).model_copy(update={"key": key})


def listings(*channels: Channel, root: Path = Path("shop")) -> Listings:
    """Return the listings of every set on each channel."""
    catalog = build_catalog(shop(channels, root))
    return Listings(catalog, tuple(listing(facts, one, catalog) for one in channels for facts in catalog.sets))


def own(channel: Channel) -> tuple[Listing, ...]:
    """Return the listings of every set on one channel."""
    return listings(channel).listings


def listing(facts: SetFacts, channel: Channel, catalog: Catalog) -> Listing:
    """Return one set on one channel."""
    settings = catalog.shop.settings
    photos = tuple(listed_photo(one, channel, facts) for one in facts.source.photos)
    return Listing(
        channel=channel,
        facts=facts,
        language=settings.language,
        country=settings.country,
        maker=(settings.name, settings.address, settings.email),
        currency=settings.currency,
        title=f"{facts.name} gift set",
        theme=facts.source.gift_set.theme,
        description=f"<p>{facts.name}, with “care” & thyme.</p>\n",
        plain=f"{facts.name}, with “care” & thyme.",
        keywords=facts.source.gift_set.keywords,
        slots=shown_slots(facts),
        offers=tuple(offer(one, facts, photos) for one in facts.variants),
        photos=photos,
        dropped_photos=(),
        address=f"https://ottermarl.example/{facts.source.folder}",
    )


def listed_photo(one: Photo, channel: Channel, facts: SetFacts) -> ListedPhoto:
    """Return a photo with a picture a crop."""
    names = [(crop, f"{facts.source.folder}-open-box-{crop.name}.jpg") for crop in channel.crops]
    cut = Cut(150, 0, 750, 600, 300, 300)
    pictures = tuple(Picture(crop, cut, name, channel.photo_address + name) for crop, name in names)
    return ListedPhoto(one, f"Open box of {facts.name}", pictures)


def shown_slots(facts: SetFacts) -> tuple[ShownSlot, ...]:
    """Return the slots with all their options."""
    by_code = {one.code: one for one in facts.items}
    return tuple(
        ShownSlot(
            slot.slot,
            tuple(ShownOption(by_code[o.item].name, by_code[o.item], None, False, False) for o in slot.choose),
        )
        for slot in facts.source.gift_set.slots
    )


HALF = Channel.model_validate({"name": "Half", "make": ["feed"], "fee": "50 %"})


def offer(variant: Variant, facts: SetFacts, photos: tuple[ListedPhoto, ...]) -> Offer:
    """Return one variant on a channel."""
    choices = tuple(choice.says for choice in variant.choices)
    return Offer(
        variant=variant,
        name=", ".join((f"{facts.name} gift set", *choices)),
        choices=choices,
        stock=variant.can_make,
        availability="InStock" if variant.can_make else "SoldOut",
        images=tuple(picture.address for one in photos for picture in one.pictures),
        sale=replace(sale_on(HALF, variant, facts, shop()), kept=Money(variant.prices.price.amount / 2, "GBP")),
        contents=tuple(f"{piece.quantity} × {piece.item.name} {piece.item.form}" for piece in variant.pieces),
        ingredients=(),
        cautions=("For external use only.", "Avoid the eyes."),
        net_contents=tuple(piece.item.net.text for piece in variant.pieces if piece.item.net),
    )


def renamed(one: Listing, number: int) -> Listing:
    """Return the listing as if it were another set, for shops of many."""
    code = f"OHS-{number}"
    gift_set = one.facts.source.gift_set.model_copy(update={"code": code})
    source = replace(one.facts.source, folder=f"set-{number}", gift_set=gift_set)
    return replace(one, facts=replace(one.facts, source=source))
