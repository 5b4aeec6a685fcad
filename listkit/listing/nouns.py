"""Nouns: items and forms named within a sentence: "a jar", "two bar soaps", "a pouch of bath salts".

Pure: a name, a few facts and the language's words give the phrase. What the rules of the language
do not give stands in its table of forms.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from itertools import takewhile
from typing import Final

from listkit.compute.catalog import Piece
from listkit.compute.naming import full_name
from listkit.listing.formats import half_up, number_text, told_in_inches
from listkit.listing.words import Words, fill
from listkit.model.gift_set import Slot
from listkit.model.item import Item
from listkit.units.length import MM_PER_INCH

_DECIMAL: Final = re.compile(r"\d+\.\d+")
_LONGEST_LINK: Final = 3
"""Letters of a word that joins others, as "au" does in "gommage au sucre" and "gommage au sel"."""
_TIMES: Final = re.compile(r"(?<=[\da-z])\s*[xX×]\s*(?=\d)")


def item_name(item: Item) -> str:
    """Return an item's name and form, "Rosemary & Rind bar soap", no word said twice."""
    return full_name(item.name, item.form)


def one(words: Words, noun: str, container: str = "") -> str:
    """Return a noun with its article: "a bar soap", "an oil"; a form in the plural by its container."""
    if stated := words.form(noun).one:
        return stated
    if uncounted(words, noun):
        if not container:
            return noun
        return fill(words.sentences.contained, container=one(words, container), what=noun)
    starts = words.nouns.article_before
    article = next((own for start, own in starts if noun.lower().startswith(start)), words.nouns.article)
    return f"{article} {noun}".strip()


def many(words: Words, noun: str) -> str:
    """Return a noun in the plural, without article: "bar soaps"."""
    if stated := words.form(noun).many:
        return stated
    return noun if uncounted(words, noun) else fill(words.nouns.many, one=noun)


def counted(words: Words, noun: str, quantity: int, container: str = "") -> str:
    """Return a noun with how many of it: "a bar soap", "two bar soaps", "12 bar soaps"."""
    if quantity == 1:
        return one(words, noun, container)
    numbers = words.nouns.numbers
    number = numbers[quantity] if quantity < len(numbers) else str(quantity)
    if container and uncounted(words, noun):
        return fill(words.sentences.contained, container=f"{number} {many(words, container)}", what=noun)
    return f"{number} {many(words, noun)}"


def uncounted(words: Words, noun: str) -> bool:
    """Whether a form is in the plural already, as "bath salts" is and "glass" is not."""
    ending = words.nouns.uncounted_ending
    return bool(ending) and noun.endswith(ending) and not noun.endswith(ending * 2)


def slot_noun(words: Words, slot: Slot, items: Mapping[str, Item]) -> str:
    """Return what a slot is called within a sentence.

    That is the form of its options where all are of one ("bar soap"), else its own name with what all the forms
    begin with ("mini jar"; "pot de gommage" in a language whose nouns stand first).
    """
    name = small(words, slot.slot)
    forms = [small(words, items[option.item].form).split() for option in slot.choose]
    if all(form and form == forms[0] for form in forms):
        return " ".join(forms[0])
    shared = [column[0] for column in takewhile(lambda column: len(set(column)) == 1, zip(*forms, strict=False))]
    more = [word for word in shared if word not in name.split()]
    if words.titles.shared == "last":
        return " ".join((*more, name))
    while len(more) > 1 and len(more[-1]) <= _LONGEST_LINK:
        more.pop()
    return fill(words.sentences.contained, container=name, what=" ".join(more)) if more else name


def small(words: Words, name: str) -> str:
    """Return a slot's name as it stands within a sentence: "Mini jar" is "mini jar", "LED lamp" stays."""
    return name[:1].lower() + name[1:] if words.nouns.small and not name[1:2].isupper() else name


def capital(text: str) -> str:
    """Return `text` beginning with a capital letter."""
    return text[:1].upper() + text[1:]


def size_text(item: Item, language: str) -> str:
    """Return an item's net content as the language writes it: "4.5 g", "4 × 25 g"; "" when none is stated."""
    return "" if item.net is None else measure_text(item.net.text, language)


@lru_cache(maxsize=1024)
def measure_text(text: str, language: str) -> str:
    """Return a measure as its owner wrote it, with × between sides and the language's decimal sign."""
    if "." in text and language[:2] != "en":
        text = _DECIMAL.sub(lambda found: _number(found[0], language), text)
    return _TIMES.sub(" × ", text)


def _number(text: str, language: str) -> str:
    return number_text(Decimal(text), language, digits=len(text.partition(".")[2]))


def piece_text(words: Words, piece: Piece) -> str:
    """Return one line of the contents: "Rosemary & Rind bar soap, 110 g", "2 × Clover & Cream body butter, 100 ml"."""
    size = size_text(piece.item, words.language)
    text = f"{item_name(piece.item)}, {size}" if size else item_name(piece.item)
    if piece.quantity == 1:
        return text
    return fill(words.sentences.several, count=str(piece.quantity), what=text)


def sides_text(sides: tuple[Decimal, ...], language: str) -> str:
    """Return sides in whole and tenth millimetres, "162 × 122 × 70 mm", or in hundredths of an inch where usual."""
    if told_in_inches(language):
        inches = (half_up(side / MM_PER_INCH, 2).normalize() for side in sides)
        return " × ".join(number_text(side, language) for side in inches) + " in"
    return " × ".join(number_text(side, language) for side in sides) + " mm"
