"""Contents in words: what lies in a set, in one phrase, in one sentence, line by line.

A slot is told by its name ("a jar of your choosing"), its size by those of the options shown.
"""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import Piece, SetFacts
from listkit.listing.listings import ShownSlot
from listkit.listing.nouns import capital, counted, item_name, piece_text, size_text, slot_noun, small
from listkit.listing.words import Words, fill
from listkit.model.gift_set import Fixed, Slot
from listkit.model.item import Item

MOST_OPENING: Final = 160  # characters of theme and first sentence together; common practice, no source
MOST_SIZES: Final = 3  # more sizes than these in one line tell nobody anything


@dataclass(frozen=True, slots=True)
class ContentLine:
    """One line of the contents. `text` is all of it; `name` and `size` are its parts, size "" where it has none."""

    text: str
    name: str
    size: str
    quantity: int


def items_phrase(words: Words, facts: SetFacts, *, named: bool = False) -> str:
    """Return "a bar soap, a lip balm and a jar of your choosing"; fixed items by name if `named`."""
    entries = facts.source.gift_set.contents
    fixed = _fixed(words, facts, named=named)
    items = {item.code: item for item in facts.items}
    slots = tuple(counted(words, slot_noun(words, e, items), e.quantity) for e in entries if isinstance(e, Slot))
    if not slots:
        return words.all_of(fixed)
    choices = fill(words.sentences.choice, what=words.all_of(slots))
    if len(slots) == 1 or not fixed:
        return words.all_of((*fixed, choices))
    return fill(words.sentences.fixed_and_choices, fixed=words.all_of(fixed), choices=choices)


def _fixed(words: Words, facts: SetFacts, *, named: bool) -> tuple[str, ...]:
    """Return the fixed items, alike ones together: by name, or by form where they have one."""
    items = {item.code: item for item in facts.items}
    quantities: Counter[tuple[str, str, str]] = Counter()
    for entry in facts.source.gift_set.contents:
        if isinstance(entry, Fixed):
            item = items[entry.item]
            by_name = named or not item.form
            quantities[(item_name(item), "", "") if by_name else ("", item.form, item.container)] += entry.quantity
    return tuple(
        _several(words, name, quantity) if name else counted(words, small(words, form), quantity, container)
        for (name, form, container), quantity in quantities.items()
    )


def _several(words: Words, name: str, quantity: int) -> str:
    return name if quantity == 1 else fill(words.sentences.several, count=str(quantity), what=name)


def inside_sentence(words: Words, facts: SetFacts) -> str:
    """Return what is inside in one sentence: by name, where that and the theme stay within MOST_OPENING."""
    boxed = facts.source.gift_set.boxed
    sentence = words.sentences.inside_box if boxed else words.sentences.inside_loose
    room = MOST_OPENING - 1 - len(facts.source.gift_set.theme)
    told = (capital(fill(sentence, items=items_phrase(words, facts, named=named))) for named in (True, False))
    by_name, by_form = told
    return by_name if len(by_name) <= room else by_form


def content_lines(words: Words, facts: SetFacts, slots: tuple[ShownSlot, ...]) -> tuple[ContentLine, ...]:
    """Return the contents line by line, in the order of the set."""
    items = {item.code: item for item in facts.items}
    shown = {slot.name: slot for slot in slots}
    return tuple(
        _slot_line(words, entry, shown[entry.slot], items) if isinstance(entry, Slot) else _line(words, entry, items)
        for entry in facts.source.gift_set.contents
    )


def _line(words: Words, entry: Fixed, items: dict[str, Item]) -> ContentLine:
    item = items[entry.item]
    text = piece_text(words, Piece(item, entry.quantity))
    return ContentLine(text, item_name(item), size_text(item, words.language), entry.quantity)


def _slot_line(words: Words, entry: Slot, slot: ShownSlot, items: dict[str, Item]) -> ContentLine:
    in_order = sorted((option.item for option in slot.options), key=_amount)
    sizes = dict.fromkeys(size_text(item, words.language) for item in in_order)
    size = words.one_of(tuple(sizes)) if "" not in sizes and len(sizes) <= MOST_SIZES else ""
    name = capital(fill(words.sentences.choice, what=counted(words, slot_noun(words, entry, items), entry.quantity)))
    return ContentLine(f"{name}, {size}" if size else name, name, size, entry.quantity)


def _amount(item: Item) -> tuple[str, Decimal]:
    return (item.net.measure, item.net.total) if item.net else ("", Decimal(0))
