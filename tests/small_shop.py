"""Small shops written inline: builders that take files' own values, so that a test reads like the owner's files."""

from pathlib import Path
from typing import Any

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder, Shop

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


def shop(items: list[Item], sets: list[GiftSet], **says: Any) -> Shop:
    """A shop of these items and sets, with box S and the card."""
    packaging = says.pop("packaging", {"box": [BOX_S], "card": CARD})
    return Shop(
        root=Path("small_shop"),
        settings=says.pop("settings", settings()),
        items=tuple(items),
        packaging=Packaging.model_validate(packaging, context=GBP),
        sets=tuple(SetFolder(one.code.lower(), one) for one in sets),
        **says,
    )


def facts(items: list[Item], one: GiftSet, **says: Any) -> SetFacts:
    """The one set of a small shop, computed."""
    return build_catalog(shop(items, [one], **says)).sets[0]
