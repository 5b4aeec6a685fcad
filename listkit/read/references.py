"""Names and codes across the files of a shop: a name of nothing becomes a problem and is taken out.

So later layers need not ask again. A set whose contents or box cannot be found or read is left out. When the cause
lies in another file (a row of the items, a box), it is one problem there, with the number of sets that wait for it.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import prod
from types import MappingProxyType

from listkit import bounds
from listkit.model.gift_set import NO_BOX, SMALLEST, SMALLEST_EACH, Fixed, GiftSet, Slot, VariantNote
from listkit.model.item import Item
from listkit.model.packaging import GiftBox, Packaging
from listkit.model.reduction import Reduction
from listkit.model.settings import Settings
from listkit.model.shop import Guess, Photo, SetFolder
from listkit.model.wholesale import Group, Wholesale
from listkit.problem import KeyPath, Place, Problem, quoted, times
from listkit.read.as_mended import set_as_mended
from listkit.read.folder import PACKAGING, SHOP
from listkit.read.parts import PackagingRead, SetRead
from listkit.read.source import Fault, Source
from listkit.read.table_file import Table
from listkit.read.toml_file import problem_of
from listkit.read.wording import begins_with_one, listed, perhaps, perhaps_of_few, write_instead

BOX_WORDS = (SMALLEST, SMALLEST_EACH, NO_BOX)


@dataclass(frozen=True, slots=True)
class Known:
    """Every code and name there is. None says that nothing is known, so that nothing can be unknown."""

    items: frozenset[str] | None
    boxes: frozenset[str] | None
    seasons: frozenset[str] | None
    items_file: str = ""
    broken: frozenset[str] = frozenset()  # items whose rows have faults


@dataclass(slots=True)
class SetReferences:
    """One set without names of nothing: the faults of these, and whether the set can be used."""

    gift_set: GiftSet
    faults: list[Fault] = field(default_factory=list)
    usable: bool = True

    def add(self, loc: KeyPath, code: str, message: str, hint: str = "", *, fatal: bool = False) -> None:
        """Note a fault; a fatal one leaves the set out."""
        self.faults.append(Fault(loc, code, message, hint))
        self.usable = self.usable and not fatal


def set_references(gift_set: GiftSet, known: Known, photos: Mapping[str, Photo]) -> SetReferences:
    """Return the set less the names in it that name nothing, with their faults; `photos` are its own by file name."""
    references = SetReferences(gift_set)
    _settle_contents(references, known)
    _settle_slots(references)
    _settle_box_and_season(references, known)
    _settle_not_together(references)
    _settle_variants(references, photos)
    _settle_shows(references)
    return references


def _settle_contents(references: SetReferences, known: Known) -> None:
    if known.items is None:
        return
    there = {item for _, item in item_uses(references.gift_set)}  # what is in the set is not meant a second time
    for loc, code in item_uses(references.gift_set):
        if code not in known.items:
            near = perhaps_of_few(len(references.faults), code, known.items, but=there, broken=known.broken)
            hint = near or f"Add it to {known.items_file}, or mend the code."
            references.add(loc, "unknown-code", f"there is no item {quoted(code)}.", hint, fatal=True)


def item_uses(gift_set: GiftSet) -> Iterator[tuple[KeyPath, str]]:
    """Yield where the contents name an item, and its code."""
    for at, entry in enumerate(gift_set.contents):
        if isinstance(entry, Fixed):
            yield ("contents", at, "item"), entry.item
        else:
            for number, option in enumerate(entry.choose):
                yield ("contents", at, "choose", number, "item"), option.item


def _settle_slots(references: SetReferences) -> None:
    """Slot names, options and their parts are there once; a default is one of the options."""
    names: set[str] = set()
    contents = list(references.gift_set.contents)
    for at, entry in enumerate(contents):
        if not isinstance(entry, Slot):
            continue
        if entry.slot in names:
            message = f"two slots are called {quoted(entry.slot)}."
            references.add(("contents", at, "slot"), "code-twice", message, "Give each its own name.", fatal=True)
        names.add(entry.slot)
        _options(references, at, entry)
        codes = [option.item for option in entry.choose]
        if entry.default and entry.default not in codes:
            message = f"{quoted(entry.default)} is not one of the options."
            hint = perhaps(entry.default, codes) or f"Write one of {listed(codes)}."
            references.add(("contents", at, "default"), "unknown-code", message, hint)
            contents[at] = entry.model_copy(update={"default": ""})
    references.gift_set = references.gift_set.model_copy(update={"contents": tuple(contents)})


def settle_variety(references: SetReferences, before: int) -> int:
    """Return how many variants the slots make; 0 where these would be too many beside those `before`."""
    slots = references.gift_set.slots
    variants = prod(len(slot.choose) for slot in slots)
    if before + variants <= bounds.VARIANTS:
        return variants
    options = " x ".join(str(len(slot.choose)) for slot in slots[:8]) + " x ..." * (len(slots) > 8)
    ways = f"{len(slots)} slots of {options} options make {_figure(variants)} variants"
    message = f"{ways}, too many." if not before else f"{ways}, too many beside the {_figure(before)} of other sets."
    hint = f"A shop may have {bounds.VARIANTS:,} in all: take options or slots out."
    references.add(("contents",), "bad-value", message, hint, fatal=True)
    return 0


def _figure(number: int) -> str:
    """Return a number with commas; one that nobody would read, in a word.

    >>> _figure(64_000_000)
    '64,000,000'
    """
    return f"{number:,}" if number < 10**12 else "more than a thousand billion"


def _options(references: SetReferences, at: int, slot: Slot) -> None:
    codes: set[str] = set()
    parts: dict[str, str] = {}
    for number, option in enumerate(slot.choose):
        loc: KeyPath = ("contents", at, "choose", number)
        part = option.code_part
        if option.item in codes:
            message = f"{quoted(option.item)} stands twice among the options."
            references.add(loc, "code-twice", message, "Keep one of the two.", fatal=True)
        elif part in parts:
            both = f"{quoted(parts[part])} and {quoted(option.item)} both end in {part}"
            hint = f'Give one an ending of its own: {{ item = "{option.item}", part = "..." }}.'
            message = f"{both}, so two variants would have the same code."
            references.add((*loc, "part"), "code-twice", message, hint, fatal=True)
        codes.add(option.item)
        parts.setdefault(part, option.item)


def _settle_box_and_season(references: SetReferences, known: Known) -> None:
    box, season = references.gift_set.box, references.gift_set.season
    if known.boxes == frozenset() and box != "none":
        hint = f'Add a [[box]] to {PACKAGING}, or write box = "none".'
        references.add(("box",), "unknown-code", "there is no box at all.", hint, fatal=True)
    elif known.boxes and box not in known.boxes and box not in BOX_WORDS:
        words = (*sorted(known.boxes), *BOX_WORDS)
        hint = write_instead(box, words) or f"Write {listed(map(quoted, words))}."
        references.add(("box",), "unknown-code", f"there is no box {quoted(box)}.", hint, fatal=True)
    if season and known.seasons is not None and season not in known.seasons:
        hint = write_instead(season, known.seasons) or f"Add a [[season]] with this name to {SHOP}."
        references.add(("season",), "unknown-code", f"there is no season {quoted(season)}.", hint)
        references.gift_set = references.gift_set.model_copy(update={"season": ""})


def _settle_not_together(references: SetReferences) -> None:
    groups: list[tuple[str, ...]] = []
    codes = frozenset(references.gift_set.item_codes)
    for at, group in enumerate(references.gift_set.not_together):
        strangers = [number for number, code in enumerate(group) if code not in codes]
        for number in strangers:
            hint = perhaps(group[number], codes) or "Name items of this set."
            message = f"{quoted(group[number])} is not in this set."
            references.add(("not_together", at, number), "unknown-code", message, hint)
        if len(set(group)) < 2:
            references.add(("not_together", at), "bad-value", "one item alone is always together.", "Name two or more.")
        elif not strangers:
            groups.append(group)
    references.gift_set = references.gift_set.model_copy(update={"not_together": tuple(groups)})


def _settle_variants(references: SetReferences, photos: Mapping[str, Photo]) -> None:
    kept: list[VariantNote] = []
    picked: set[frozenset[tuple[str, str]]] = set()
    slots = {slot.slot: dict.fromkeys(option.item for option in slot.choose) for slot in references.gift_set.slots}
    for at, note in enumerate(references.gift_set.variants):
        choice = frozenset(note.options.items())
        sound = _choice(references, at, note, slots)
        if sound and choice in picked:
            message = "a [[variant]] above has the same options."
            references.add(("variant", at, "options"), "code-twice", message, "Keep one of the two.")
        elif sound:
            picked.add(choice)
            if lost := bool(note.photo) and note.photo not in photos:
                hint = write_instead(note.photo, photos, len(references.faults)) or "Name one of the set's photos."
                message = f"there is no photo {quoted(note.photo)}."
                references.add(("variant", at, "photo"), "file-missing", message, hint)
            kept.append(note.model_copy(update={"photo": ""}) if lost else note)
    references.gift_set = references.gift_set.model_copy(update={"variants": tuple(kept)})


def _choice(references: SetReferences, at: int, note: VariantNote, slots: Mapping[str, Collection[str]]) -> bool:
    """Whether the options of a [[variant]] choose what the slots have; what does not is a fault.

    An entry may leave slots open: then it speaks of every variant with what it does choose.
    """
    before = len(references.faults)
    for name, code in note.options.items():
        loc: KeyPath = ("variant", at, "options", name)
        if name not in slots:
            there = f"Slots are {listed(slots, 'and')}." if slots else "It has no slots."
            hint = write_instead(name, slots, len(references.faults)) or there
            references.add(loc, "unknown-code", f"there is no slot {quoted(name)}.", hint)
        elif code not in slots[name]:
            near = perhaps_of_few(len(references.faults), code, slots[name])
            hint = near or f"Write one of {listed(slots[name])}."
            references.add(loc, "unknown-code", f"{quoted(code)} is not an option of {quoted(name)}.", hint)
    if slots and not note.options:
        choose = f"Choose from {listed(slots, 'and')}."
        references.add(("variant", at, "options"), "missing-key", "it chooses nothing.", choose)
    return len(references.faults) == before


def _settle_shows(references: SetReferences) -> None:
    codes = frozenset(references.gift_set.item_codes)
    for at, note in enumerate(references.gift_set.photos):
        named: list[tuple[KeyPath, str]] = [(("shows", number), code) for number, code in enumerate(note.shows)]
        named += [(("pieces", code), code) for code in note.pieces]
        for path, code in named:
            if code not in codes:
                hint = perhaps(code, codes) or "Name items of this set."
                references.add(("photos", at, *path), "unknown-code", f"{quoted(code)} is not in this set.", hint)
    notes = tuple(
        note.model_copy(update={"shows": tuple(code for code in note.shows if code in codes)})
        for note in references.gift_set.photos
    )
    references.gift_set = references.gift_set.model_copy(update={"photos": notes})


@dataclass(frozen=True, slots=True)
class Waiting:
    """What sets wait for: the first problem of each broken item and box.

    `other_items` and `other_boxes` are what hides all others than those that were read or are broken; None when there
    are no others.
    """

    items: Mapping[str, Problem]
    boxes: Mapping[str, Problem]
    items_read: frozenset[str]
    boxes_read: frozenset[str]
    other_items: Problem | None = None
    other_boxes: Problem | None = None

    def causes(self, gift_set: GiftSet) -> set[Problem]:
        """Return the problems elsewhere that keep this set from being computed."""
        codes = {code for _, code in item_uses(gift_set)}
        causes = {self.items[code] for code in codes & self.items.keys()}
        if self.other_items and not codes <= self.items_read | self.items.keys():
            causes.add(self.other_items)
        if gift_set.box in (SMALLEST, SMALLEST_EACH):
            causes |= set(self.boxes.values()) | ({self.other_boxes} if self.other_boxes else set())
        elif gift_set.box in self.boxes:
            causes.add(self.boxes[gift_set.box])
        elif self.other_boxes and gift_set.boxed and gift_set.box not in self.boxes_read:
            causes.add(self.other_boxes)
        return causes


@dataclass(slots=True)
class Codes:
    """The codes given out so far, and what each names."""

    named: dict[str, tuple[str, str]] = field(default_factory=dict)

    def claim(self, code: str, kind: str, file: str, loc: KeyPath) -> Fault | None:
        """Give a code to one thing; the fault when something else has it."""
        if code in self.named:
            holder, elsewhere = self.named[code]
            message = f"{quoted(code)} is also the code of the {holder} in {elsewhere}."
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
    codes = frozenset(sound) | {code for code, _ in table.broken}
    for code in (*(item.code for item in table.rows), *(code for code, _ in table.broken)):
        codes_given.claim(code, "item", table.file, ())
    items: list[Item] = []
    problems: list[Problem] = []
    for item in table.rows:
        if item.larger and ((complete and item.larger not in codes) or item.larger == item.code):
            none = f"there is no item {quoted(item.larger)}."
            message = "it cannot be its own full size." if item.larger == item.code else none
            hint = perhaps(item.larger, sound, but=(item.code,)) or "Name the full size of this mini by its code."
            problems.append(Problem(table.place(item.code, "larger"), "unknown-code", message, hint))
        alone = bool(item.larger) and (item.larger not in sound or item.larger == item.code)
        items.append(item.model_copy(update={"larger": ""}) if alone else item)
    return tuple(items), problems


def settle_boxes(read: PackagingRead, codes: Codes) -> tuple[Packaging, list[Problem]]:
    """Return the packaging with each box code once."""
    boxes: dict[str, GiftBox] = {}
    faults: list[Fault] = []
    for at, box in enumerate(read.packaging.boxes):
        fault = codes.claim(box.code, "box", read.source.file, ("box", at, "code"))
        if box.code in BOX_WORDS:
            message = f'{quoted(box.code)} cannot be a code: sets say so for "the smallest that fits" or "no box".'
            fault = Fault(("box", at, "code"), "bad-value", message, "Give the box another code.")
        if fault:
            faults.append(fault)
        boxes.setdefault(box.code, box)
    for at, case in enumerate(read.packaging.cases):
        fault = codes.claim(case.code, "case", read.source.file, ("case", at, "code"))
        faults += [fault] if fault else []
    return read.packaging.model_copy(update={"boxes": tuple(boxes.values())}), [
        problem_of(read.source, fault) for fault in faults
    ]


@dataclass(frozen=True, slots=True)
class SetsSettled:
    """The sets that can be computed, the problems in their files, and how many sets wait for each problem elsewhere.

    `seasonless` are the codes of those whose season is named and not known; `sound` has those without any fault, with
    what was read of them, by folder.
    """

    sets: tuple[SetFolder, ...]
    problems: list[Problem]
    waiting: Counter[Problem]
    seasonless: tuple[str, ...] = ()
    sound: Mapping[str, tuple[SetRead, SetFolder]] = field(default_factory=dict)


def settle_sets(
    reads: Iterable[SetRead], known: Known, waiting: Waiting, codes: Codes, *, guess: Guess | None = None,
    before: Mapping[str, tuple[SetRead, SetFolder]] = MappingProxyType({}),
) -> SetsSettled:  # fmt: skip
    """Return the sets whose names all stand for something; with `guess` all others as mended.

    `before` are those that were sound with the same `known` and `waiting`; of what is read no differently they are so.
    """
    sound: dict[str, tuple[SetRead, SetFolder]] = {}
    settled, variants = SetsSettled((), [], Counter()), 0
    kept: list[SetFolder] = []
    seasonless = []
    for read in reads:
        if read.gift_set is None:
            if read.code:
                codes.claim(read.code, "set", read.source.file, ("code",))
            continue
        read_before, folder = before.get(read.folder, (None, None))
        if folder is not None and read_before is read:
            references, causes = SetReferences(folder.gift_set), set[Problem]()
        else:
            references = set_references(read.gift_set, known, {photo.name: photo for photo in read.photos})
            causes, folder = waiting.causes(read.gift_set), _folder(read, references.gift_set)
        variants += settle_variety(references, variants)
        twice = _claims(read, references.gift_set, codes)
        settled.waiting.update(causes)
        settled.problems.extend(problem_of(read.source, fault) for fault in (*twice, *references.faults))
        if guess is not None:
            there = waiting.items_read, waiting.boxes_read, known.seasons
            whole = set_as_mended(references.gift_set, read.gift_set, guess, there)
            kept += [_folder(read, whole)] if whole else []
        elif references.usable and not causes and not any(fault.loc == ("code",) for fault in twice):
            kept.append(folder)
            sound |= {} if references.faults or causes else {read.folder: (read, folder)}
        if read.gift_set.season and (known.seasons is None or not references.gift_set.season):
            seasonless.append(references.gift_set.code)
    return replace(settled, sets=tuple(kept), seasonless=tuple(seasonless), sound=sound)


def _folder(read: SetRead, gift_set: GiftSet) -> SetFolder:
    codes = gift_set.item_codes
    photos = (replace(each, shows=tuple(code for code in each.shows if code in codes)) for each in read.photos)
    return SetFolder(read.folder, gift_set, read.stories, tuple(photos))


def _claims(read: SetRead, gift_set: GiftSet, codes: Codes) -> list[Fault]:
    """Give out the set's code and the codes stated for its variants; return what is taken already."""
    faults = [codes.claim(gift_set.code, "set", read.source.file, ("code",))]
    for at, note in enumerate(read.gift_set.variants if read.gift_set else ()):
        if note.code:
            faults.append(codes.claim(note.code, "variant", read.source.file, ("variant", at, "code")))
    return [fault for fault in faults if fault]


def with_counts(problems: Iterable[Problem], waiting: Counter[Problem]) -> list[Problem]:
    """Return the problems; one that sets wait for says how many are left out."""

    def counted(problem: Problem, count: int) -> Problem:
        left_out = f"{times(count, 'set')} {'is' if count == 1 else 'are'} left out with it."
        return replace(problem, message=f"{problem.message} {left_out}") if count else problem

    return [counted(problem, waiting[problem]) for problem in problems]


@dataclass(frozen=True, slots=True)
class Lines:
    """What wholesale.toml may name: the `known` codes of sets and items, of which the `sound` were read."""

    known: frozenset[str] | None
    sound: frozenset[str]
    seasons: frozenset[str] | None
    variants: frozenset[str] = frozenset()  # codes of their own that variants have

    def names(self, code: str) -> bool:
        """Whether a code may be that of a set, an item or a variant; made ones of variants begin as their sets do."""
        known = self.known or frozenset()
        return code in known or code in self.variants or begins_with_one(code, known)


def _note_faults(wholesale: Wholesale, names: Lines) -> Iterator[Fault]:
    """Yield what is wrong with the codes of [[line]]; made ones of variants begin as their sets do."""
    seen: set[str] = set()
    for at, note in enumerate(wholesale.notes):
        if names.known is not None and not names.names(note.code):
            hint = perhaps(note.code, names.sound) or "Write the code of a set, a variant or an item."
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
                hint = perhaps(code, names.sound) or "Write the code of a set or an item."
                message = f"there is no set or item {quoted(code)}."
                faults.append(Fault(("group", at, "lines", number), "unknown-code", message, hint))
        groups.append(group.model_copy(update={"lines": tuple(code for code in group.lines if code in names.sound)}))
    faults += (*_display_faults(wholesale, names), *_note_faults(wholesale, names))
    if wholesale.season and names.seasons is not None and wholesale.season not in names.seasons:
        hint = write_instead(wholesale.season, names.seasons) or "Write the name of a season in shop.toml."
        faults.append(Fault(("season",), "unknown-code", f"there is no season {quoted(wholesale.season)}.", hint))
    settled = wholesale.model_copy(update={"groups": tuple(groups)})
    return settled, [problem_of(source, fault) for fault in faults]


def _display_faults(wholesale: Wholesale, names: Lines) -> Iterator[Fault]:
    """Yield what display sets hold that is not there; made codes of variants begin as their sets do."""
    known = frozenset((*(names.known or ()), *names.variants))
    for at, display in enumerate(wholesale.display_sets if names.known is not None else ()):
        for code in display.holds:
            if code not in known and not begins_with_one(code, known):
                hint = perhaps(code, names.sound | names.variants) or "Write the code of a set, a variant or an item."
                message = f"there is no set or item {quoted(code)}."
                yield Fault(("display_set", at, "holds", code), "unknown-code", message, hint)


def reduction_names(
    settings: Settings, sets: Iterable[SetFolder], keys: tuple[str, ...], codes: frozenset[str] | None
) -> list[Problem]:
    """Return the problems of channels and sets that reductions name and that are not there; such a name lowers nothing.

    Args:
        settings: with the shop's own reductions.
        sets: with theirs.
        keys: of the channel files there are, read or not.
        codes: of all sets, None where one could not be read.
    """
    problems = list(_unknown_channels(settings.reductions, keys, SHOP))
    for at, reduction in enumerate(settings.reductions if codes is not None else ()):
        for number, code in enumerate(reduction.sets):
            if codes is not None and code not in codes:
                place = Place(SHOP, key=("reduction", at, "sets", number))
                hint = perhaps(code, codes) or "Write the code of a set."
                problems.append(Problem(place, "unknown-code", f"there is no set {quoted(code)}.", hint))
    for folder in sets:
        problems += _unknown_channels(folder.gift_set.reductions, keys, f"sets/{folder.folder}/set.toml")
    return problems


def _unknown_channels(reductions: Sequence[Reduction], keys: tuple[str, ...], file: str) -> Iterator[Problem]:
    known, there = frozenset(keys), f"Channels are {listed(keys, 'and')}." if keys else "There are no channels."
    named = ((at, number, key) for at, one in enumerate(reductions) for number, key in enumerate(one.channels))
    for told, (at, number, key) in enumerate(name for name in named if name[2] not in known):
        place = Place(file, key=("reduction", at, "channels", number))
        hint = write_instead(key, known, told) or there
        yield Problem(place, "unknown-code", f"there is no channel {quoted(key)}.", hint)
