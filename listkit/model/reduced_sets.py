"""A set that cannot be computed, less what is wrong with it: enough for the rules that need no more of it."""

from math import prod
from typing import Final

from listkit.model.gift_set import NO_BOX, Fixed, GiftSet, Slot
from listkit.model.shop import Extent

_MOST_REDUCED: Final = 1_000
_LOST_BOX: Final = ""
"""A code that no box has: the pieces lie in a box, and nobody knows in which."""


def less_what_is_wrong(gift_set: GiftSet, items: frozenset[str]) -> tuple[GiftSet, Extent] | None:
    """Return a set of those of its items that were read, in no known box; None where nothing is left to be listed.

    With it comes what is known of it: its contents where all of them are left, else what set.toml says.
    """
    contents: list[Fixed | Slot] = []
    for entry in gift_set.contents:
        if isinstance(entry, Fixed):
            contents += [entry] if entry.item in items else []
            continue
        options = {option.item: option for option in reversed(entry.choose) if option.item in items}
        parts = {option.code_part: option for option in options.values()}
        choose = tuple(option for option in entry.choose if option in parts.values())
        if choose and entry.slot not in {each.slot for each in contents if isinstance(each, Slot)}:
            default = entry.default if any(option.item == entry.default for option in choose) else ""
            contents.append(entry.model_copy(update={"choose": choose, "default": default}))
    slots = [entry for entry in contents if isinstance(entry, Slot)]
    if not contents:
        return None
    if prod(len(slot.choose) for slot in slots) > _MOST_REDUCED:  # one option of each slot is enough for its texts
        contents = [
            entry.model_copy(update={"choose": entry.choose[:1], "default": ""}) if isinstance(entry, Slot) else entry
            for entry in contents
        ]
        slots = [entry for entry in contents if isinstance(entry, Slot)]
    whole = tuple(contents) == gift_set.contents
    there = {slot.slot: {option.item for option in slot.choose} for slot in slots}
    sound = (all(code in there.get(slot, ()) for slot, code in note.options.items()) for note in gift_set.variants)
    notes = [note for note, is_sound in zip(gift_set.variants, sound, strict=True) if is_sound]
    update = {
        "contents": tuple(contents),
        "box": _LOST_BOX if gift_set.boxed else NO_BOX,
        "variants": tuple(notes),
        "not_together": gift_set.not_together if whole else (),
    }
    return gift_set.model_copy(update=update), Extent.CONTENTS if whole else Extent.KEYS
