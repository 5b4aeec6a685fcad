"""Single pieces: an item that is listed alone, as a set of one piece without box, under the item's own code.

Its price is exactly the item's retail price, its wholesale price the item's own, its GTIN the item's.
"""

from typing import Any

from listkit.model.fields import Ending, SetStatus, WholesaleRule
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item, Singles
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder, Shop, Single


def as_set(single: Single, item: Item, shop: Shop) -> SetFolder:
    """Return a single piece as the set of one that it is."""
    settings = shop.settings
    stated = {
        "code": item.code,
        "name": item.name,
        "box": "none",
        "contents": [{"item": item.code}],
    }
    rules: dict[str, Any] = {
        "name": shop.naming.of(item),
        "old_codes": item.old_codes,
        "card": False,
        "category": item.form,
        "status": SetStatus(item.status.value),
        "ending": Ending(None),
        "option_prices": "own",
        "wholesale": WholesaleRule("share", settings.prices.wholesale),
        "carton": settings.singles.carton if settings.singles else None,
    }
    gift_set = GiftSet.model_validate(stated).model_copy(update=rules)
    return SetFolder(single.stem, gift_set, single.stories, single.photos, shop.items_file)


def lists_single(code: str, settings: Settings, of_channel: Singles | None) -> bool:
    """Whether a channel lists an item alone: as it says itself, else as shop.toml does."""
    asked = of_channel if of_channel is not None else settings.singles
    return asked is not None and (asked.items is None or code in asked.items)
