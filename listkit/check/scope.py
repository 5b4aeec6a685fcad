"""What a problem concerns: some sets, some items, some places, or everything; so that a fault stops nothing else.

A file that several places use holds back those places: a language file the channels in its language, a template the
texts and papers that are made by it, the rates the channels that count postage. What nothing here knows concerns
everything.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePosixPath
from typing import Final

from listkit.compute.ingredients import made_with
from listkit.listing.translate import is_foreign
from listkit.listing.words import base_language
from listkit.model.making import MATERIALS_FILE, PLAN_FILE, RECIPES_FILE
from listkit.model.shop import SINGLE, Shop
from listkit.problem import Level, Problem

WHOLESALE: Final = "wholesale"
"""The place beside the channels that has the papers for shops that buy from us."""
PRINT: Final = "print"
"""The place of outside labels and price cards, which belong to no channel."""

_OF_LISTINGS: Final = {"listing.html": "html", "listing.txt": "plain", "listing.md": "markdown"}
_OF_WHOLESALE: Final = ("line_sheet", "price_list", "confirmation", "pick_list", "common", "barcode")
_OF_LABELS: Final = ("outside_labels", "price_cards", "label_sheet", "barcode")
_OF_STALLS: Final = ("stall_list", "common")
_NEVER_PUBLISHED: Final = (
    "day", "drawing", "learnt", "new_place", "new_set", "new_shop", "own_sheet", "pack", "plan", "proof",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Scope:
    """What one problem concerns: the sets in these folders, items, places by their keys, or everything."""

    folders: frozenset[str] = frozenset()
    items: frozenset[str] = frozenset()
    places: tuple[str, ...] = ()
    everything: bool = False


class Scopes:
    """What the problems of one shop concern, each; what many of them ask of the shop is looked up once."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop

    def of(self, problem: Problem) -> Scope:
        """Return what a problem concerns; a row of items concerns the sets that use the item."""
        place, shop = problem.place, self._shop
        if folders := self._folders_of(problem):
            return Scope(folders)
        if place.file == shop.items_file and place.row:
            return self._of_items((place.row,))
        if place.file == "ingredients.csv":
            return self._unsure
        if place.file == "packaging.toml" and place.key[:2] in shop.left_out.boxes:
            return Scope()  # the sets that wait for the box are left out by the reader
        if place.file in (MATERIALS_FILE, RECIPES_FILE, PLAN_FILE):
            return self._costless if place.file != PLAN_FILE else Scope()
        places = _places_of(place.file, shop)
        return Scope(everything=True) if places is None else Scope(places=places)

    def _folders_of(self, problem: Problem) -> frozenset[str]:
        """Return the folder of the set or single piece whose own a problem is."""
        place, parts = problem.place, problem.place.file.split("/")
        if parts[0] == "sets" and len(parts) > 1:
            return frozenset((parts[1],))
        if place.key[:1] == (SINGLE,):  # a cell of an item, as it is listed alone
            return frozenset(self._alone_by_code.get(place.row, ()))
        return frozenset(self._alone_by_file.get(place.file, ()))

    def _of_items(self, codes: Iterable[str]) -> Scope:
        kept = frozenset(codes)
        return Scope(frozenset(folder for code in kept for folder in self._using.get(code, ())), kept)

    @cached_property
    def _alone_by_code(self) -> dict[str, list[str]]:
        return _by((each.code, each.folder) for each in self._shop.folders if each.is_single)

    @cached_property
    def _alone_by_file(self) -> dict[str, list[str]]:
        return _by((file, each.folder) for each in self._shop.folders if each.is_single for file in each.files)

    @cached_property
    def _using(self) -> dict[str, list[str]]:
        return _by((code, each.folder) for each in self._shop.folders for code in each.items)

    @cached_property
    def _costless(self) -> Scope:
        """Of the items whose cost follows from a recipe and does not come out."""
        made = self._shop.made
        return self._of_items(code for code in made.follows if made.costs[code].cost is None) if made else Scope()

    @cached_property
    def _unsure(self) -> Scope:
        """Of the items of which ingredients.csv may say less than it should: all, where nobody knows which."""
        shop, unsure = self._shop, self._shop.left_out.percentages
        if unsure is None:
            return self._of_items((*(item.code for item in shop.items), *self._using))
        return self._of_items(made_with(tuple(shop.old_codes(name) for name in unsure), shop.items, shop.ingredients))


def _by(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, folder in pairs:
        found.setdefault(name, []).append(folder)
    return found


def _places_of(file: str, shop: Shop) -> tuple[str, ...] | None:
    """Return the places that a file concerns as a whole; None where it may concern any."""
    top, _, below = file.partition("/")
    if top == "templates" and below:
        return _of_template(below, shop)
    if top == "languages" and below:
        return _of_language(PurePosixPath(file).stem, shop)
    if top == "channels" and below:
        return (PurePosixPath(file).stem,)
    if file == "rates.csv":
        return tuple(channel.key for channel in shop.channels if channel.zone is not None)
    return (WHOLESALE,) if file in ("wholesale.toml", "stockists.csv") else None


def _speaks(language: str | None, tag: str) -> bool:
    """Whether texts in a language take the words of the file `tag`: its own, or those of its base."""
    return language is not None and tag in (language, base_language(language))


def _of_language(tag: str, shop: Shop) -> tuple[str, ...]:
    """Return the places that show goods by their names in a language."""
    keys = [each.key for each in shop.channels if _speaks(each.language, tag) and is_foreign(shop, tag)]
    labels = shop.settings.labels
    printed = labels is not None and any(_speaks(each, tag) for each in labels.languages)
    return (*keys, *([PRINT] if printed and is_foreign(shop, tag) else []))


def _of_template(path: str, shop: Shop) -> tuple[str, ...] | None:
    """Return the places whose texts or papers are made by a template; None where any may be."""
    folder, _, name = path.partition("/")
    stem, ending = PurePosixPath(name).stem, PurePosixPath(name).suffix
    if folder in _NEVER_PUBLISHED:
        return ()
    if folder == "listing" and name in _OF_LISTINGS:  # every channel has its texts as plain ones too
        return tuple(each.key for each in shop.channels if _OF_LISTINGS[name] in (each.text, "plain"))
    if folder == "contact_sheet":
        return tuple(each.key for each in shop.channels if "photos" in each.make)
    lists = tuple(each for each in shop.channels if "printed list" in each.make)
    sheet = (WHOLESALE,) if shop.wholesale is not None else ()
    labels = (PRINT,) if shop.settings.labels is not None or shop.settings.cards is not None else ()
    if folder == "print" and ending != ".toml":
        return (
            *(tuple(each.key for each in lists) if stem in _OF_STALLS else ()),
            *(sheet if stem in _OF_WHOLESALE else ()),
            *(labels if stem in _OF_LABELS else ()),
        ) or None
    usual = shop.settings.language
    sheet = sheet if _speaks(usual, stem) else ()
    if folder == "print":
        return (*(each.key for each in lists if _speaks(each.language or usual, stem)), *sheet)
    speaking = tuple(each.key for each in shop.channels if _speaks(each.language or usual, stem))
    of_labels = shop.settings.labels.languages if shop.settings.labels else ()
    labels = labels if any(_speaks(each, stem) for each in (usual, *of_labels)) else ()
    by_folder = {"words": (*speaking, *sheet, *labels), "cautions": (*speaking, *labels), "label": labels}
    return by_folder.get(folder)


def files_to_mend(scopes: Iterable[tuple[Problem, Scope]]) -> dict[str, tuple[str, ...]]:
    """Return the places that problems concern as a whole, each with the files that these are in."""
    places: dict[str, tuple[str, ...]] = {}
    for problem, scope in scopes:
        for key in scope.places:
            places[key] = tuple(dict.fromkeys((*places.get(key, ()), problem.place.file)))
    return places


def items_to_mend(problems: Iterable[Problem], shop: Shop) -> frozenset[str]:
    """Return the codes of items that cannot be read, or have a fault among the problems that must be fixed."""
    faults, scopes = (problem for problem in problems if problem.level is Level.MUST_FIX), Scopes(shop)
    return shop.left_out.items.union(*(scopes.of(each).items for each in faults))
