"""A set in words: its titles, what lies in it, and what its photos show.

A title is grown part by part (name, "gift set", forms, scent or season, count), no word that says something in it
twice, and the longest that the channel takes is used; so the last part goes first. What it is comes at its front, so
that the first 60 characters make sense alone. Contents are one phrase, one sentence, or lines; a slot goes by its name
("a jar of your choosing"), its size by those of the options shown. Alternative texts have at most MOST characters, at
least LEAST where the set has that much to say, and no two of a listing are alike; a text that the owner states is taken
as it is.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import Piece, SetFacts
from listkit.listing.formats import Measure, fitting, in_sound
from listkit.listing.listings import ShownSlot
from listkit.listing.sentences import fill
from listkit.listing.words import (
    Words,
    beside,
    capital,
    counted,
    many,
    one,
    piece_text,
    several,
    size_text,
    slot_noun,
    small,
)
from listkit.model.gift_set import Fixed, GiftSet, Slot
from listkit.model.item import Item

LONGEST_SEASON: Final = 200  # days; what is on sale longer is no season to name in a title
_WORD: Final = re.compile(r"[\w'’]+")
# Words that only join others, in four languages, folded: they may be in a title as often as its grammar asks.
_JOINING: Final = frozenset(
    (
        *("a", "an", "and", "for", "in", "of", "the", "to", "with", "au", "aux", "avec", "d", "de", "des", "du", "en"),
        *("et", "l", "la", "le", "les", "pour", "aus", "das", "dem", "den", "der", "die", "fur", "im", "mit", "und"),
        *("von", "zum", "zur", "al", "con", "del", "el", "las", "los", "para", "y"),
    )
)
_LEFT_OVER: Final = " ,;:.–-&"
MOST_OPENING: Final = 160  # characters of theme and first sentence together; common practice, no source
MOST_SIZES: Final = 3  # more sizes than these in one line tell nobody anything
LEAST: Final = 60  # common practice, no source
MOST: Final = 125
WHOLE_SET: Final = frozenset({"open box", "from above", "contents", "styled", "group"})
"""Shots of everything in the set; the others are near enough to show what `shows` names, and no more."""
_MOST_PARTS: Final = 40  # more pieces than these have no room in MOST characters


# Titles, names of variants and keywords.


def titles_of(wording: Words, facts: SetFacts) -> tuple[str, ...]:
    """Return the title with one part more each time; a title that the owner states stands alone."""
    gift_set, head = facts.source.gift_set, head_of(wording, facts)
    if gift_set.title:
        return (gift_set.title,)
    titles = list(dict.fromkeys((facts.name, head)))
    forms = () if _alone(gift_set) and not gift_set.boxed else _forms(wording, facts, head)
    if forms:
        titles.append(fill(wording.titles.lead, head=head, forms=_together(wording, forms)))
    scent, season = _scent(facts), facts.season
    if scent:
        _add(titles, fill(wording.titles.scent, title=titles[-1], scent=scent))
    elif season and (season.off_sale - season.on_sale).days <= LONGEST_SEASON:
        _add(titles, fill(wording.titles.season, title=titles[-1], season=season.name))
    pieces = sum(entry.quantity for entry in gift_set.contents)
    if pieces > 1:
        _add(titles, fill(wording.titles.count, title=titles[-1], count=wording.count("piece", pieces)))
    return tuple(titles)


def fitting_title(
    titles: tuple[str, ...], gift_set: GiftSet, limit: int | None, size: Measure = len, *, forbidden: str = ""
) -> str:
    """Return the longest of `titles` of size `limit` at most; what the owner states is taken as it is.

    Titles in which a part of ours brings a sign of `forbidden` are passed over.
    """
    if gift_set.title:
        return titles[-1]
    ours = set(forbidden) - set(titles[0])
    titles = tuple(title for title in titles if not ours & set(title))
    if limit is None:
        return titles[-1]
    fit = [title for title in titles if size(title) <= limit]
    return fit[-1] if fit else cut_words(titles[0], limit, size)


def head_of(wording: Words, facts: SetFacts) -> str:
    """Return the name with what it is: "First Nectar gift set"; a set without box is not called one."""
    gift_set = facts.source.gift_set
    if gift_set.boxed:
        what = wording.titles.gift_set
        repeated = _words_of(gift_set.name) & _words_of(what)
        return gift_set.name if repeated else fill(wording.titles.named, name=gift_set.name, gift_set=what)
    forms = _forms(wording, facts, gift_set.name)
    return wording.naming.alone(gift_set.name, forms[0]) if _alone(gift_set) and forms else gift_set.name


Choices = tuple[dict[str, str], ...]
"""What a variant's name says of each option of each slot, by how the option reads."""


def names_of(
    wording: Words, facts: SetFacts, slots: tuple[ShownSlot, ...], limit: int | None, size: Measure = len
) -> tuple[str, str, Choices]:
    """Return what stands before and after the choices in variants' names, ("First Nectar gift set, ", ""), and these.

    Options are named with their forms where that leaves room for the set's name within `limit`. The longest beginning
    is taken with which the longest choices stay within it.
    """
    stated = {slot.slot: slot for slot in reversed(facts.source.gift_set.slots)}
    alone = _alone(facts.source.gift_set)
    whole, short = (
        tuple(choice_names(slot, stated[slot.name], short=short or alone) for slot in slots) for short in (False, True)
    )
    heads = dict.fromkeys((head_of(wording, facts), facts.name))
    around = [fill(wording.titles.chosen, head=head, choices="\0").partition("\0")[::2] for head in heads]
    for choices in (whole, short):
        for before, after in around:
            if limit is None or size(before) + _longest(choices, size) + size(after) <= limit:
                return before, after, choices
    before, after = fill(wording.titles.chosen, head="", choices="\0").partition("\0")[::2]
    room = max(0, (limit or 0) - size(before) - _longest(short, size) - size(after))
    head = cut_words(facts.name, room, size)
    return (f"{head}{before}", after, short) if head else ("", "", short)


def _longest(choices: Choices, size: Measure) -> int:
    return sum(max(map(size, names.values()), default=0) for names in choices) + 2 * (len(choices) - 1)


def choice_names(slot: ShownSlot, stated: Slot, *, short: bool) -> dict[str, str]:
    """Return what a variant's name says of each option as it reads, with its form.

    Where it is to be short, or where the set is that one piece and its own name says what it is, it is the item's name
    alone, if that tells the options apart.
    """
    names = {option.says: option.item.name for option in slot.options}
    is_same = len(set(names.values())) < len(names)
    if not short or is_same or any(option.says for option in stated.choose):
        return {says: says for says in names}
    return names


def keywords_of(gift_set: GiftSet) -> tuple[str, ...]:
    """Return the stated keywords, trimmed, each once whatever its capitals."""
    trimmed = (" ".join(keyword.split()) for keyword in gift_set.keywords)
    return tuple({keyword.casefold(): keyword for keyword in reversed([*trimmed]) if keyword}.values())[::-1]


def cut_words(text: str, most: int, size: Measure = len) -> str:
    """Return `text` in a size of at most `most`, cut behind a whole word; a first word too long is cut within.

    >>> cut_words("First Nectar gift set", 15)
    'First Nectar'
    """
    if size(text) <= most:
        return text
    most = fitting(text, most, size)
    return (text[: most + 1].rpartition(" ")[0] or text[:most]).rstrip(_LEFT_OVER) or text[:most].strip()


def _add(titles: list[str], title: str) -> None:
    """Add a longer title, unless the new part says a word again."""
    if not _words_of(titles[-1]) & _words_of(title.replace(titles[-1], "", 1)):
        titles.append(title)


def _alone(gift_set: GiftSet) -> bool:
    return not gift_set.boxed and len(gift_set.contents) == 1


def _scent(facts: SetFacts) -> str:
    """Return the scent that all pieces share; "" when they do not."""
    scents = {item.scent for item in facts.items if item.scent}
    return scents.pop() if len(scents) == 1 and all(item.scent for item in facts.items) else ""


def _forms(wording: Words, facts: SetFacts, before: str) -> tuple[str, ...]:
    """Return the forms of what is inside, those with one last word together, without words that `before` has."""
    items = {item.code: item for item in facts.items}
    counts: Counter[str] = Counter()
    for entry in entries_of(facts):
        if isinstance(entry, Slot):
            counts[slot_noun(wording, entry, items)] += entry.quantity
        else:
            counts[small(wording, items[entry.item].form)] += entry.quantity
    forms = tuple(f"{n} {many(wording, form)}" if n > 1 else form for form, n in counts.items() if form)
    return _merged(wording, forms, _words_of(before))


def _merged(wording: Words, forms: tuple[str, ...], used: set[str]) -> tuple[str, ...]:
    """Return forms with no word said twice: "lip & hand balm" for lip balm and hand balm."""
    last, groups = wording.titles.shared == "last", dict[str, list[str]]()
    for form in forms:
        rest, _, head = form.rpartition(" ") if last else form.partition(" ")[::-1]
        groups.setdefault(head, []).append(rest)
    merged: list[str] = []
    used, heads = set(used), _words_of(" ".join(groups))
    for head, rests in groups.items():
        said = _words_of(head)
        if said and said <= used:  # "porte-savon" says more than "savon"
            continue
        kept: list[str] = []
        for rest in rests:
            repeated = used | heads | _words_of(" ".join(kept))
            more = _unsaid(rest, repeated)
            joint = more.split(" ")[0]
            if kept and fold(joint) in _JOINING and kept[0].startswith(f"{joint} "):
                more = more.removeprefix(f"{joint} ")  # "baume à lèvres & mains"
            kept += filter(None, [more])
        more = _together(wording, tuple(kept))
        used |= _words_of(" ".join((head, *kept)))
        merged.append(" ".join(filter(None, (more, head) if last else (head, more))))
    return tuple(merged)


def _unsaid(text: str, repeated: set[str]) -> str:
    """Return a text without the repeated words, each with what joined it on: no "sel de" is left of "sel de bain"."""
    kept: list[str] = []
    for word in text.split():
        if not _words_of(word) & repeated:
            kept.append(word)
            continue
        while kept and not _words_of(kept[-1]):
            kept.pop()
    return " ".join(kept)


def _together(wording: Words, parts: tuple[str, ...]) -> str:
    """Return "bar, balm & butter"; only commas where a part is of several already."""
    if len(parts) < 2 or any(f" {wording.titles.together} " in part for part in parts):
        return ", ".join(parts)
    text = f"{', '.join(parts[:-1])} {wording.titles.together} {parts[-1]}"
    return in_sound(text, parts[-1], wording.language)


def _words_of(text: str) -> set[str]:
    """Return the words of a text that say something, folded."""
    return set(_WORD.findall(fold(text))) - _JOINING


def fold(text: str) -> str:
    """Return `text` for comparing: small letters without accents.

    >>> fold("Crème DOUCE")
    'creme douce'
    """
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join([letter for letter in decomposed if not unicodedata.combining(letter)])


# What lies in the set.


def entries_of(facts: SetFacts) -> tuple[Fixed | Slot, ...]:
    """Return the contents, a slot of which only one option is left as a piece that lies in every variant."""
    alone: dict[str, str] = {}
    if facts.variants:
        alone = {choice.slot: choice.item.code for choice in facts.variants[0].choices}
    for variant in reversed(facts.variants):  # the last differs from the first in most slots, so few are looked at
        for choice in variant.choices:
            if alone.get(choice.slot, choice.item.code) != choice.item.code:
                del alone[choice.slot]
        if not alone:
            break
    return tuple(
        Fixed(item=alone[entry.slot], quantity=entry.quantity)
        if isinstance(entry, Slot) and entry.slot in alone
        else entry
        for entry in facts.source.gift_set.contents
    )


@dataclass(frozen=True, slots=True)
class ContentLine:
    """One line of the contents. `text` is all of it; `name` and `size` are its parts, size "" where it has none."""

    text: str
    name: str
    size: str
    quantity: int


def items_phrase(wording: Words, facts: SetFacts, *, named: bool = False) -> str:
    """Return "a bar soap, a lip balm and a jar of your choosing"; fixed items by name if `named`."""
    entries = entries_of(facts)
    fixed = _fixed_phrases(wording, facts, named=named)
    items = {item.code: item for item in facts.items}
    slots = tuple(counted(wording, slot_noun(wording, e, items), e.quantity) for e in entries if isinstance(e, Slot))
    if not slots:
        return wording.all_of(fixed)
    choices = fill(wording.sentences.choice, what=wording.all_of(slots))
    if len(slots) == 1 or not fixed:
        return wording.all_of((*fixed, choices))
    return fill(wording.sentences.fixed_and_choices, fixed=wording.all_of(fixed), choices=choices)


def _fixed_phrases(wording: Words, facts: SetFacts, *, named: bool) -> tuple[str, ...]:
    """Return the fixed items, alike ones together: by name, or by form where they have one."""
    items = {item.code: item for item in facts.items}
    quantities: Counter[tuple[str, str, str]] = Counter()
    for entry in entries_of(facts):
        if isinstance(entry, Fixed):
            item = items[entry.item]
            name = wording.naming.within(item) if named or not item.form else ""
            quantities[(name, "", "") if name else ("", item.form, item.container)] += entry.quantity
    return tuple(
        several(wording, quantity, name) if name else counted(wording, small(wording, form), quantity, container)
        for (name, form, container), quantity in quantities.items()
    )


def inside_sentence(wording: Words, facts: SetFacts) -> str:
    """Return what is inside in one sentence: by name, where that and the theme stay within MOST_OPENING."""
    boxed = facts.source.gift_set.boxed
    sentence = wording.sentences.inside_box if boxed else wording.sentences.inside_loose
    room = MOST_OPENING - 1 - len(facts.source.gift_set.theme)
    by_name, by_form = (
        capital(fill(sentence, items=items_phrase(wording, facts, named=named))) for named in (True, False)
    )
    return by_name if len(by_name) <= room else by_form


def content_lines(wording: Words, facts: SetFacts, slots: tuple[ShownSlot, ...]) -> tuple[ContentLine, ...]:
    """Return the contents line by line, in the order of the set."""
    items = {item.code: item for item in facts.items}
    shown = {slot.name: slot for slot in slots}
    lines = []
    for entry in entries_of(facts):
        if isinstance(entry, Slot):
            lines.append(_slot_line(wording, entry, shown[entry.slot], items))
        else:
            item = items[entry.item]
            text = piece_text(wording, Piece(item, entry.quantity))
            lines.append(ContentLine(text, wording.naming.of(item), size_text(item, wording.language), entry.quantity))
    return tuple(lines)


def _slot_line(wording: Words, entry: Slot, slot: ShownSlot, items: dict[str, Item]) -> ContentLine:
    def amount(item: Item) -> tuple[str, Decimal]:
        return (item.net.measure, item.net.total) if item.net else ("", Decimal(0))

    in_order = sorted((option.item for option in slot.options), key=amount)
    sizes = dict.fromkeys(size_text(item, wording.language) for item in in_order)
    size = wording.one_of(tuple(sizes)) if "" not in sizes and len(sizes) <= MOST_SIZES else ""
    name = capital(
        fill(wording.sentences.choice, what=counted(wording, slot_noun(wording, entry, items), entry.quantity))
    )
    return ContentLine(f"{name}, {size}" if size else name, name, size, entry.quantity)


# What the photos show.


@dataclass(frozen=True, slots=True)
class Frame:
    """One photo: its shot, the items to be seen in it, the slots of which the choice is not known."""

    shot: str
    items: tuple[Item, ...] = ()
    slots: tuple[str, ...] = ()
    stated: str = ""


@dataclass(frozen=True, slots=True)
class Around:
    """What is behind all photos of a listing: the set by name, its season, the shop; whether it is a piece alone."""

    set_name: str
    season: str
    shop: str
    is_single: bool = False


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
    if "{what}" in phrase and around.set_name not in text and not around.is_single:
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
    yield wording.all_of((*dict.fromkeys(wording.naming.within(item) for item in items), *slots))
    yield wording.all_of((*dict.fromkeys(item.name for item in items), *slots))
    forms = Counter(item.form or item.name for item in items)
    yield wording.all_of((*(counted(wording, small(wording, form), number) for form, number in forms.items()), *slots))


def _with_container(wording: Words, frame: Frame, text: str) -> str:
    """Add what the only piece comes in, while the text is short."""
    container = beside(frame.items[0].form, frame.items[0].container) if len(frame.items) == 1 else ""
    if frame.slots or not container:
        return text
    name, container = wording.naming.within(frame.items[0]), one(wording, container)
    if (found := re.search(re.escape(name), text, re.IGNORECASE)) is None:  # it may begin the text, with a capital
        return text
    name = found[0]
    return _longer(text, text.replace(name, fill(wording.alt.container, what=name, container=container), 1))


def _unlike(wording: Words, text: str, taken: set[str]) -> str:
    number, unlike = 2, text
    while fold(unlike) in taken:
        room = MOST - len(fill(wording.alt.again, text="", number=str(number)))
        unlike = fill(wording.alt.again, text=cut_words(text, room), number=str(number))
        number += 1
    return unlike
