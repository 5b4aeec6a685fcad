"""Stock: how many can be made of a variant and of a set, and what a channel may publish."""

from collections import Counter
from collections.abc import Iterable
from itertools import combinations

from listkit.compute.catalog import Piece

_MOST_SLOTS_TOGETHER = 8  # beyond it only single slots and all together are looked at


def can_make(pieces: Iterable[Piece], packing: tuple[int | None, ...] = ()) -> int | None:
    """Return the least over items of ⌊on hand ÷ quantity⌋, and of counted boxes and cards; None if none is counted."""
    needed: dict[str, int] = {}
    limits = [have for have in packing if have is not None]
    for piece in pieces:
        item = piece.item
        if item.on_hand is not None:
            needed[item.code] = needed.get(item.code, 0) + piece.quantity
            limits.append(item.on_hand // needed[item.code])
    return min(limits, default=None)


def can_make_of_set(
    fixed: tuple[Piece, ...], slots: tuple[tuple[Piece, ...], ...], packing: tuple[int | None, ...] = ()
) -> int | None:
    """Return the largest k such that k sets, whatever is chosen in each, can be put together.

    The fixed items suffice for k, and every group of n slots finds k·n whole choices in the union of its
    options, Σ ⌊pieces left ÷ quantity⌋ (Hall's condition; where slots of a group ask unlike quantities of one
    item, the larger counts). None when nothing limits.
    """
    upper = can_make(fixed, packing)
    if upper is None:
        counted = [p.item.on_hand for slot in slots for p in slot]
        if any(all(p.item.on_hand is not None for p in slot) for slot in slots):
            upper = sum(have for have in counted if have is not None)
        else:
            return None
    used: Counter[str] = Counter()
    for piece in fixed:
        used[piece.item.code] += piece.quantity
    low, high = 0, upper
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if _suffices(middle, used, slots) else (low, middle - 1)
    return low


def published(makeable: int | None, hold_back: int) -> int | None:
    """Return what a channel may publish: what can be made less what is held back, never below zero."""
    return None if makeable is None else max(0, makeable - hold_back)


def _suffices(k: int, used: Counter[str], slots: tuple[tuple[Piece, ...], ...]) -> bool:
    sizes = range(1, len(slots) + 1) if len(slots) <= _MOST_SLOTS_TOGETHER else (1, len(slots))
    return all(
        (found := _choices_left(k, used, group)) is None or found >= k * len(group)
        for size in sizes
        for group in combinations(slots, size)
    )


def _choices_left(k: int, used: Counter[str], group: tuple[tuple[Piece, ...], ...]) -> int | None:
    asked: dict[str, Piece] = {}
    for piece in (piece for slot in group for piece in slot):
        known = asked.get(piece.item.code)
        asked[piece.item.code] = piece if known is None or known.quantity < piece.quantity else known
    total = 0
    for code, piece in asked.items():
        if piece.item.on_hand is None:
            return None
        total += max(0, piece.item.on_hand - k * used[code]) // piece.quantity
    return total
