"""Small shops written inline: builders that take files' own values, so that a test reads like the owner's files."""

import hashlib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.compute.sales import sale_on
from listkit.listing.listings import ListedPhoto, Listing, Listings, Offer, Picture, ShownOption, ShownSlot
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.photo import WHOLE, Cut, PhotoFacts
from listkit.model.settings import Settings
from listkit.model.shop import Photo, SetFolder, Shop, Story
from listkit.model.wholesale import Wholesale

GBP = {"currency": "GBP"}
BOX_S: dict[str, Any] = {
    "code": "S",
    "inside": "162 x 122 x 70 mm",
    "weight": "58 g",
    "cost": "0.95",
    "minutes": 4,
    "fill": {"weight": "10 g", "cost": "0.10"},
    "carton": {"outside": "190 x 150 x 100 mm", "weight": "88 g"},
}
CARD: dict[str, Any] = {"weight": "14 g", "cost": "0.18"}


def item(code: str, **says: Any) -> Item:
    """An item of the small shop: a bar of 110 g at 7.50 unless told otherwise."""
    row: dict[str, Any] = {
        "code": code,
        "name": f"Item {code}",
        "form": "bar soap",
        "net": "110 g",
        "retail": "7.50",
        "cost": "1.85",
        "weight": "119 g",
        "size": "86 x 58 x 28 mm",
        **{key: value for key, value in says.items() if value is not None},
    }
    return Item.model_validate(row, context=GBP)


def settings(**says: Any) -> Settings:
    """The small shop's own rules: an uplift of 1.00, a wage of 18.00, nothing else."""
    prices = {"uplift": "1.00", "wage": "18.00", **says.pop("prices", {})}
    raw = {"name": "Small Shop", "currency": "GBP", "country": "GB", "prices": prices, **says}
    return Settings.model_validate(raw, context={"currency": raw["currency"]})


def gift_set(contents: list[dict[str, Any]], **says: Any) -> GiftSet:
    """A set called SET-1 in box S unless told otherwise."""
    raw = {"code": "SET-1", "name": "First Set", "box": "S", "contents": contents, **says}
    return GiftSet.model_validate(raw, context=GBP)


def channel(**says: Any) -> Channel:
    """A channel called Stall that makes a feed unless told otherwise."""
    return Channel.model_validate({"key": "stall", "name": "Stall", "make": ["feed"], **says}, context=GBP)


def wholesale(*lines: str, **says: Any) -> Wholesale:
    """Terms for shops, with one group of these lines."""
    raw = {"group": [{"title": "Lines", "lines": list(lines)}] if lines else [], **says}
    return Wholesale.model_validate(raw, context=GBP)


def photo(name: str, shot: str = "other", *, shows: tuple[str, ...] = (), alt: str = "", **measured: Any) -> Photo:
    """A sharp and bright picture of SET-1; each name has its own bytes and looks."""
    digest = hashlib.sha256(name.encode()).hexdigest()
    facts = PhotoFacts(
        width=3000,
        height=2000,
        sha256=digest,
        format="JPEG",
        mode="colour",
        profile="sRGB",
        orientation=1,
        frames=1,
        ground="#ffffff",
        plain=True,
        found=WHOLE,
        how_found="ground",
        detail=WHOLE,
        sharpness=Decimal("0.7"),
        brightness=Decimal("0.7"),
        likeness=int(digest, 16),
    )
    return Photo(f"sets/set-1/photos/{name}", replace(facts, **measured), shot, alt=alt, shows=shows)


def shop(items: list[Item], sets: list[GiftSet], **says: Any) -> Shop:
    """A shop of these items and sets, with box S and the card; `stories` and `photos` by set code."""
    packaging = says.pop("packaging", {"box": [BOX_S], "card": CARD})
    stories, photos = says.pop("stories", {}), says.pop("photos", {})
    return Shop(
        root=Path("small_shop"),
        settings=says.pop("settings", settings()),
        items=tuple(items),
        packaging=Packaging.model_validate(packaging, context=GBP),
        sets=tuple(_folder(one, stories.get(one.code, ""), photos.get(one.code, ())) for one in sets),
        **says,
    )


def _folder(one: GiftSet, story: str, photos: tuple[Photo, ...]) -> SetFolder:
    folder = one.code.lower()
    return SetFolder(folder, one, (Story(f"sets/{folder}/story.md", "", story),) if story else (), tuple(photos))


def listings(of: Shop) -> Listings:
    """All sets on all channels, with the plainest words: the title is the set's own or its name, the text its story."""
    catalog = build_catalog(of)
    return Listings(catalog, tuple(_listing(facts, on, of) for on in of.channels for facts in catalog.sets))


def _listing(facts: SetFacts, on: Channel, of: Shop) -> Listing:
    gift_set = facts.source.gift_set
    text = facts.source.stories[0].text if facts.source.stories else ""
    shown, most = facts.source.photos, on.limits.photos
    return Listing(
        channel=on,
        facts=facts,
        language=on.language or of.settings.language,
        country=on.country or of.settings.country,
        maker=(of.settings.name, of.settings.address, of.settings.email),
        currency=of.settings.currency,
        title=gift_set.title or gift_set.name,
        theme=gift_set.theme,
        description=text,
        plain=" ".join(text.split()),
        keywords=gift_set.keywords,
        slots=_slots(facts),
        offers=tuple(_offer(facts, index, on) for index in range(len(facts.variants))),
        photos=tuple(_listed_photo(one, on) for one in shown[:most]),
        dropped_photos=shown[most:] if most is not None else (),
        address="",
    )


def _slots(facts: SetFacts) -> tuple[ShownSlot, ...]:
    found: dict[str, dict[str, ShownOption]] = {}
    for one in facts.variants:
        for choice in one.choices:
            option = ShownOption(choice.says, choice.item, None, default=False, sold_out=False)
            found.setdefault(choice.slot, {}).setdefault(choice.item.code, option)
    return tuple(ShownSlot(name, tuple(options.values())) for name, options in found.items())


def _offer(facts: SetFacts, index: int, on: Channel) -> Offer:
    one = facts.variants[index]
    choices = tuple(choice.says for choice in one.choices)
    return Offer(
        one, facts.name, choices, one.can_make, "InStock", (), sale_on(on, one, facts, shop([], [])), (), (), (), ()
    )


def _listed_photo(one: Photo, on: Channel) -> ListedPhoto:
    pictures = tuple(
        Picture(crop, Cut(0, 0, one.facts.width, one.facts.height, min(crop.width, one.facts.width), 1), one.name, "")
        for crop in on.crops
    )
    return ListedPhoto(one, one.alt or f"Words for {one.name}", pictures)


def facts(items: list[Item], one: GiftSet, **says: Any) -> SetFacts:
    """The one set of a small shop, computed."""
    return build_catalog(shop(items, [one], **says)).sets[0]
