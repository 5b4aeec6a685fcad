"""Variants: every way to choose one option in each slot, with the sums that prices and weights are made of.

Sums grow slot by slot, so that a set of five slots with six options each (7,776 variants) adds
each option once to what precedes it, and nothing is summed again from the start.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from listkit.compute.catalog import Choice, Piece
from listkit.model.gift_set import GiftSet, Option, Slot
from listkit.model.item import Item

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Sums:
    """What a group of pieces adds up to: money in the shop's currency, grams, cubic millimetres of blocks."""

    retail: Decimal = ZERO
    cost: Decimal = ZERO
    wholesale: Decimal = ZERO
    grams: Decimal = ZERO
    volume: Decimal = ZERO

    def __add__(self, more: "Sums") -> "Sums":
        return Sums(
            self.retail + more.retail,
            self.cost + more.cost,
            self.wholesale + more.wholesale,
            self.grams + more.grams,
            self.volume + more.volume,
        )


@dataclass(frozen=True, slots=True)
class Combination:
    """Pieces that lie together, the choices that led to them, and their sums."""

    choices: tuple[Choice, ...] = ()
    pieces: tuple[Piece, ...] = ()
    sums: Sums = Sums()


def combinations_of(
    gift_set: GiftSet,
    items: Mapping[str, Item],
    says: Callable[[Option, Item], str],
    wholesale_of_items: Mapping[str, Decimal],
) -> tuple[Combination, ...]:
    """Return every combination, the first slot changing slowest, the options in the order they are listed.

    A combination that holds two codes of one `not_together` list is left out, fixed items included.

    Args:
        gift_set: the set.
        items: by code; every code of the set is in it.
        says: what the buyer reads for an option.
        wholesale_of_items: each item's own wholesale price by code, rounded.
    """
    places: list[list[Combination]] = []
    for entry in gift_set.contents:
        if isinstance(entry, Slot):
            parts = []
            for option in entry.choose:
                item = items[option.item]
                alone = _piece(Piece(item, entry.quantity), wholesale_of_items)
                choice = Choice(entry.slot, item, says(option, item), option.code_part)
                parts.append(Combination((choice,), alone.pieces, alone.sums))
        else:
            parts = [_piece(Piece(items[entry.item], entry.quantity), wholesale_of_items)]
        places.append(parts)
    grown = _multiplied(places)
    if gift_set.not_together:
        together = _together(gift_set.not_together)
        grown = [one for one in grown if together(frozenset(piece.item.code for piece in one.pieces))]
    return tuple(grown)


def _multiplied(places: Sequence[list[Combination]]) -> list[Combination]:
    """Return each with each, the last place changing fastest; by halves, so that long ones are put together once."""
    if len(places) <= 1:
        return places[0] if places else [Combination()]
    half = len(places) // 2
    first, second = _multiplied(places[:half]), _multiplied(places[half:])
    return [
        Combination(before.choices + part.choices, before.pieces + part.pieces, before.sums + part.sums)
        for before in first
        for part in second
    ]


def _together(groups: tuple[tuple[str, ...], ...]) -> Callable[[frozenset[str]], bool]:
    """Return whether codes may lie together: no two of one group. A bit stands for a group."""
    groups_of: dict[str, int] = {}
    for at, group in enumerate(groups):
        for code in group:
            groups_of[code] = groups_of.get(code, 0) | 1 << at

    def together(codes: frozenset[str]) -> bool:
        met = 0
        for code in codes & groups_of.keys():
            if met & groups_of[code]:
                return False
            met |= groups_of[code]
        return True

    return together


def _piece(piece: Piece, wholesale_of_items: Mapping[str, Decimal]) -> Combination:
    """Return a piece alone, with its sums."""
    item, quantity = piece.item, piece.quantity
    sums = Sums(
        item.retail.amount * quantity,
        item.cost.amount * quantity,
        wholesale_of_items[item.code] * quantity,
        item.weight.grams * quantity,
        item.size.volume * quantity,
    )
    return Combination((), (piece,), sums)
