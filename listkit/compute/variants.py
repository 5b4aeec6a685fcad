"""Variants: every way to choose one option in each slot, with the sums that prices and weights are made of.

Sums grow slot by slot, so that a set of five slots with six options each (7,776 variants) adds
each option once to what stands before it, and nothing is summed again from the start.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from listkit.compute.catalog import Choice, Piece
from listkit.model.gift_set import GiftSet, Option, Slot
from listkit.model.item import Item

# Codes of variants: the set's code and each chosen option's part, joined by a hyphen.


def part_of(option: Option) -> str:
    """Return the option's part of a variant's code: the stated one, else the last part of its item code."""
    return option.part or option.item.rpartition("-")[2]


def variant_code(set_code: str, parts: tuple[str, ...]) -> str:
    """Return the variant's code: variant_code("OHS-1", ("U01",)) is "OHS-1-U01"."""
    return "-".join((set_code, *parts))


ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Sums:
    """What a group of pieces adds up to: money in the shop's currency, grams, cubic millimetres of blocks."""

    retail: Decimal = ZERO
    cost: Decimal = ZERO
    wholesale: Decimal = ZERO
    grams: Decimal = ZERO
    volume: Decimal = ZERO

    def __add__(self, other: "Sums") -> "Sums":
        return Sums(
            self.retail + other.retail,
            self.cost + other.cost,
            self.wholesale + other.wholesale,
            self.grams + other.grams,
            self.volume + other.volume,
        )


@dataclass(frozen=True, slots=True)
class Combination:
    """Pieces that lie together, the choices that led to them, and their sums."""

    choices: tuple[Choice, ...] = ()
    pieces: tuple[Piece, ...] = ()
    sums: Sums = Sums()


ItemWholesale = Callable[[Item], Decimal]


def combinations_of(
    gift_set: GiftSet, items: Mapping[str, Item], says: Callable[[Option, Item], str], item_wholesale: ItemWholesale
) -> tuple[Combination, ...]:
    """Return every combination, the first slot changing slowest, the options in the order they are listed.

    A combination that holds two codes of one `not_together` list is left out, fixed items included.

    Args:
        gift_set: the set.
        items: by code; every code of the set is in it.
        says: what the buyer reads for an option.
        item_wholesale: an item's own wholesale price, rounded.
    """
    grown = [Combination()]
    for entry in gift_set.contents:
        if isinstance(entry, Slot):
            parts = [_chosen(entry, option, items[option.item], says, item_wholesale) for option in entry.choose]
        else:
            parts = [_piece(Piece(items[entry.item], entry.quantity), item_wholesale)]
        grown = [_joined(one, part) for one in grown for part in parts]
    apart = [frozenset(codes) for codes in gift_set.not_together]
    if apart:
        grown = [one for one in grown if not _clashes(one, apart)]
    return tuple(grown)


def _chosen(
    slot: Slot, option: Option, item: Item, says: Callable[[Option, Item], str], item_wholesale: ItemWholesale
) -> Combination:
    alone = _piece(Piece(item, slot.quantity), item_wholesale)
    choice = Choice(slot.slot, item, says(option, item), part_of(option))
    return Combination((choice,), alone.pieces, alone.sums)


def _piece(piece: Piece, item_wholesale: ItemWholesale) -> Combination:
    item, q = piece.item, piece.quantity
    sums = Sums(
        item.retail.amount * q,
        item.cost.amount * q,
        item_wholesale(item) * q,
        item.weight.grams * q,
        item.size.volume * q,
    )
    return Combination((), (piece,), sums)


def _joined(one: Combination, other: Combination) -> Combination:
    return Combination(one.choices + other.choices, one.pieces + other.pieces, one.sums + other.sums)


def _clashes(one: Combination, apart: list[frozenset[str]]) -> bool:
    codes = {piece.item.code for piece in one.pieces}
    return any(len(codes & group) > 1 for group in apart)


# What an item is called: its name and its form, no word of them said twice.

_WORD: Final = re.compile(r"[\w'’]+")


@lru_cache(maxsize=65_536)
def full_name(name: str, form: str) -> str:
    """Return name and form: "Rosemary & Rind bar soap".

    A form that the name says already is not said again: "Lip Balm Beeswax" stays; where the form begins with the words
    that the name ends with, they stand once: "Sea Salt" and "salt scrub" are "Sea Salt scrub".
    """
    said, more = _words(name), _words(form)
    if not more:
        return f"{name} {form}".strip()
    if any(said[at : at + len(more)] == more for at in range(len(said))):
        return name
    shared = next((count for count in range(len(more) - 1, 0, -1) if said[-count:] == more[:count]), 0)
    return f"{name} {_without(form, shared)}".strip()


def _without(form: str, count: int) -> str:
    """Return a form without its first words."""
    ends = [match.end() for match in _WORD.finditer(form)]
    return form[ends[count - 1] :].lstrip(" -–") if count else form


def _words(text: str) -> list[str]:
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return _WORD.findall("".join(sign for sign in decomposed if not unicodedata.combining(sign)))
