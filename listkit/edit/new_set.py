"""A new set: proposes what it could hold and its code, and makes its folder.

The folder has set.toml and story.md with two lines left to write, and shots.md, a list of photos to take, which is not
read. What story.md explains is a comment of its template language, which is never put into a text.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import count
from pathlib import Path
from typing import Final

from slugify import slugify

from listkit.edit.files import filled_in, in_the_making, write_file
from listkit.model.fields import Shape, Status
from listkit.model.gift_set import TO_WRITE
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.paths import is_device
from listkit.problem import BlockedError, FieldError

# The proposal: a bar, a small thing, and a jar to choose, from what is on sale and on hand; the same for the same
# shop. Rules of the trade (common practice, no source): about three pieces; all options of a slot share a footprint, so
# that box and photo stay; nothing is worth less than a tenth of the whole; a box still closes.

_OPTIONS: Final = 4
_FILLER: Final = Decimal("0.1")  # of the worth of the whole

Fits = Callable[[GiftBox, tuple[Item, ...]], bool]
"""Returns whether the pieces go into a box."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Pieces in every variant, the slot's name and options (() without a slot), and the box's code, "" for none."""

    fixed: tuple[Item, ...]
    slot: str = ""
    options: tuple[Item, ...] = ()
    box: str = ""

    @property
    def items(self) -> tuple[Item, ...]:
        """Everything that it may hold."""
        return (*self.fixed, *self.options)

    @property
    def parts(self) -> tuple[str, ...]:
        """For each option its part of the variant's code, "" where the last parts of the items' codes all differ."""
        apart = {item.code.rpartition("-")[2] for item in self.options}
        return tuple("" if len(apart) == len(self.options) else item.code.replace("-", "") for item in self.options)


def propose(shop: Shop, fits: Fits | None = None) -> Proposal | None:
    """Return a proposal, None when fewer than two items are on sale and on hand.

    Args:
        shop: as it was read; what is broken is not in it.
        fits: decides exactly; called for boxes that the pieces could go into by their volumes.
    """
    least = shop.settings.stock.hold_back
    usable = tuple(
        item
        for item in sorted(shop.items, key=lambda item: item.code)
        if item.status is Status.ON_SALE and (item.on_hand is None or item.on_hand > least)
    )
    if len(usable) < 2:
        return None
    options = _options(usable)
    fixed = tuple(sorted(_beside(options, usable), key=lambda item: (-item.retail.amount, item.code)))
    for pieces in (fixed, fixed[:1]) if options and len(fixed) > 1 else (fixed,):
        if box := _box(shop, pieces, options, fits):
            return Proposal(pieces, _slot_name(options), options, box)
    return Proposal(fixed, _slot_name(options), options)


def loosely_fits(box: GiftBox, pieces: tuple[Item, ...], settings: Settings) -> bool:
    """Whether pieces could go into a box by their volumes and sides, with air around them, not how they lie."""
    inside = [side - settings.packing.clearance.mm for side in box.inside.sides]
    volume = sum((piece.size.volume for piece in pieces), Decimal(0))
    closes = volume <= settings.packing.full_above * box.inside.volume
    return closes and all(_goes_in(piece, inside) for piece in pieces)


def _goes_in(piece: Item, inside: list[Decimal]) -> bool:
    length, width, height = piece.size.sides
    if piece.upright:
        footprint = sorted((length, width))
        return height <= inside[2] and all(a <= b for a, b in zip(footprint, sorted(inside[:2]), strict=True))
    return all(a <= b for a, b in zip(sorted(piece.size.sides), sorted(inside), strict=True))


def _options(usable: tuple[Item, ...]) -> tuple[Item, ...]:
    """Return the options of a slot: items of one size, of one form where there are two of it; () without any."""
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in usable:
        groups.setdefault((item.size.sides, item.shape), []).append(item)
    several = [group for group in groups.values() if len(group) > 1]
    if not several or len(usable) < 3:
        return ()

    def worth_choosing(group: list[Item]) -> tuple[bool, Decimal, int]:
        standing = all(item.upright or item.shape is Shape.CYLINDER for item in group)  # jars and bottles
        return standing, max(item.retail.amount for item in group), len(group)

    best = max(several, key=worth_choosing)
    form, count = Counter(item.form for item in best).most_common(1)[0]
    family = [item for item in best if item.form == form] if count > 1 else best
    most = _OPTIONS if len(family) < len(usable) else len(family) - 2
    return tuple(sorted(_by_stock(family)[:most], key=lambda item: item.code)) if most > 1 else ()


def _beside(options: tuple[Item, ...], usable: tuple[Item, ...]) -> tuple[Item, ...]:
    """Return the pieces beside the slot: one of the commonest form, the smallest of another; a third without slot."""
    taken = {item.form for item in options}
    others = [item for item in usable if item not in options and item.form not in taken and not item.larger]
    others = others or [item for item in usable if item not in options]
    scents = {word for item in options for word in item.scent.casefold().split()}
    first = _best(others, scents)
    rest = [item for item in others if item.form != first.form] or [item for item in others if item is not first]
    worth = sum((item.retail.amount for item in options[:1]), first.retail.amount)
    rest = [item for item in rest if item.retail.amount >= _FILLER * (worth + item.retail.amount)]
    second = min(rest, key=lambda item: (item.size.volume, item.code), default=None)
    chosen = (first, second) if second else (first,)
    if options or not second:
        return chosen
    third = next((item for item in _by_stock(rest) if item is not second), None)
    return (*chosen, third) if third else chosen


def _best(items: list[Item], scents: set[str]) -> Item:
    """Return an item of the form that has most kinds: one that smells like the options, else the one most on hand."""
    kinds = Counter(item.form for item in items)
    return min(
        items,
        key=lambda item: (
            -kinds[item.form],
            scents.isdisjoint(item.scent.casefold().split()),
            -(item.on_hand or 0),
            item.code,
        ),
    )


def _by_stock(items: list[Item]) -> list[Item]:
    return sorted(items, key=lambda item: (-(item.on_hand or 0), item.code))


def _slot_name(options: tuple[Item, ...]) -> str:
    """Return the slot's name: "Jar" where that is the container of all, else the form of all, else "Piece"."""
    if not options:
        return ""
    containers = {item.container.split()[-1] if item.container.strip() else "" for item in options}
    forms = {item.form for item in options}
    for shared in (containers, forms):
        [word, *more] = sorted(shared)
        if word and not more:
            return word[:1].upper() + word[1:]
    return "Piece"


def _box(shop: Shop, fixed: tuple[Item, ...], options: tuple[Item, ...], fits: Fits | None) -> str:
    """Return the smallest box, by its inside, that every variant goes into; "" when there is none."""
    variants = [(*fixed, option) for option in options] or [fixed]
    for box in sorted(shop.packaging.boxes, key=lambda box: (box.inside.volume, box.code)):
        if box.on_hand != 0 and all(
            loosely_fits(box, pieces, shop.settings) and (fits is None or fits(box, pieces)) for pieces in variants
        ):
            return box.code
    return ""


# The folder of a new set.

_OF_A_BOX: Final = ("open box", "closed")
_LONGEST_NAME: Final = 80
_LONGEST_FOLDER: Final = 60
_FILES: Final = ("set.toml", "story.md", "shots.md")


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set to be made: its folder under sets/, the values of set.toml, and the shots that the shop asks for."""

    folder: str
    code: str
    name: str
    season: str
    keywords: tuple[str, ...]
    proposal: Proposal | None
    shots: tuple[str, ...]

    @property
    def pictures(self) -> tuple[str, ...]:
        """The file names of the shots that the shop asks for; a single one where it asks for none."""
        boxed = self.proposal is not None and bool(self.proposal.box)
        asked = [shot for shot in self.shots if boxed or shot not in _OF_A_BOX]
        return tuple(f"{shot.replace(' ', '-')}.jpg" for shot in asked or ["open box" if boxed else "contents"])


def folder_name(name: str) -> str:
    """Return the folder's name for a set.

    Raises:
        FieldError: the name gives none that every system takes.

    >>> folder_name("Été & Mer")
    'ete-mer'
    """
    if any(unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} for sign in name):
        raise FieldError("the name holds a sign that stands on no line.", "Write it in plain letters.")
    if len(name) > _LONGEST_NAME:
        raise FieldError(f"the name has {len(name)} characters.", f"Write at most {_LONGEST_NAME}.")
    folder = slugify(name, max_length=_LONGEST_FOLDER, word_boundary=True)
    if not folder:
        raise FieldError(f'"{name}" has no letter that a folder could be called by.', "Write a name with letters.")
    if is_device(folder):
        raise FieldError(f'some systems cannot have a folder called "{folder}".', "Write a longer name.")
    return folder


def files_of_set(templates: Path, new: NewSet) -> dict[str, bytes]:
    """Return the files of a new set's folder, by their names in it."""
    values = {"set": new, "proposal": new.proposal, "write_here": TO_WRITE}
    return {file: filled_in((templates / "new_set" / file).read_text(encoding="utf-8"), values) for file in _FILES}


def refuse_taken(shop: Path, folder: str) -> None:
    """Refuse the name of a folder that is there already.

    Raises:
        FieldError: there is such a folder.
        BlockedError: sets/ is a link.
    """
    sets = shop / "sets"
    if sets.is_symlink():
        raise BlockedError("sets is a link, which is not followed.", "Put the folder itself there.")
    there = {path.name.casefold() for path in sets.iterdir()} if sets.is_dir() else set()
    if folder.casefold() in there:
        raise FieldError(f"sets/{folder} is there already.", "Give the set another name, or take the folder away.")


def make_set(templates: Path, shop: Path, new: NewSet) -> tuple[str, ...]:
    """Make sets/<folder> in the shop folder and return the paths of its files, relative to the shop.

    Raises:
        FieldError: there is such a folder.
        BlockedError: it cannot be written to. Nothing is overwritten or half made.
    """
    refuse_taken(shop, new.folder)
    files = files_of_set(templates, new)
    with in_the_making(shop / "sets" / new.folder) as made:
        for file, content in files.items():
            write_file(made / file, content)
        (made / "photos").mkdir()
    return tuple(f"sets/{new.folder}/{file}" for file in files)


# The code of a new set: the next number after those of the shop's other sets, unlike every code in use.

_NUMBERED: Final = re.compile(r"(.*?)(\d{1,6})", re.ASCII)
_FIRST: Final = "SET-"


def next_set_code(sets: Iterable[str], others: Iterable[str] = ()) -> str:
    """Return the next code after those of `sets`, unlike those of `others`; SET-1 where there is no pattern.

    >>> next_set_code(["OHS-1", "OHS-2"], ["OHS-3"]), next_set_code(["G07"]), next_set_code([])
    ('OHS-4', 'G08', 'SET-1')
    """
    sets = tuple(sets)
    used = {code.casefold() for code in (*sets, *others)}
    numbered = [match.groups() for code in sets if (match := _NUMBERED.fullmatch(code))]
    begins = Counter(begin for begin, _ in numbered)
    begin = min(begins, key=lambda text: (-begins[text], text)) if begins else _FIRST
    numbers = [digits for text, digits in numbered if text == begin]
    width = max((len(digits) for digits in numbers if digits.startswith("0")), default=1)
    last = max(map(int, numbers), default=0)
    codes = (f"{begin}{number:0{width}}" for number in count(last + 1))
    return next(code for code in codes if code.casefold() not in used)
