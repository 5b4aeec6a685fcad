"""A new set: its folder with what it could hold proposed, two lines and a picture left to the owner."""

import datetime
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final

from listkit.compute.box.fit import BoxPiece, Inside, lay
from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.compute.movements import in_stock
from listkit.compute.proposals import Proposals, SetProposal, Wish, propose_sets
from listkit.compute.season_end import pieces_gone
from listkit.edit.new_set import (
    NewSet,
    Proposal,
    begun_with,
    folder_name,
    make_set,
    next_set_code,
    propose,
    slot_name,
    usable_items,
)
from listkit.model.codes import variant_codes
from listkit.model.item import Item
from listkit.model.movements import NO_MOVES
from listkit.model.naming import NAME_FIRST, Naming
from listkit.model.packaging import GiftBox
from listkit.model.settings import Season
from listkit.model.shop import SetFolder, Shop
from listkit.pipeline import check_listed, list_catalog, open_shop
from listkit.problem import FieldError, Problem, must_fix
from listkit.read.folder import SET, SHOP
from listkit.read.parts import unread_folder
from listkit.read.shop import read_shop
from listkit.read.source import TOML_LIMIT, read_source
from listkit.read.wording import listed, perhaps
from listkit.shipped import shipped_templates
from listkit.units.length import Length

_KEYWORD: Final = "gift set"


@dataclass(frozen=True, slots=True)
class AddedSet:
    """A set that was made: its files, and how many items the shop has to choose from."""

    new: NewSet
    files: tuple[str, ...]
    items: int
    usable: int
    begun_with: SetFolder | None = None
    naming: Naming = NAME_FIRST  # how the shop's language calls a piece


def add_set(
    folder: Path, name: str, day: datetime.date, begin_with: str = "", chosen: Proposal | None = None
) -> AddedSet:
    """Make the folder of a new set; what is wrong in the shop is left aside, for check to tell.

    Args:
        folder: the shop folder.
        name: the set's name.
        day: today, by which the season is chosen.
        begin_with: code or folder of a set that it begins with instead of a proposal; "" for a proposal.
        chosen: what is to be in it, one of `proposals_for`.

    Raises:
        FieldError: the folder is no shop, the name cannot be used or is taken, there is no set to begin with, or the
            folder cannot be made.
    """
    _ensure_shop(folder)
    plan = plan_set(folder, name, day, begin_with, chosen=chosen)
    return replace(plan, files=make_set(shipped_templates(), folder, plan.new))


def plan_set(
    folder: Path,
    name: str,
    day: datetime.date,
    begin_with: str = "",
    *,
    empty: bool = False,
    chosen: Proposal | None = None,
) -> AddedSet:
    """Return a new set that could be made, as `add_set` makes it, without files: nothing is written.

    An `empty` one has nothing in it but what a set must have, to be filled in.

    Raises:
        FieldError: the name cannot be used or is taken, or there is no set to begin with.
    """
    path = folder_name(name)
    shop = in_stock(read_shop(folder)[0])
    twin = next((one for one in shop.sets if one.gift_set.name.casefold() == name.casefold()), None)
    if twin is not None:
        raise FieldError(f'a set called "{name}" is there already, sets/{twin.folder}.', "Give this one another name.")
    season = _season(shop.settings.seasons, day)
    sets = [one.gift_set.code for one in shop.sets]
    code, source, proposal, copied = next_set_code(sets, other_codes(shop)), None, None, dict[str, str]()
    if begin_with:
        source = _set_named(begin_with, shop)
        toml = begun_with(toml_of(source, shop), code, name, _season_instead(source, shop, season, day))
        copied = {SET: toml, **{Path(story.file).name: story.text for story in source.stories}}
    elif chosen is not None:
        proposal = chosen
    elif not empty:
        proposal = propose(shop, partial(_fits, shop.settings.packing.clearance), f"{name} {season}")
    new = NewSet(
        folder=path,
        code=code,
        name=name,
        season=season,
        keywords=_keywords(shop, proposal.items if proposal else ()),
        proposal=proposal,
        shots=shop.settings.shots.required,
        boxed=source.gift_set.boxed if source else bool(proposal and proposal.box),
        copied=copied,
    )
    return AddedSet(new, (), len(shop.items), len(usable_items(shop)), source, naming=shop.naming)


def other_codes(shop: Shop) -> Iterator[str]:
    """Yield the codes that a new set may not have besides those of sound sets; old ones and broken sets' too."""
    yield from (item.code for item in shop.items)
    yield from (box.code for box in shop.packaging.boxes)
    yield from (folder.code for folder in shop.folders if folder.code)
    yield from (code for each in shop.sets for code in variant_codes(each.gift_set))
    yield from shop.old_codes.now


# Several proposals, of which one becomes a set by its number


@dataclass(frozen=True, slots=True)
class ProposalList:
    """What could be made of what is on hand; `sold` is what went of each item in the year before the day."""

    shop: Shop
    proposals: Proposals
    sold: Mapping[str, int]
    season: str

    def number(self, wanted: int) -> Proposal:
        """Return one of the proposals, for a new set.

        Raises:
            FieldError: there is none of that number.
        """
        best = self.proposals.best
        if not 1 <= wanted <= len(best):
            hint = f"There are 1 to {len(best)}." if best else self.proposals.missing
            raise FieldError(f"there is no proposal {wanted}.", hint)
        return as_proposal(best[wanted - 1])


def as_proposal(proposal: SetProposal) -> Proposal:
    """Return a proposal as a new set takes it, its options by their codes."""
    options = tuple(sorted(proposal.options, key=lambda item: item.code))
    return Proposal(
        proposal.fixed,
        slot_name(options),
        options,
        box=proposal.box.code if proposal.box else "",
        default=proposal.options[0].code,
    )


def proposals_for(folder: Path, day: datetime.date, place: str = "", *, one_scent: bool = False) -> ProposalList:
    """Return the sets that could be made of what is on hand; nothing is written.

    Args:
        folder: the shop folder.
        day: today, by which the season is chosen and what sold is looked up.
        place: the channel that it is to leave enough on; all of them if left out.
        one_scent: whether pieces may share a scent.

    Raises:
        FieldError: the folder is no shop, there is no such channel, or it takes nothing.
    """
    _ensure_shop(folder)
    shop = open_shop(folder, measure_at_most=0).shop
    channels = tuple(each for each in shop.channels if place in (each.key, each.name))
    if place and not channels:
        there = listed([each.key for each in shop.channels], "and") or "none"
        raise FieldError(f'There is no channel "{place}".', f"There are: {there}.")
    if channels and not channels[0].make:
        message = f"{channels[0].name} takes nothing: make in its file is empty."
        raise FieldError(message, f'Write what it takes into channels/{channels[0].key}.toml, as in make = ["feed"].')
    now = shop.old_codes
    moves = tuple(replace(move, code=now(move.code)) for move in shop.movements.moves)
    sold = pieces_gone(moves, day - datetime.timedelta(364), day)
    wish = Wish(one_scent=one_scent, channels=channels, sound=partial(passes_checks, shop, day))
    proposals = propose_sets(shop, build_catalog(shop), usable_items(shop), sold, wish)
    return ProposalList(shop, proposals, sold, _season(shop.settings.seasons, day))


def _ensure_shop(folder: Path) -> None:
    if not os.path.isfile(folder / SHOP):
        raise FieldError(f"there is no {SHOP} in {folder.absolute()}.", "Name the shop folder with --shop.")
    if (unread := unread_folder(folder)) is not None:
        raise FieldError(f"{unread.place.file}: {unread.message}", unread.hint)


_UNFINISHED: Final = frozenset(("shot-missing", "unwritten", "language-missing"))  # what any new set lacks at first


def passes_checks(shop: Shop, day: datetime.date, facts: SetFacts) -> bool:
    """Whether a set that was proposed breaks nothing that must be kept, by every check that any set goes through."""
    alone = replace(shop, sets=(facts.source,), singles=(), items=facts.items, movements=NO_MOVES, stock=None)
    checked = check_listed(list_catalog(build_catalog(alone), day), below=f"sets/{facts.source.folder}/")
    return not must_fix(tuple(each for each in checked.problems if each.code not in _UNFINISHED))


def _set_named(code: str, shop: Shop) -> SetFolder:
    """Return a set by its code, an old one, or its folder."""
    for one in shop.sets:
        if code.casefold() in map(str.casefold, (one.gift_set.code, one.folder, *one.gift_set.old_codes)):
            return one
    codes = [one.gift_set.code for one in shop.sets]
    hint = perhaps(code, codes) or (f"There are {listed(codes)}." if codes else "There is none yet.")
    raise FieldError(f'no set "{code}" can be read.', hint)


def toml_of(source: SetFolder, shop: Shop) -> str:
    """Return a set's set.toml as the owner wrote it; raises FieldError where it cannot be read."""
    text = read_source(shop.root, f"sets/{source.folder}/{SET}", limit=TOML_LIMIT)
    if isinstance(text, Problem):
        raise FieldError(f"{text.place}: {text.message}", text.hint)
    return text.text


def _season_instead(source: SetFolder, shop: Shop, season: str, day: datetime.date) -> str | None:
    """Return `season` where that of the set is over, None where it keeps its own."""
    its = next((each for each in shop.settings.seasons if each.name == source.gift_set.season), None)
    return season or None if its is not None and its.off_sale < day else None


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
