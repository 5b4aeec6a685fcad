"""Old codes: which the files state, and where they are still written. Later layers see today's codes alone."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from listkit.model.codes import (
    NO_OLD_CODES,
    OLD_VARIANTS,
    OldCodes,
    code_places,
    old_variant_codes,
    old_variant_count,
    variant_codes,
    with_codes,
)
from listkit.model.fields import ShopModel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.shop import SetFolder
from listkit.problem import KeyPath, Level, Place, Problem, quoted, times
from listkit.read.folder import SETS
from listkit.read.parts import SetRead
from listkit.read.references import BOX_WORDS
from listkit.read.table_file import Table

M = TypeVar("M", bound=ShopModel)


@dataclass(slots=True)
class Renaming:
    """The old codes of a shop, and the places met so far where they are still written."""

    codes: OldCodes = NO_OLD_CODES
    met: dict[str, list[Place]] = field(default_factory=dict)
    twice: list[tuple[str, str, Place]] = field(default_factory=list)
    """Two keys of one table that are one code today, and the place of the second."""

    def cell(self, code: str, place: Place) -> str:
        """Return today's code for one that is written at a place."""
        if code in self.codes.now:
            self.met.setdefault(code, []).append(place)
        return self.codes(code)

    def model(self, model: M, file: str) -> M:
        """Return what a file says, in today's codes."""
        if not self.codes:
            return model
        keys = dict[KeyPath, str]()
        for path, code in code_places(model):
            today = self.cell(code, Place(file, key=path))
            if path[-1] == code:
                first = keys.setdefault((*path[:-1], today), code)
                if first != code:
                    self.twice.append((first, code, Place(file, key=path)))
        return with_codes(model, self.codes)

    def gift_set(self, read: SetRead) -> SetRead:
        """Return what a set's folder says, in today's codes."""
        if not self.codes or read.gift_set is None:
            return read
        photos = (replace(photo, shows=tuple(map(self.codes, photo.shows))) for photo in read.photos)
        return replace(read, gift_set=self.model(read.gift_set, read.source.file), photos=tuple(photos))

    def rows(self, table: Table[M]) -> Table[M]:
        """Return a table in today's codes."""
        if not self.codes:
            return table
        for line, row in zip(table.row_lines, table.rows, strict=True):
            for path, code in code_places(row):
                self.cell(code, table.place_at(line, str(path[0])))
        return replace(table, rows=tuple(with_codes(row, self.codes) for row in table.rows))

    def remarks(self) -> Iterator[Problem]:
        """Yield a problem for each old code that is still written somewhere, at the first place."""
        for first, second, place in self.twice:
            today = self.codes(second)
            message = f"{quoted(first)} and {quoted(second)} are one code today, {today}."
            yield Problem(place, "code-twice", message, f"Write {today} once, for both.")
        for old, places in self.met.items():
            new, more = self.codes(old), len(places) - 1
            also = f", here and in {times(more, 'other place')}" if more else ""
            hint = f"listkit rename {old} {new} --apply writes the new code {'in all of them' if more else 'there'}."
            yield Problem(places[0], "old-code", f"{quoted(old)} is {new} now{also}.", hint, Level.LOOK_AT)


def stated_old_codes(
    table: Table[Item], reads: Iterable[SetRead], boxes: Iterable[str]
) -> tuple[OldCodes, list[Problem]]:
    """Return the old codes of items and sets; one that is still a code, or of two things, is a problem and none.

    `boxes` are the codes of boxes. Codes of variants that are made of others are for `with_variants`.
    """
    reads = tuple(reads)
    sets = [(read.source.file, read.gift_set) for read in reads if read.gift_set]
    stated = [(old, item.code, table.place(item.code, "old_codes")) for item in table.rows for old in item.old_codes]
    for file, each in sets:
        keys = ((old, Place(file, key=("old_codes", at))) for at, old in enumerate(each.old_codes))
        stated += [(old, each.code, place) for old, place in keys]
    used = {item.code: "an item" for item in table.rows} | dict.fromkeys((code for code, _ in table.broken), "an item")
    used |= {read.code: "a set" for read in reads if read.code}
    used |= {note.code: "a variant" for _, each in sets for note in each.variants if note.code}
    used |= dict.fromkeys((*boxes, *BOX_WORDS), "a box")
    now: dict[str, str] = {}
    problems = []
    for old, new, place in stated:
        if old in used:
            problems.append(
                _still_a_code(place, old, new, "its own code" if old == new else f"the code of {used[old]}")
            )
        elif now.setdefault(old, new) != new:
            message = f"{quoted(old)} is also an old code of {now[old]}."
            problems.append(Problem(place, "code-twice", message, "Take it out at one of the two."))
    return OldCodes(now), problems


def _still_a_code(place: Place, old: str, new: str, whose: str) -> Problem:
    message = f"{quoted(old)} cannot be an old code of {new}: it is {whose}."
    return Problem(place, "code-twice", message, "Take it out here, or give that another code.")


def _too_many(folder: SetFolder, count: int) -> Problem:
    title, most = folder.gift_set.code, f"{OLD_VARIANTS:,}"
    had = f"more than {most}" if count > OLD_VARIANTS else f"{count:,}"
    message = f"by the old codes of {title} and of what may be chosen its variants had {had} codes, too many together."
    hint = f"A shop may have {most} in all: take out old codes that nobody writes any more."
    return Problem(Place(f"{SETS}/{folder.folder}/set.toml", key=("contents",)), "bad-value", message, hint)


def with_variants(codes: OldCodes, sets: Sequence[SetFolder], used: frozenset[str]) -> tuple[OldCodes, list[Problem]]:
    """Return the old codes with those of variants, which change with their set's or an option's, or alone.

    Args:
        codes: of items and sets.
        sets: the sound ones, whose variants are not too many.
        used: every other code there is.

    Returns:
        The old codes, and a problem for each that a variant states and that means something else.
    """
    if not codes and not any(_has_old(folder.gift_set, {}) for folder in sets):
        return codes, []
    today = frozenset(code for folder in sets for code in variant_codes(folder.gift_set))
    problems = []
    for folder in sets:
        place = f"{SETS}/{folder.folder}/set.toml"
        for at, note in enumerate(folder.gift_set.variants):
            for number, old in enumerate(note.old_codes):
                if old in used or old in today or old in codes.now:
                    key = Place(place, key=("variant", at, "old_codes", number))
                    whose = "the code of another variant" if old in today else "another code"
                    problems.append(_still_a_code(key, old, f"this variant of {folder.gift_set.code}", whose))
    codes = OldCodes({old: new for old, new in codes.now.items() if old not in today})
    olds: dict[str, tuple[str, ...]] = {}
    for old, new in codes.now.items():
        olds[new] = (*olds.get(new, ()), old)
    now, counted = dict[str, str](), 0
    for folder in sets:
        if _has_old(folder.gift_set, olds):
            counted += (count := old_variant_count(folder.gift_set, olds))
            if counted > OLD_VARIANTS:
                problems.append(_too_many(folder, count))
                break
            before = old_variant_codes(folder.gift_set, olds)
            now |= {old: new for old, new in before.items() if old not in today and old not in used}
    return OldCodes({**now, **codes.now}), problems


def _has_old(gift_set: GiftSet, olds: Mapping[str, tuple[str, ...]]) -> bool:
    options = [option for slot in gift_set.slots for option in slot.choose]
    by_option = any(option.old_codes or option.item in olds for option in options)
    return by_option or gift_set.code in olds or any(note.old_codes for note in gift_set.variants)
