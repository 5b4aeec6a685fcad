"""Contents in words: what lies in a set, in one phrase, in one sentence, line by line.

A slot is told by its name ("a jar of your choosing"), its size by those of the options shown.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import Piece, SetFacts
from listkit.listing.listings import ShownSlot
from listkit.listing.titles import cut_words, fold
from listkit.listing.words import Words, capital, counted, fill, item_name, one, piece_text, size_text, slot_noun, small
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


def items_phrase(wording: Words, facts: SetFacts, *, named: bool = False) -> str:
    """Return "a bar soap, a lip balm and a jar of your choosing"; fixed items by name if `named`."""
    entries = facts.source.gift_set.contents
    fixed = _fixed(wording, facts, named=named)
    items = {item.code: item for item in facts.items}
    slots = tuple(counted(wording, slot_noun(wording, e, items), e.quantity) for e in entries if isinstance(e, Slot))
    if not slots:
        return wording.all_of(fixed)
    choices = fill(wording.sentences.choice, what=wording.all_of(slots))
    if len(slots) == 1 or not fixed:
        return wording.all_of((*fixed, choices))
    return fill(wording.sentences.fixed_and_choices, fixed=wording.all_of(fixed), choices=choices)


def _fixed(wording: Words, facts: SetFacts, *, named: bool) -> tuple[str, ...]:
    """Return the fixed items, alike ones together: by name, or by form where they have one."""
    items = {item.code: item for item in facts.items}
    quantities: Counter[tuple[str, str, str]] = Counter()
    for entry in facts.source.gift_set.contents:
        if isinstance(entry, Fixed):
            item = items[entry.item]
            by_name = named or not item.form
            quantities[(item_name(item), "", "") if by_name else ("", item.form, item.container)] += entry.quantity
    return tuple(
        _several(wording, name, quantity) if name else counted(wording, small(wording, form), quantity, container)
        for (name, form, container), quantity in quantities.items()
    )


def _several(wording: Words, name: str, quantity: int) -> str:
    return name if quantity == 1 else fill(wording.sentences.several, count=str(quantity), what=name)


def inside_sentence(wording: Words, facts: SetFacts) -> str:
    """Return what is inside in one sentence: by name, where that and the theme stay within MOST_OPENING."""
    boxed = facts.source.gift_set.boxed
    sentence = wording.sentences.inside_box if boxed else wording.sentences.inside_loose
    room = MOST_OPENING - 1 - len(facts.source.gift_set.theme)
    told = (capital(fill(sentence, items=items_phrase(wording, facts, named=named))) for named in (True, False))
    by_name, by_form = told
    return by_name if len(by_name) <= room else by_form


def content_lines(wording: Words, facts: SetFacts, slots: tuple[ShownSlot, ...]) -> tuple[ContentLine, ...]:
    """Return the contents line by line, in the order of the set."""
    items = {item.code: item for item in facts.items}
    shown = {slot.name: slot for slot in slots}
    return tuple(
        _slot_line(wording, entry, shown[entry.slot], items)
        if isinstance(entry, Slot)
        else _line(wording, entry, items)
        for entry in facts.source.gift_set.contents
    )


def _line(wording: Words, entry: Fixed, items: dict[str, Item]) -> ContentLine:
    item = items[entry.item]
    text = piece_text(wording, Piece(item, entry.quantity))
    return ContentLine(text, item_name(item), size_text(item, wording.language), entry.quantity)


def _slot_line(wording: Words, entry: Slot, slot: ShownSlot, items: dict[str, Item]) -> ContentLine:
    in_order = sorted((option.item for option in slot.options), key=_amount)
    sizes = dict.fromkeys(size_text(item, wording.language) for item in in_order)
    size = wording.one_of(tuple(sizes)) if "" not in sizes and len(sizes) <= MOST_SIZES else ""
    name = capital(
        fill(wording.sentences.choice, what=counted(wording, slot_noun(wording, entry, items), entry.quantity))
    )
    return ContentLine(f"{name}, {size}" if size else name, name, size, entry.quantity)


def _amount(item: Item) -> tuple[str, Decimal]:
    return (item.net.measure, item.net.total) if item.net else ("", Decimal(0))


# Alternative texts: a photo in words, written from what lies in the set and what the shot shows.
#
# At most MOST characters, at least LEAST where the set has that much to tell, and no two
# of a listing alike; a text that the owner states is taken as it is.

LEAST: Final = 60  # common practice, no source
MOST: Final = 125
WHOLE_SET: Final = frozenset({"open box", "from above", "contents", "styled", "group"})
"""Shots of everything in the set; the others are near enough to show what `shows` names, and no more."""
_MOST_PARTS: Final = 40  # more pieces than these have no room in MOST characters


@dataclass(frozen=True, slots=True)
class Frame:
    """One photo: its shot, the items to be seen in it, the slots of which the choice is not known."""

    shot: str
    items: tuple[Item, ...] = ()
    slots: tuple[str, ...] = ()
    stated: str = ""


@dataclass(frozen=True, slots=True)
class Around:
    """What is behind all photos of a listing: the set by name, its season, the shop."""

    set_name: str
    season: str
    shop: str


def alt_texts(wording: Words, frames: tuple[Frame, ...], around: Around) -> tuple[str, ...]:
    """Return the words for each photo; those that we write are unlike each other and unlike the stated ones."""
    taken = {fold(frame.stated) for frame in frames if frame.stated}
    texts: list[str] = []
    for frame in frames:
        text = frame.stated or _unlike(wording, alt_text(wording, frame, around), taken)
        taken.add(fold(text))
        texts.append(text)
    return tuple(texts)


def alt_text(wording: Words, frame: Frame, around: Around) -> str:
    """Return the words for one photo, before it is compared with the others."""
    phrases = dict(wording.shots)
    phrase = phrases.get(frame.shot) or phrases["other"]
    text = ""
    for what in _pieces(wording, frame, around.set_name):
        text = capital(fill(phrase, what=what, set=around.set_name, season=around.season))
        if len(text) <= MOST:
            break
    text = _with_container(wording, frame, text)
    if "{what}" in phrase and around.set_name not in text:
        text = _longer(text, fill(wording.alt.from_set, text=text, set=around.set_name))
    return cut_words(_longer(text, fill(wording.alt.by_shop, text=text, shop=around.shop)), MOST)


def _longer(text: str, longer: str) -> str:
    """Return `longer` where `text` is short and `longer` is not too long."""
    return longer if len(text) < LEAST and len(longer) <= MOST else text


def _pieces(wording: Words, frame: Frame, set_name: str) -> Iterator[str]:
    """Yield what is seen, in ever fewer words: by name and form, by name, by form; the set when nothing is known."""
    items = frame.items[:_MOST_PARTS]
    slots = tuple(one(wording, small(wording, slot)) for slot in frame.slots[:_MOST_PARTS])
    if not items and not slots:
        yield set_name
        return
    yield wording.all_of((*dict.fromkeys(item_name(item) for item in items), *slots))
    yield wording.all_of((*dict.fromkeys(item.name for item in items), *slots))
    forms = Counter(item.form or item.name for item in items)
    yield wording.all_of((*(counted(wording, small(wording, form), number) for form, number in forms.items()), *slots))


def _with_container(wording: Words, frame: Frame, text: str) -> str:
    """Add what the only piece comes in, while the text is short."""
    if len(frame.items) != 1 or frame.slots or not frame.items[0].container:
        return text
    name, container = item_name(frame.items[0]), one(wording, frame.items[0].container)
    return _longer(text, text.replace(name, fill(wording.alt.container, what=name, container=container), 1))


def _unlike(wording: Words, text: str, taken: set[str]) -> str:
    number, unlike = 2, text
    while fold(unlike) in taken:
        room = MOST - len(fill(wording.alt.again, text="", number=str(number)))
        unlike = fill(wording.alt.again, text=cut_words(text, room), number=str(number))
        number += 1
    return unlike
