"""What names and codes stand for across the files of a shop; what names nothing is told and taken out.

A set that needs what cannot be found or read is left out. When the cause lies in another file (a row of
the items, a box), it is told there once, with the number of sets that wait for it.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import GiftBox, Packaging
from listkit.model.shop import SetFolder
from listkit.model.wholesale import Group, Wholesale
from listkit.problem import KeyPath, Problem
from listkit.read.faults import Fault
from listkit.read.packaging_file import PackagingRead
from listkit.read.set_folder import SetRead
from listkit.read.set_references import BOX_WORDS, Known, item_uses, set_references
from listkit.read.source import Source
from listkit.read.table_file import Table
from listkit.read.toml_file import problem_of
from listkit.read.wording import perhaps, quoted, times, write_instead


@dataclass(frozen=True, slots=True)
class Waiting:
    """What sets wait for: the first problem of each broken item and box.

    `other_items` and `other_boxes` are what hides all others than those that were `read` or are broken; None when
    there are no others.
    """

    items: Mapping[str, Problem]
    boxes: Mapping[str, Problem]
    read: frozenset[str]
    other_items: Problem | None = None
    other_boxes: Problem | None = None

    def causes(self, gift_set: GiftSet) -> set[Problem]:
        """Return the problems elsewhere that keep this set from being computed."""
        codes = {code for _, code in item_uses(gift_set)}
        found = {self.items[code] for code in codes & self.items.keys()}
        if self.other_items and not codes <= self.read | self.items.keys():
            found.add(self.other_items)
        if gift_set.box == "smallest":
            found |= set(self.boxes.values()) | ({self.other_boxes} if self.other_boxes else set())
        elif gift_set.box in self.boxes:
            found.add(self.boxes[gift_set.box])
        elif self.other_boxes and gift_set.boxed and gift_set.box not in self.read:
            found.add(self.other_boxes)
        return found


@dataclass(slots=True)
class Codes:
    """The codes given out so far, and what each names."""

    named: dict[str, tuple[str, str]] = field(default_factory=dict)

    def claim(self, code: str, kind: str, file: str, loc: KeyPath) -> Fault | None:
        """Give a code to one thing; the fault when something else has it."""
        if code in self.named:
            other, elsewhere = self.named[code]
            message = f"{quoted(code)} is also the code of the {other} in {elsewhere}."
            return Fault(loc, "code-twice", message, "Give each its own code.")
        self.named[code] = kind, file
        return None

    def of(self, *kinds: str) -> frozenset[str]:
        """Return the codes given to things of these kinds."""
        return frozenset(code for code, (kind, _) in self.named.items() if kind in kinds)


def settle_items(table: Table[Item], codes_given: Codes) -> tuple[tuple[Item, ...], list[Problem]]:
    """Return the items without full sizes that are not there, and give out their codes."""
    sound = {item.code for item in table.rows}
    complete = table.unread is None
    codes = sound | {code for code, _ in table.broken}
    for code in (*(item.code for item in table.rows), *(code for code, _ in table.broken)):
        codes_given.claim(code, "item", table.file, ())
    items: list[Item] = []
    problems: list[Problem] = []
    for item in table.rows:
        if item.larger and ((complete and item.larger not in codes) or item.larger == item.code):
            message = f"there is no item {quoted(item.larger)}."
            if item.larger == item.code:
                message = "it cannot be its own full size."
            hint = perhaps(item.larger, codes - {item.code}) or "Name the full size of this mini by its code."
            problems.append(Problem(table.place(item.code, "larger"), "unknown-code", message, hint))
        alone = bool(item.larger) and (item.larger not in sound or item.larger == item.code)
        items.append(item.model_copy(update={"larger": ""}) if alone else item)
    return tuple(items), problems


def settle_boxes(read: PackagingRead, codes: Codes) -> tuple[Packaging, list[Problem]]:
    """Return the packaging with each box code once."""
    boxes: list[GiftBox] = []
    faults: list[Fault] = []
    for at, box in enumerate(read.packaging.boxes):
        fault = codes.claim(box.code, "box", read.source.file, ("box", at, "code"))
        if box.code in BOX_WORDS:
            message = f'{quoted(box.code)} cannot be a code: sets say so for "the smallest that fits" or "no box".'
            fault = Fault(("box", at, "code"), "bad-value", message, "Give the box another code.")
        if fault:
            faults.append(fault)
        if box.code not in {other.code for other in boxes}:
            boxes.append(box)
    for at, case in enumerate(read.packaging.cases):
        fault = codes.claim(case.code, "case", read.source.file, ("case", at, "code"))
        faults += [fault] if fault else []
    packaging = read.packaging.model_copy(update={"boxes": tuple(boxes)})
    return packaging, [problem_of(read.source, fault) for fault in faults]


@dataclass(frozen=True, slots=True)
class SetsSettled:
    """The sets that can be computed, the problems in their files, and how many sets wait for each problem elsewhere.

    `seasonless` are the codes of those whose season is named and not known.
    """

    sets: tuple[SetFolder, ...]
    problems: list[Problem]
    waiting: Counter[Problem]
    seasonless: tuple[str, ...] = ()


def settle_sets(reads: Iterable[SetRead], known: Known, waiting: Waiting, codes: Codes) -> SetsSettled:
    """Return the sets whose names all stand for something."""
    settled = SetsSettled((), [], Counter())
    kept: list[SetFolder] = []
    seasonless = []
    for read in reads:
        if read.gift_set is None:
            if read.code:
                codes.claim(read.code, "set", read.source.file, ("code",))
            continue
        found = set_references(read.gift_set, known, {photo.name: photo for photo in read.photos})
        twice = _claims(read, found.gift_set, codes)
        causes = waiting.causes(read.gift_set)
        settled.waiting.update(causes)
        settled.problems.extend(problem_of(read.source, fault) for fault in (*twice, *found.faults))
        if found.usable and not causes and not any(fault.loc == ("code",) for fault in twice):
            kept.append(_folder(read, found.gift_set))
        if read.gift_set.season and (known.seasons is None or not found.gift_set.season):
            seasonless.append(found.gift_set.code)
    return replace(settled, sets=tuple(kept), seasonless=tuple(seasonless))


def _claims(read: SetRead, gift_set: GiftSet, codes: Codes) -> list[Fault]:
    """Give out the set's code and the codes stated for its variants; return what is taken already."""
    faults = [codes.claim(gift_set.code, "set", read.source.file, ("code",))]
    for at, note in enumerate(read.gift_set.variants if read.gift_set else ()):
        if note.code:
            faults.append(codes.claim(note.code, "variant", read.source.file, ("variant", at, "code")))
    return [fault for fault in faults if fault]


def _folder(read: SetRead, gift_set: GiftSet) -> SetFolder:
    codes = gift_set.item_codes
    photos = tuple(replace(photo, shows=tuple(code for code in photo.shows if code in codes)) for photo in read.photos)
    return SetFolder(read.folder, gift_set, read.stories, photos)


def with_counts(problems: Iterable[Problem], waiting: Counter[Problem]) -> list[Problem]:
    """Return the problems; one that sets wait for says how many are left out."""
    return [
        replace(problem, message=f"{problem.message} {_left_out(waiting[problem])}") if waiting[problem] else problem
        for problem in problems
    ]


def _left_out(count: int) -> str:
    return f"{times(count, 'set')} {'is' if count == 1 else 'are'} left out with it."


@dataclass(frozen=True, slots=True)
class Lines:
    """What wholesale.toml may name: the `known` codes of sets and items, of which the `sound` were read."""

    known: frozenset[str] | None
    sound: frozenset[str]
    seasons: frozenset[str] | None
    variants: frozenset[str] = frozenset()  # codes of their own that variants have


def _note_faults(wholesale: Wholesale, names: Lines) -> Iterator[Fault]:
    """Yield what is wrong with the codes of [[line]]; made ones of variants begin as their sets do."""
    seen: set[str] = set()
    for at, note in enumerate(wholesale.notes):
        made = any(note.code.startswith(f"{code}-") for code in names.known or ())
        of_variant = made or note.code in names.variants
        if names.known is not None and note.code not in names.known and not of_variant:
            hint = perhaps(note.code, names.known) or "Write the code of a set, a variant or an item."
            message = f"there is no set, variant or item {quoted(note.code)}."
            yield Fault(("line", at, "code"), "unknown-code", message, hint)
        if note.code in seen:
            message = f"{quoted(note.code)} has two of [[line]], and only the last would hold."
            yield Fault(("line", at, "code"), "code-twice", message, "Put all of it into one.")
        seen.add(note.code)


def settle_wholesale(wholesale: Wholesale, source: Source, names: Lines) -> tuple[Wholesale, list[Problem]]:
    """Return the terms with the lines that can be sold."""
    faults: list[Fault] = []
    groups: list[Group] = []
    for at, group in enumerate(wholesale.groups):
        for number, code in enumerate(group.lines):
            if names.known is not None and code not in names.known:
                hint = perhaps(code, names.known) or "Write the code of a set or an item."
                message = f"there is no set or item {quoted(code)}."
                faults.append(Fault(("group", at, "lines", number), "unknown-code", message, hint))
        groups.append(group.model_copy(update={"lines": tuple(code for code in group.lines if code in names.sound)}))
    faults += _note_faults(wholesale, names)
    if wholesale.season and names.seasons is not None and wholesale.season not in names.seasons:
        hint = write_instead(wholesale.season, names.seasons) or "Write the name of a season in shop.toml."
        faults.append(Fault(("season",), "unknown-code", f"there is no season {quoted(wholesale.season)}.", hint))
    settled = wholesale.model_copy(update={"groups": tuple(groups)})
    return settled, [problem_of(source, fault) for fault in faults]
