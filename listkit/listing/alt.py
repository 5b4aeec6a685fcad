"""Alternative texts: a photo in words, written from what lies in the set and what the shot shows.

At most MOST characters, at least LEAST where the set has that much to tell, and no two
of a listing alike; a text that the owner states is taken as it is.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.listing.nouns import capital, counted, item_name, one, small
from listkit.listing.titles import cut_words, fold
from listkit.listing.words import Words, fill
from listkit.model.item import Item

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


def alt_texts(words: Words, frames: tuple[Frame, ...], around: Around) -> tuple[str, ...]:
    """Return the words for each photo; those that we write are unlike each other and unlike the stated ones."""
    taken = {fold(frame.stated) for frame in frames if frame.stated}
    texts: list[str] = []
    for frame in frames:
        text = frame.stated or _unlike(words, alt_text(words, frame, around), taken)
        taken.add(fold(text))
        texts.append(text)
    return tuple(texts)


def alt_text(words: Words, frame: Frame, around: Around) -> str:
    """Return the words for one photo, before it is compared with the others."""
    phrases = dict(words.shots)
    phrase = phrases.get(frame.shot) or phrases["other"]
    text = ""
    for what in _pieces(words, frame, around.set_name):
        text = capital(fill(phrase, what=what, set=around.set_name, season=around.season))
        if len(text) <= MOST:
            break
    text = _with_container(words, frame, text)
    if "{what}" in phrase and around.set_name not in text:
        text = _longer(text, fill(words.alt.from_set, text=text, set=around.set_name))
    return cut_words(_longer(text, fill(words.alt.by_shop, text=text, shop=around.shop)), MOST)


def _longer(text: str, longer: str) -> str:
    """Return `longer` where `text` is short and `longer` is not too long."""
    return longer if len(text) < LEAST and len(longer) <= MOST else text


def _pieces(words: Words, frame: Frame, set_name: str) -> Iterator[str]:
    """Yield what is seen, in ever fewer words: by name and form, by name, by form; the set when nothing is known."""
    items = frame.items[:_MOST_PARTS]
    slots = tuple(one(words, small(words, slot)) for slot in frame.slots[:_MOST_PARTS])
    if not items and not slots:
        yield set_name
        return
    yield words.all_of((*dict.fromkeys(item_name(item) for item in items), *slots))
    yield words.all_of((*dict.fromkeys(item.name for item in items), *slots))
    forms = Counter(item.form or item.name for item in items)
    yield words.all_of((*(counted(words, small(words, form), number) for form, number in forms.items()), *slots))


def _with_container(words: Words, frame: Frame, text: str) -> str:
    """Add what the only piece comes in, while the text is short."""
    if len(frame.items) != 1 or frame.slots or not frame.items[0].container:
        return text
    name, container = item_name(frame.items[0]), one(words, frame.items[0].container)
    return _longer(text, text.replace(name, fill(words.alt.container, what=name, container=container), 1))


def _unlike(words: Words, text: str, taken: set[str]) -> str:
    number, unlike = 2, text
    while fold(unlike) in taken:
        room = MOST - len(fill(words.alt.again, text="", number=str(number)))
        unlike = fill(words.alt.again, text=cut_words(text, room), number=str(number))
        number += 1
    return unlike
