"""The Shop: everything the folder says, read and checked value by value, nothing computed."""

from collections import defaultdict
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path
from typing import Final, Literal

from listkit.model.allotment import NO_ALLOTMENT, AllotmentRead
from listkit.model.channel import Channel
from listkit.model.codes import NO_OLD_CODES, OldCodes
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
from listkit.model.making import NOTHING_MADE, MakingRead, MakingState
from listkit.model.movements import NO_MOVES, MovesRead, Stock
from listkit.model.naming import NAME_FIRST, Naming
from listkit.model.packaging import Packaging, Rate
from listkit.model.photo import FocusBox, PhotoFacts
from listkit.model.settings import Settings
from listkit.model.translation import Translation
from listkit.model.wholesale import Stockist, Wholesale
from listkit.problem import Place

NO_PACKAGING: Final = Packaging()
# Where pages are letters: CLDR, supplemental data, paperSize; from memory.
_LETTER: Final = frozenset(("BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"))
SINGLE: Final = "single"
"""Begins the key of a place in the items table that concerns an item as it is listed alone, and no set with it."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture of a set: the file, what was measured in it, and what the owner says of it.

    `file` is relative to the shop folder, with forward slashes. `focus` is None when not stated. `shows` are the
    codes of options in the picture, `pieces` where single pieces are in it.
    """

    file: str
    facts: PhotoFacts
    shot: str
    focus: FocusBox | None = None
    alt: str = ""
    shows: tuple[str, ...] = ()
    pieces: tuple[tuple[str, FocusBox], ...] = ()

    @property
    def name(self) -> str:
        """The file's own name."""
        return self.file.rpartition("/")[2]


@dataclass(frozen=True, slots=True)
class Story:
    """A set's story in one language: Markdown with placeholders; language "" is the shop's own.

    `row` is the code of the item in whose row of a table it is, "" where it has a file of its own.
    """

    file: str
    language: str
    text: str
    row: str = ""

    def place(self, line: int = 0) -> Place:
        """Return the place of a line of it; in a table that of its cell."""
        return (
            Place(self.file, row=self.row, column="story", key=(SINGLE, "story"))
            if self.row
            else Place(self.file, line)
        )


class Guess(Enum):
    """Which stand-ins a shop is read with, so that what does not depend on a faulty value can be looked at."""

    SMALL = "small"
    LARGE = "large"
    USUAL = "usual"


_FRONT: Final = ("open box", "styled", "contents", "from above")  # the shot that shows most of a set first


@dataclass(frozen=True, slots=True)
class SetFolder:
    """A folder under sets/: the set, its stories, its photos (listed ones first, then by name).

    A single piece is a set of one, without a folder: `sheet` is the table that has its item, "" for a set, and
    `folder` names its pages.
    """

    folder: str
    gift_set: GiftSet
    stories: tuple[Story, ...] = ()
    photos: tuple[Photo, ...] = ()
    sheet: str = ""

    @property
    def is_single(self) -> bool:
        """Whether it is a single piece, listed without a folder of its own."""
        return bool(self.sheet)

    @property
    def front(self) -> Photo | None:
        """The photo that stands for a set: of its open box where there is one, else the best of other shots."""
        by_shot = {photo.shot: photo for photo in reversed(self.photos)}
        return next((by_shot[shot] for shot in _FRONT if shot in by_shot), self.photos[0] if self.photos else None)

    def place(self, *key: str | int) -> Place:
        """Return the place of a key of set.toml; of a single piece the cell of its item that it comes from."""
        if not self.sheet:
            return Place(f"sets/{self.folder}/set.toml", key=key)
        field = str(key[0]) if key and key[0] in ("name", "status") else "code"
        return Place(self.sheet, row=self.gift_set.code, column=field, key=(SINGLE, field))


@dataclass(frozen=True, slots=True)
class Single:
    """An item that is listed alone: its code, what names its files and pages, its stories and photos."""

    code: str
    stem: str
    stories: tuple[Story, ...] = ()
    photos: tuple[Photo, ...] = ()

    @property
    def folder(self) -> str:
        """What it is known by among the folders of sets."""
        return single_folder(self.stem)


def single_folder(stem: str) -> str:
    """Return what a single piece is known by among the folders of sets, none of which has a slash in its name."""
    return f"items/{stem}"


@dataclass(frozen=True, slots=True)
class FolderRead:
    """A folder under sets/ as far as it can be read, sound or not.

    `code` is what its code probably is, "" where that is not known, as `name`. `parsed` is False where its set.toml is
    missing or no TOML. `season` and `box` are what it says, sound or not; `box` is None where it cannot be read.
    `items` are the codes of items it names. A single piece has no folder: `files` are its own.
    """

    folder: str
    code: str = ""
    name: str = ""
    draft: bool = False
    parsed: bool = True
    season: str = ""
    box: str | None = ""
    items: frozenset[str] = frozenset()
    files: frozenset[str] = frozenset()

    @property
    def is_single(self) -> bool:
        """Whether it is a single piece, which has no folder of its own."""
        return "/" in self.folder

    @property
    def title(self) -> str:
        """What to call it."""
        known = self.code or f"sets/{self.folder}"
        return f"{self.name} ({known})" if self.name else known


@dataclass(frozen=True, slots=True)
class Templates:
    """Wording and layouts by path ("listing/listing.html"); the owner's where she has one, else ours.

    `owners` are the paths of hers, `replaced` those of ours in whose places hers stand.
    """

    texts: tuple[tuple[str, str], ...] = ()
    owners: frozenset[str] = frozenset()
    replaced: tuple[tuple[str, str], ...] = ()

    def __getitem__(self, path: str) -> str:
        """Return the text at `path`; KeyError when there is none."""
        return dict(self.texts)[path]

    def shipped(self) -> dict[str, str]:
        """Return all of ours by path, whether or not hers stand in their places."""
        return {path: text for path, text in self.texts if path not in self.owners} | dict(self.replaced)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What the files name and the shop lacks for faults that are told already: what only follows from it is not told.

    `codes` are of items and sets; with `every` any code may be one, since a file could not be read to its end.
    `seasonless` are the codes of sets whose season is named and not known. `items` are the codes of items that cannot
    be read, and of those that cannot be told apart from them (a mini of such a full size); `boxes` the keys of such
    boxes. What is wrong with these concerns the sets that use them alone. `channels` are the keys of files of channels
    that cannot be read, `languages` the tags of such files under languages/. `percentages` are the items and raw
    materials of which ingredients.csv cannot be read whole, None where any may be; `rates` says that rates.csv cannot,
    `boxes_unread` that packaging.toml cannot, `settings` that nothing is known of shop.toml. `stories` are the files of
    stories that cannot be read.
    """

    codes: frozenset[str] = frozenset()
    every: bool = False
    seasonless: frozenset[str] = frozenset()
    items: frozenset[str] = frozenset()
    boxes: frozenset[tuple[str | int, ...]] = frozenset()
    channels: frozenset[str] = frozenset()
    languages: frozenset[str] = frozenset()
    percentages: frozenset[str] | None = frozenset()
    rates: bool = False
    boxes_unread: bool = False
    settings: bool = False
    stories: frozenset[str] = frozenset()

    def may_hold(self, code: str) -> bool:
        """Whether a code that the shop has not may stand for something in the files."""
        return self.every or code in self.codes

    def lacks_story(self, folder: str, *, is_single: bool) -> bool:
        """Whether a story of a set's folder, or of a single piece, cannot be read: which one it is nobody knows."""
        begins = f"items/{folder}." if is_single else f"sets/{folder}/"
        return any(file.casefold().startswith(begins.casefold()) for file in self.stories)


NOTHING_KNOWN: Final = LeftOut(every=True, percentages=None, rates=True, boxes_unread=True, settings=True)
"""Of a folder that is not read at all: anything may be in it."""


@dataclass(frozen=True, slots=True)
class Shop:
    """The whole folder. Broken files and sets are left out; their problems are told beside it."""

    root: Path
    settings: Settings
    items: tuple[Item, ...] = ()
    packaging: Packaging = NO_PACKAGING
    sets: tuple[SetFolder, ...] = ()
    season_photos: tuple[tuple[str, Photo], ...] = ()  # season name, its picture of all the season's sets
    channels: tuple[Channel, ...] = ()
    translations: tuple[tuple[str, Translation], ...] = ()  # language, its words; by file
    wholesale: Wholesale | None = None
    stockists: tuple[Stockist, ...] = ()
    rates: tuple[Rate, ...] = ()
    ingredients: tuple[IngredientRow, ...] = ()
    templates: Templates = Templates()
    naming: Naming = NAME_FIRST  # how the shop's language calls a piece
    logo: PhotoFacts | None = None
    left_out: LeftOut = LeftOut()
    folders: tuple[FolderRead, ...] = ()  # every folder under sets/, those of `sets` among them; then singles
    old_codes: OldCodes = NO_OLD_CODES  # of items, sets and variants
    items_file: str = "items.csv"  # where the items were read from, for the places of problems
    singles: tuple[Single, ...] = ()  # the pieces that some channel lists alone, in the order of the items
    movements: MovesRead = NO_MOVES  # what came and went, as movements.csv has it
    allotment: AllotmentRead = NO_ALLOTMENT  # who gets what, as allotment.csv has it; read where [allotment] stands
    stock: Stock | None = None  # what follows from it, once items and packaging have their stock from it
    making: MakingRead = NOTHING_MADE  # materials, recipes and the plan
    made: MakingState | None = None  # what follows from recipes, once items have their costs from it
    _by_zone: dict[str, tuple[Rate, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def rates_to(self, zone: str) -> tuple[Rate, ...]:
        """Return the rates to a zone in the order of the file, which is parted once."""
        if self.rates and not self._by_zone:
            parted = defaultdict[str, list[Rate]](list)
            for rate in self.rates:
                parted[rate.zone].append(rate)
            self._by_zone.update({name: tuple(rates) for name, rates in parted.items()})
        return self._by_zone.get(zone, ())

    @property
    def paper(self) -> Literal["A4", "letter"]:
        """The paper of what is printed: what the terms for other shops state, else the usual one of the country."""
        stated = self.wholesale.paper if self.wholesale else None
        return stated or ("letter" if self.settings.country in _LETTER else "A4")
