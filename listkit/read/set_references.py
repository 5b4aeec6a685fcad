"""What the names in one set.toml stand for: items, box, season, slots, options, photos.

A set whose contents or box cannot be found is left out. Anything less that names nothing is told and
taken out of the set, so that later layers need not ask again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from listkit.model.gift_set import Fixed, GiftSet, Option, Slot, VariantNote
from listkit.model.shop import Photo
from listkit.problem import KeyPath
from listkit.read.faults import Fault
from listkit.read.folder import PACKAGING, SHOP
from listkit.read.wording import listed, perhaps, quoted, write_instead

BOX_WORDS = ("smallest", "none")


@dataclass(frozen=True, slots=True)
class Known:
    """Every code and name there is. None says that nothing is known, so that nothing can be unknown."""

    items: frozenset[str] | None
    boxes: frozenset[str] | None
    seasons: frozenset[str] | None
    items_file: str = ""


@dataclass(slots=True)
class SetReferences:
    """What was found out of one set: its faults, whether it can be used, and the set without dead names."""

    gift_set: GiftSet
    faults: list[Fault] = field(default_factory=list)
    usable: bool = True

    def tell(self, loc: KeyPath, code: str, message: str, hint: str = "", *, fatal: bool = False) -> None:
        """Note a fault; a fatal one leaves the set out."""
        self.faults.append(Fault(loc, code, message, hint))
        self.usable = self.usable and not fatal


def set_references(gift_set: GiftSet, known: Known, photos: Mapping[str, Photo]) -> SetReferences:
    """Return the faults of the names in a set; `photos` are its photos by file name."""
    found = SetReferences(gift_set)
    _contents(found, known)
    _slots(found)
    _box_and_season(found, known)
    _together(found)
    _variants(found, photos)
    _shows(found)
    return found


def _contents(found: SetReferences, known: Known) -> None:
    if known.items is None:
        return
    uses = tuple(item_uses(found.gift_set))
    for loc, code in uses:
        if code not in known.items:
            there = {item for _, item in uses}  # what is in the set already is not meant a second time
            hint = perhaps(code, known.items - there) or f"Add it to {known.items_file}, or mend the code."
            found.tell(loc, "unknown-code", f"there is no item {quoted(code)}.", hint, fatal=True)


def item_uses(gift_set: GiftSet) -> Iterator[tuple[KeyPath, str]]:
    """Yield where the contents name an item, and its code."""
    for at, entry in enumerate(gift_set.contents):
        if isinstance(entry, Fixed):
            yield ("contents", at, "item"), entry.item
        else:
            for number, option in enumerate(entry.choose):
                yield ("contents", at, "choose", number, "item"), option.item


def _slots(found: SetReferences) -> None:
    """Slot names, options and their parts stand once; a default is one of the options."""
    names: set[str] = set()
    contents = list(found.gift_set.contents)
    for at, entry in enumerate(contents):
        if not isinstance(entry, Slot):
            continue
        if entry.slot in names:
            message = f"two slots are called {quoted(entry.slot)}."
            found.tell(("contents", at, "slot"), "code-twice", message, "Give each its own name.", fatal=True)
        names.add(entry.slot)
        _options(found, at, entry)
        codes = [option.item for option in entry.choose]
        if entry.default and entry.default not in codes:
            message = f"{quoted(entry.default)} is not one of the options."
            hint = perhaps(entry.default, codes) or f"Write one of {listed(codes)}."
            found.tell(("contents", at, "default"), "unknown-code", message, hint)
            contents[at] = entry.model_copy(update={"default": ""})
    found.gift_set = found.gift_set.model_copy(update={"contents": tuple(contents)})


def _options(found: SetReferences, at: int, slot: Slot) -> None:
    codes: set[str] = set()
    parts: dict[str, str] = {}
    for number, option in enumerate(slot.choose):
        loc: KeyPath = ("contents", at, "choose", number)
        part = _part(option)
        if option.item in codes:
            message = f"{quoted(option.item)} stands twice among the options."
            found.tell(loc, "code-twice", message, "Keep one of the two.", fatal=True)
        elif part in parts:
            message = f"{quoted(option.item)} and {quoted(parts[part])} both give the variant's code the part {part}."
            hint = f'Give one its own: {{ item = "{option.item}", part = "..." }}.'
            found.tell(loc, "code-twice", message, hint, fatal=True)
        codes.add(option.item)
        parts.setdefault(part, option.item)


def _part(option: Option) -> str:
    return option.part or option.item.rpartition("-")[2]


def _box_and_season(found: SetReferences, known: Known) -> None:
    box, season = found.gift_set.box, found.gift_set.season
    if known.boxes == frozenset() and box != "none":
        hint = f'Add a [[box]] to {PACKAGING}, or write box = "none".'
        found.tell(("box",), "unknown-code", "there is no box at all.", hint, fatal=True)
    elif known.boxes and box not in known.boxes and box not in BOX_WORDS:
        words = (*sorted(known.boxes), *BOX_WORDS)
        hint = write_instead(box, words) or f"Write {listed(map(quoted, words))}."
        found.tell(("box",), "unknown-code", f"there is no box {quoted(box)}.", hint, fatal=True)
    if season and known.seasons is not None and season not in known.seasons:
        hint = write_instead(season, known.seasons) or f"Add a [[season]] with this name to {SHOP}."
        found.tell(("season",), "unknown-code", f"there is no season {quoted(season)}.", hint)
        found.gift_set = found.gift_set.model_copy(update={"season": ""})


def _together(found: SetReferences) -> None:
    groups: list[tuple[str, ...]] = []
    codes = found.gift_set.item_codes
    for at, group in enumerate(found.gift_set.not_together):
        strangers = [number for number, code in enumerate(group) if code not in codes]
        for number in strangers:
            hint = perhaps(group[number], codes) or "Name items of this set."
            message = f"{quoted(group[number])} is not in this set."
            found.tell(("not_together", at, number), "unknown-code", message, hint)
        if len(set(group)) < 2:
            found.tell(("not_together", at), "bad-value", "one item alone is always together.", "Name two or more.")
        elif not strangers:
            groups.append(group)
    found.gift_set = found.gift_set.model_copy(update={"not_together": tuple(groups)})


def _variants(found: SetReferences, photos: Mapping[str, Photo]) -> None:
    kept: list[VariantNote] = []
    picked: set[frozenset[tuple[str, str]]] = set()
    for at, note in enumerate(found.gift_set.variants):
        choice = frozenset(note.options.items())
        sound = _choice(found, at, note)
        if sound and choice in picked:
            message = "a [[variant]] above has the same options."
            found.tell(("variant", at, "options"), "code-twice", message, "Keep one of the two.")
        elif sound:
            picked.add(choice)
            kept.append(_with_photo(found, at, note, photos))
    found.gift_set = found.gift_set.model_copy(update={"variants": tuple(kept)})


def _choice(found: SetReferences, at: int, note: VariantNote) -> bool:
    """Whether the options of a [[variant]] choose what the slots have; what does not is told.

    An entry may leave slots open: then it speaks of every variant with what it does choose.
    """
    before = len(found.faults)
    slots = {slot.slot: [option.item for option in slot.choose] for slot in found.gift_set.slots}
    for name, code in note.options.items():
        loc: KeyPath = ("variant", at, "options", name)
        if name not in slots:
            hint = write_instead(name, slots) or (f"Slots are {listed(slots, 'and')}." if slots else "It has no slots.")
            found.tell(loc, "unknown-code", f"there is no slot {quoted(name)}.", hint)
        elif code not in slots[name]:
            hint = perhaps(code, slots[name]) or f"Write one of {listed(slots[name])}."
            found.tell(loc, "unknown-code", f"{quoted(code)} is not an option of {quoted(name)}.", hint)
    if slots and not note.options:
        hint = f"Choose from {listed(slots, 'and')}."
        found.tell(("variant", at, "options"), "missing-key", "it chooses nothing.", hint)
    return len(found.faults) == before


def _with_photo(found: SetReferences, at: int, note: VariantNote, photos: Mapping[str, Photo]) -> VariantNote:
    if not note.photo or note.photo in photos:
        return note
    hint = write_instead(note.photo, photos) or "Name one of the set's photos."
    found.tell(("variant", at, "photo"), "file-missing", f"there is no photo {quoted(note.photo)}.", hint)
    return note.model_copy(update={"photo": ""})


def _shows(found: SetReferences) -> None:
    codes = found.gift_set.item_codes
    for at, note in enumerate(found.gift_set.photos):
        for number, code in enumerate(note.shows):
            if code not in codes:
                hint = perhaps(code, codes) or "Name items of this set."
                message = f"{quoted(code)} is not in this set."
                found.tell(("photos", at, "shows", number), "unknown-code", message, hint)
    notes = tuple(
        note.model_copy(update={"shows": tuple(code for code in note.shows if code in codes)})
        for note in found.gift_set.photos
    )
    found.gift_set = found.gift_set.model_copy(update={"photos": notes})
