"""Reads single pieces: which items are listed alone, and the pictures and stories that are called by their codes.

Nothing of it is looked for where neither shop.toml nor a channel has [singles]. An item that a set without box is
already, alone or as an option, is listed with that set.
"""

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from listkit.model.channel import Channel
from listkit.model.codes import OldCodes
from listkit.model.fields import SetStatus, Status
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item, Singles
from listkit.model.settings import Settings
from listkit.model.shop import FolderRead, Photo, Single, Story
from listkit.problem import Level, Place, Problem, quoted
from listkit.read.folder import CHANNELS, PHOTOS, SHOP, SINGLES, single_files
from listkit.read.parts import STORY_BYTES, SetRead, is_language
from listkit.read.photos import OTHER, PhotoMemory, read_photo
from listkit.read.source import Source, read_source, turned_problem
from listkit.read.table_file import Table
from listkit.read.wording import listed, perhaps

_NUMBERED = re.compile(r"(.+)-([2-9]|[1-9]\d{1,2})")


@dataclass(frozen=True, slots=True)
class SinglesRead:
    """The single pieces that any channel lists, each as a folder that is none, and what is wrong with any of it."""

    singles: tuple[Single, ...] = ()
    folders: tuple[FolderRead, ...] = ()
    problems: tuple[Problem, ...] = ()

    def codes_with(self, of_sets: frozenset[str] | None) -> frozenset[str] | None:
        """Return the codes of all that is listed, sets among it; None where those of the sets are not known."""
        return None if of_sets is None else of_sets | {folder.code for folder in self.folders}


@dataclass(frozen=True, slots=True)
class Asked:
    """What there is beside single pieces: the items with their table, the sets, old codes."""

    table: Table[Item]
    items: tuple[Item, ...]
    reads: tuple[SetRead, ...]
    old_codes: OldCodes


def read_singles(
    root: Path, settings: Settings, channels: Iterable[Channel], asked: Asked, *, memory: PhotoMemory,
    leave_out: Collection[str],
) -> SinglesRead:  # fmt: skip
    """Return the single pieces of a shop, less those whose folders are in `leave_out`."""
    wanted = dict(_wanted(settings, channels))
    if not wanted:
        return SinglesRead()
    table = asked.table
    broken = frozenset(code for code, _ in table.broken)
    codes = frozenset(item.code for item in asked.items) | broken
    problems = list(_unknown(wanted, codes, broken)) if table.unread is None else []
    sets = dict(_sets_of_one(asked.reads))
    listed_alone = _listed_alone(wanted.values(), asked)
    problems += _listed_with_sets(sets, listed_alone)
    found = _Files(root, memory, codes if table.unread is None else None, asked.old_codes)
    singles, folders = list[Single](), list[FolderRead]()
    taken = {read.folder.casefold() for read in asked.reads}
    items = {item.code: item for item in asked.items}
    for code in listed_alone:
        if code in sets:
            continue
        stem, item = _stem(code), items.get(code)
        while stem in taken:  # a page of a set is called so, or of an item whose code differs in capitals alone
            stem += "-alone"
        taken.add(stem)
        single = Single(code, stem)
        folders.append(
            FolderRead(
                single.folder, code, item.name if item else "", items=frozenset((code,)), files=found.files_of(code)
            )
        )
        if item is not None and code not in broken and single.folder not in leave_out:
            stories, faults = found.stories_of(item, table)
            singles.append(replace(single, stories=stories, photos=found.photos_of(code)))
            problems += faults
    apart = {file for folder in folders if folder.folder in leave_out for file in folder.files}
    problems += (each for each in found.problems() if each.place.file not in apart)
    return SinglesRead(tuple(singles), tuple(folders), tuple(problems))


def _wanted(settings: Settings, channels: Iterable[Channel]) -> Iterator[tuple[str, Singles]]:
    """Yield each [singles], with the file that has it."""
    if settings.singles is not None:
        yield SHOP, settings.singles
    yield from (
        (f"{CHANNELS}/{channel.key}.toml", channel.singles) for channel in channels if channel.singles is not None
    )


def _unknown(wanted: Mapping[str, Singles], codes: frozenset[str], broken: frozenset[str]) -> Iterator[Problem]:
    for file, singles in wanted.items():
        for at, code in enumerate(singles.items or ()):
            if code not in codes:
                hint = perhaps(code, codes, broken=broken) or "Write the code of an item."
                place = Place(file, key=("singles", "items", at))
                yield Problem(place, "unknown-code", f"there is no item {quoted(code)}.", hint)


def _listed_alone(wanted: Iterable[Singles], asked: Asked) -> tuple[str, ...]:
    """Return the codes of items that some channel lists alone, in the order of the table; broken rows come last."""
    named = {code for singles in wanted for code in singles.items or ()}
    every = any(singles.items is None for singles in wanted)
    sold = [item.code for item in asked.items if item.code in named or (every and item.status is not Status.CLOSED)]
    return tuple(dict.fromkeys((*sold, *(code for code, _ in asked.table.broken if code in named or every))))


def _sets_of_one(reads: Iterable[SetRead]) -> Iterator[tuple[str, SetRead]]:
    """Yield each item that a set on sale is, alone or as an option, with the set; drafts are none yet."""
    for read in reads:
        gift_set = read.gift_set
        if gift_set is not None and gift_set.status not in (SetStatus.DRAFT, SetStatus.CLOSED) and _is_one(gift_set):
            yield from ((code, read) for code in gift_set.item_codes)


def _is_one(gift_set: GiftSet) -> bool:
    return not gift_set.boxed and len(gift_set.contents) == 1 and gift_set.contents[0].quantity == 1


def _listed_with_sets(sets: Mapping[str, SetRead], listed_alone: Iterable[str]) -> Iterator[Problem]:
    """Yield once a set which single pieces are listed with it."""
    by_set: dict[str, list[str]] = {}
    for code in listed_alone:
        if code in sets:
            by_set.setdefault(sets[code].source.file, []).append(code)
    for file, codes in by_set.items():
        read = sets[codes[0]]
        name, several = read.gift_set.name if read.gift_set else read.code, len(codes) > 1
        message = f"{listed(codes, 'and')} {'are' if several else 'is'} {name} ({read.code}) already."
        kept = "They are" if several else "It is"
        hint = (
            f"{kept} listed with the set, not a second time; close the set to list {'them' if several else 'it'} alone."
        )
        yield Problem(Place(file, key=("contents",)), "single-is-set", message, hint, Level.LOOK_AT)


def _stem(code: str) -> str:
    """Return what names the files and pages of an item: its code in small letters.

    >>> _stem("OH/B01")
    'oh-b01'
    """
    return code.replace("/", "-").casefold()


class _Files:
    """The pictures and stories that are called by codes: each belongs to one item, or to none and is told.

    `codes` are those of all items, None where they are not known.
    """

    def __init__(self, root: Path, memory: PhotoMemory, codes: frozenset[str] | None, old_codes: OldCodes) -> None:
        self._root, self._memory, self._codes = root, memory, codes
        self._code_of = {_stem(old): new for old, new in old_codes.now.items()}
        self._code_of |= {_stem(code): code for code in sorted(codes or ())}
        stories, pictures, self._problems = single_files(root)
        self._stories: dict[str, list[tuple[str, str]]] = {}
        self._pictures: dict[str, list[tuple[int, str]]] = {}
        for file in stories:
            name = file.rpartition("/")[2].removesuffix(".md")
            code, language = self._code_of.get(_plain(name), ""), ""
            if not code and "." in name:
                stem, _, language = name.rpartition(".")
                code = self._code_of.get(_plain(stem), "")
            if code:
                self._stories.setdefault(code, []).append((file, language))
            else:
                self._stray(file, "nothing tells it", f"{SINGLES}/OH-B01.md")
        for file in pictures:
            name = _plain(file.rpartition("/")[2].rpartition(".")[0])
            numbered = _NUMBERED.fullmatch(name)
            code, number = self._code_of.get(name, ""), 1
            if not code and numbered:
                code, number = self._code_of.get(numbered[1], ""), int(numbered[2])
            if code:
                self._pictures.setdefault(code, []).append((number, file))
            else:
                self._stray(file, "nothing shows it", f"{PHOTOS}/{SINGLES}/OH-B01-2.jpg")
        self._memory.look(root, (file for of_item in self._pictures.values() for _, file in of_item))
        self._photos = {code: tuple(self._read(code, sorted(files))) for code, files in self._pictures.items()}

    def _stray(self, file: str, so: str, example: str) -> None:
        """Note a file that is called by no item's code."""
        if self._codes is not None:
            stem = re.sub(r"(-\d+)?\.[^.]*$", "", file.rpartition("/")[2])
            hint = perhaps(stem, self._codes) or f"Call it by an item's code, as in {example}, or take it out."
            message = f"there is no item {quoted(stem)}, so {so}."
            self._problems.append(Problem(Place(file), "single-stray", message, hint, Level.LOOK_AT))

    def _read(self, code: str, files: Iterable[tuple[int, str]]) -> Iterator[Photo]:
        for _, file in files:
            facts = read_photo(self._root, file, self._memory)
            if isinstance(facts, Problem):
                self._problems.append(facts)
            else:
                yield Photo(file, facts, OTHER, shows=(code,))

    def problems(self) -> list[Problem]:
        """Return what is wrong with files that belong to no single piece, or are no pictures."""
        return self._problems

    def files_of(self, code: str) -> frozenset[str]:
        """Return every file of an item."""
        stories, pictures = self._stories.get(code, ()), self._pictures.get(code, ())
        return frozenset((*(file for file, _ in stories), *(file for _, file in pictures)))

    def photos_of(self, code: str) -> tuple[Photo, ...]:
        """Return the photos of an item, by their numbers."""
        return self._photos.get(code, ())

    def stories_of(self, item: Item, table: Table[Item]) -> tuple[tuple[Story, ...], list[Problem]]:
        """Return what is told of an item: files beside what its row has; two in one language are a problem."""
        stories: dict[str, Story] = {}
        problems = list[Problem]()
        for file, language in self._stories.get(item.code, ()):
            source = read_source(self._root, file, limit=STORY_BYTES)
            if not isinstance(source, Source):
                problems.append(source)
            elif language and not is_language(language):
                hint = f'Name it as in "{_stem(item.code)}.fr.md".'
                problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
            elif language in stories:
                message = f"{stories[language].file} tells of {item.code} too."
                problems.append(Problem(Place(file), "code-twice", message, "Keep one of the two."))
            elif turned := turned_problem(source):
                problems.append(turned)
            else:
                stories[language] = Story(file, language, source.text)
        if item.story and "" in stories:
            message = f"the column story of {table.file} tells of {item.code} too."
            problems.append(Problem(Place(stories[""].file), "code-twice", message, "Keep one of the two."))
        elif item.story:
            stories[""] = Story(table.file, "", item.story, item.code)
        return tuple(stories[language] for language in sorted(stories)), problems


def _plain(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()
