"""`listkit add`: the folder of a new set, what it could hold proposed, two lines and a picture left to the owner."""

import argparse
import datetime
import json
import sys
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Final

from listkit.cli.options import add_shop, add_today
from listkit.compute.box.fit import BoxPiece, Inside, lay
from listkit.compute.variants import full_name
from listkit.edit.new_set import NewSet, Proposal, folder_name, make_set, next_set_code, propose
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.settings import Season
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.read.folder import SHOP
from listkit.read.shop import read_shop
from listkit.read.wording import listed
from listkit.shipped import shipped_templates
from listkit.units.length import Length

_KEYWORD: Final = "gift set"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("name", metavar="NAME", help='the set\'s name, as in "First Light"')
    add_shop(parser)
    add_today(parser)


def run(args: argparse.Namespace) -> int:
    """Make the folder and say what is left to do; 1 when it cannot be made."""
    today = args.today or datetime.date.today()  # noqa: DTZ011 - the owner's own day
    try:
        new, shop = _new_set(args.shop, " ".join(args.name.split()), today)
        files = make_set(shipped_templates(), args.shop, new)
    except FieldError as fault:
        print(f"{fault.message} {fault.hint}".rstrip(), file=sys.stderr)
        return 1
    if args.json:
        print(json.dumps(_json(new, files), indent=2, ensure_ascii=False))
    else:
        _tell(args.shop, new, shop)
    return 0


def _new_set(folder: Path, name: str, today: datetime.date) -> tuple[NewSet, Shop]:
    """Return the set to be made; what is wrong in the shop is left aside, for check to tell."""
    if not (folder / SHOP).is_file():
        raise FieldError(f"there is no {SHOP} in {folder.absolute()}.", "Name the shop folder with --shop.")
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
        season=_season(shop.settings.seasons, today),
        keywords=_keywords(shop, proposal.items if proposal else ()),
        proposal=proposal,
        shots=shop.settings.shots.required,
    )
    return new, shop


def _fits(clearance: Length, box: GiftBox, pieces: tuple[Item, ...]) -> bool:
    """Whether the pieces can be laid side by side in a box; one of a kind each."""
    laid = tuple(BoxPiece(one.code, *one.size.sides, shape=one.shape.value, upright=one.upright) for one in pieces)
    return lay(laid, Inside(*box.inside.sides, clearance=clearance.mm)).fits


def _season(seasons: Iterable[Season], today: datetime.date) -> str:
    """Return the season that is on, the one begun last; else the next to begin; "" when all are over."""
    left = [season for season in seasons if season.off_sale >= today]
    running = [season for season in left if season.on_sale <= today]
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


def _tell(folder: Path, new: NewSet, shop: Shop) -> None:
    path = folder / "sets" / new.folder
    print(f"{path}: {new.code}, {new.name}. Proposed, to be changed as you like:")
    for line in _lines(new.proposal, len(shop.items)):
        print(f"  {line}")
    print("Left for you:")
    print(f"  write the theme in {path / 'set.toml'}, the line with WRITE HERE")
    print(f"  write the story in {path / 'story.md'}, the line with WRITE HERE")
    print(f"  put into {path / 'photos'}: {listed(new.pictures, 'and')}; shots.md lists what else to take")
    print(f"Next: listkit check --shop {folder}")


def _lines(proposal: Proposal | None, items: int) -> list[str]:
    if proposal is None:
        return [f"nothing: of {items} items that can be read, fewer than two are on sale and on hand"]
    options = [full_name(item.name, item.form) for item in proposal.options]
    return [
        *(full_name(item.name, item.form) for item in proposal.fixed),
        *([f"{proposal.slot}: {listed(options)}"] if options else []),
        f"box {proposal.box}" if proposal.box else "no box: none in packaging.toml holds all of it",
    ]


def _json(new: NewSet, files: tuple[str, ...]) -> dict[str, object]:
    proposal = new.proposal
    return {
        "folder": f"sets/{new.folder}",
        "files": list(files),
        "code": new.code,
        "name": new.name,
        "items": [item.code for item in proposal.fixed] if proposal else [],
        "slot": (proposal.slot or None) if proposal else None,
        "options": [item.code for item in proposal.options] if proposal else [],
        "box": (proposal.box or "none") if proposal else "none",
    }
