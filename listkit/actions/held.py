"""What is held back, and the words for it: a set that was published and needs mending keeps its places' joint files.

A joint file speaks of several sets (a feed, a price list, a line sheet). Files of single sets are made for all sound
sets. Where a file that a place uses needs mending, its own or a language, all of its files stay. What was never
published is left out.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from listkit.check.scope import PRINT
from listkit.ledger.old_codes import renamed_lines
from listkit.ledger.store import LEDGER, parsed, standing
from listkit.model.shop import FolderRead
from listkit.pipeline import WHOLESALE, Checked
from listkit.problem import FieldError
from listkit.read.wording import listed
from listkit.save.job import File
from listkit.save.made import read_made
from listkit.save.manifest import read_manifest
from listkit.write.contact_sheet import NAME as CONTACT_SHEET

_OF_ONE_SET: Final = ("listings", "photos", "barcodes", "pictures")
"""Folders of a place whose files each speak of one set, or show one picture."""


@dataclass(frozen=True, slots=True)
class Held:
    """What is held back on one place: sets and items by their codes, or with `whole` all of it.

    `files` are those that must be mended before all of it is made again.
    """

    key: str
    codes: tuple[str, ...] = ()
    whole: bool = False
    files: tuple[str, ...] = ()

    def holds(self, code: str, row: Mapping[str, Any]) -> bool:
        """Whether a row of the place's last record is held back."""
        return self.whole or group_of(code, row) in self.codes


NOTHING_HELD: Final[Mapping[str, Held]] = MappingProxyType({})


def group_of(code: str, row: Mapping[str, Any]) -> str:
    """Return the set that a row belongs to; of a line of wholesale that is an item, the item."""
    return str(row.get("inProductGroupWithID") or code)


def held_back(checked: Checked) -> dict[str, Held]:
    """Return what is held back by place; places without are left out.

    A set whose code cannot be read is taken for any that was published and that no folder has now. Where the ledger
    cannot be read, every set that needs mending counts as published everywhere.
    """
    aside = checked.aside
    stopped = {key: Held(key, whole=True, files=files) for key, files in aside.places.items()}
    broken = {each.code for each in aside.broken if each.code}
    alone = {each.code for each in aside.broken if each.is_single}  # lines for shops are items, whatever lists them
    if not (broken or aside.unnamed or aside.items):
        return stopped
    ledger, now = checked.shop.root / LEDGER, checked.shop.old_codes.now
    try:  # all at once, so that a ledger that somebody writes to is waited for once
        published = {
            key: {
                group_of(code, row) for code, row in parsed(renamed_lines(standing(ledger, key, "rows"), now)).items()
            }
            for key in checked.places
        }
    except FieldError:
        published = None
    known = aside.known | aside.items | {item.code for item in checked.shop.items}
    held = {}
    for key in checked.places:
        wanted = (broken - alone) | aside.items if key == WHOLESALE else broken
        groups = wanted if published is None else published[key]
        lost = groups - known if aside.unnamed else set()
        if codes := (wanted & groups) | lost:
            held[key] = Held(key, tuple(sorted(codes)))
    return held | stopped


def kept_paths(checked: Checked, held: Mapping[str, Held], expected: Iterable[File], out: Path) -> frozenset[str]:
    """Return the paths that a build neither makes nor removes.

    Args:
        checked: the shop.
        held: what is held back, by place.
        expected: every file that the build would make.
        out: the folder with what earlier builds made.
    """
    if not held:
        return frozenset()
    channels = {entry.path: entry.channel for entry in read_manifest(out)}
    there = {path: channels.get(path, "") for path in {*channels, *read_made(out).files}}
    wanted = {file.path: file.channel for file in expected}
    cards = checked.shop.settings.cards
    documents = any(not each.whole or (cards and cards.channel == each.key) for each in held.values())
    kept = set[str]()
    for path, channel in {**there, **wanted}.items():
        folder = path.partition("/")[0]
        on = held.get(channel) or held.get(folder)
        if on is None and (channel or folder != "print" or not documents):
            continue
        if path not in wanted or _is_joint(path) or (on is not None and on.whole):
            kept.add(path)
    return frozenset(kept)


def _is_joint(path: str) -> bool:
    """Whether a file below the output folder speaks of several sets."""
    parts = path.split("/")
    return len(parts) < 3 or parts[1] not in _OF_ONE_SET or parts[-1] == CONTACT_SHEET


def aside_lines(checked: Checked, held: Mapping[str, Held]) -> Iterator[str]:
    """Yield what is left out (drafts, sets as asked for, sets never published) and what is held back on which places.

    Places that hold back the same are one line.
    """
    aside = checked.aside
    if drafts := tuple(each for each in aside.drafts if each.parsed):
        yield f"Left out: {_titles(drafts)} {'is a draft' if len(drafts) == 1 else 'are drafts'}."
    if unread := tuple(each for each in aside.drafts if not each.parsed):
        yield f"Left out, as set.toml cannot be read and was never published: {_titles(unread)}."
    if aside.without:
        yield f"Left out, as you asked: {_titles(aside.without)}."
    published = {code for each in held.values() for code in each.codes}
    if new := tuple(each for each in aside.broken if each.code and each.code not in published):
        yield f"Left out until mended: {_titles(new)}, published nowhere so far."
    groups: dict[tuple[str, ...], list[str]] = {}
    shared: dict[tuple[str, ...], list[str]] = {}
    for key, each in held.items():
        if each.whole and each.files in ((f"channels/{key}.toml",), ("wholesale.toml",)):
            yield f"Held back until its own file is mended: {_place(checked, key)}. All its files stay as they are."
        elif each.whole:
            shared.setdefault(each.files, []).append(_place(checked, key))
        else:
            groups.setdefault(each.codes, []).append(checked.name(key))
    for files, places in shared.items():
        mended = f"until {listed(files, 'and')} {'is' if len(files) == 1 else 'are'} mended"
        yield f"Held back {mended}: {listed(places, 'and')}. All files there stay as they are."
    titles = {each.code: each.title for each in aside.broken}
    for codes, places in groups.items():
        sets = listed([titles.get(code, code) for code in codes], "and")
        without = " ".join(f"--without {code}" for code in codes)
        yield (
            f"Held back on {listed(places, 'and')} until mended: {sets}. Feeds, lists and sheets there stay as they "
            f"are; to make them without: listkit build {without}"
        )


def _place(checked: Checked, key: str) -> str:
    """Return what people call a place; labels and cards are none that the shop lists."""
    if key == PRINT:
        return "labels and cards"
    return checked.name(key) if key in checked.places else key


def _titles(sets: Sequence[FolderRead]) -> str:
    return listed([each.title for each in sets], "and")
