"""A new set: its folder with what it could hold proposed, two lines and a picture left to the owner."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from listkit.compute.box.fit import BoxPiece, Inside, lay
from listkit.edit.new_set import NewSet, folder_name, make_set, next_set_code, propose
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.settings import Season
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.read.folder import SHOP
from listkit.read.shop import read_shop
from listkit.shipped import shipped_templates
from listkit.units.length import Length

_KEYWORD: Final = "gift set"


@dataclass(frozen=True, slots=True)
class AddedSet:
    """A set that was made: its files, and how many items the shop has to choose from."""

    new: NewSet
    files: tuple[str, ...]
    items: int


def add_set(folder: Path, name: str, day: datetime.date) -> AddedSet:
    """Make the folder of a new set; what is wrong in the shop is left aside, for check to tell.

    Raises:
        FieldError: the folder is no shop, the name cannot be used or is taken, or the folder cannot be made.
    """
    if not (folder / SHOP).is_file():
        raise FieldError(f"there is no {SHOP} in {folder.absolute()}.", "Name the shop folder with --shop.")
    new, items = plan_set(folder, name, day)
    return AddedSet(new, make_set(shipped_templates(), folder, new), items)


def plan_set(folder: Path, name: str, day: datetime.date) -> tuple[NewSet, int]:
    """Return a new set that could be made, and how many items the shop has to choose from; nothing is written.

    Raises:
        FieldError: the name cannot be used or is taken.
    """
    path = folder_name(name)
    shop, _ = read_shop(folder)
    twin = next((one for one in shop.sets if one.gift_set.name.casefold() == name.casefold()), None)
    if twin is not None:
        raise FieldError(f'a set called "{name}" is there already, sets/{twin.folder}.', "Give this one another name.")
    proposal = propose(shop, partial(_fits, shop.settings.packing.clearance))
    sets = [one.gift_set.code for one in shop.sets]
    others = [*(item.code for item in shop.items), *(box.code for box in shop.packaging.boxes)]
    new = NewSet(
        folder=path,
        code=next_set_code(sets, others),
        name=name,
        season=_season(shop.settings.seasons, day),
        keywords=_keywords(shop, proposal.items if proposal else ()),
        proposal=proposal,
        shots=shop.settings.shots.required,
    )
    return new, len(shop.items)


def _fits(clearance: Length, box: GiftBox, pieces: tuple[Item, ...]) -> bool:
    """Whether the pieces can be laid side by side in a box; one of a kind each."""
    laid = tuple(BoxPiece(one.code, *one.size.sides, shape=one.shape.value, upright=one.upright) for one in pieces)
    return lay(laid, Inside(*box.inside.sides, clearance=clearance.mm)).fits


def _season(seasons: Iterable[Season], day: datetime.date) -> str:
    """Return the season that is on, the one begun last; else the next to begin; "" when all are over."""
    left = [season for season in seasons if season.off_sale >= day]
    running = [season for season in left if season.on_sale <= day]
    if running:
        return max(running, key=lambda season: (season.on_sale, season.name)).name
    return min(left, key=lambda season: (season.on_sale, season.name)).name if left else ""


def _keywords(shop: Shop, items: tuple[Item, ...]) -> tuple[str, ...]:
    """Return what kinds of thing are in the set, no more and no longer than every channel takes."""
    words = dict.fromkeys((_KEYWORD, *(item.form.casefold() for item in items if item.form)))
    limits = [channel.limits for channel in shop.channels]
    longest = min((limit.keyword for limit in limits if limit.keyword is not None), default=None)
    most = min((limit.keywords for limit in limits if limit.keywords is not None), default=None)
    return tuple(word for word in words if longest is None or len(word) <= longest)[:most]
