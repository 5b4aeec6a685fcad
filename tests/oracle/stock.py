"""How many can be made: of a variant by its scarcest part, of a set by an integer programme of its own."""

from fractions import Fraction
from itertools import product

from tests.oracle.reading import Shop, Table
from tests.oracle.sending import packed_in
from tests.oracle.variants import Variant, variants_of


def shared_parts(table: Table, shop: Shop) -> list[int]:
    """Return what is there of box and card, where that is stated."""
    box, card = packed_in(table, shop), shop.packaging.get("card")
    if box is None:
        return []
    parts = [box.get("on_hand"), card.get("on_hand") if card and table.get("card", True) else None]
    return [int(part) for part in parts if part is not None]


def can_make(variant: Variant, shop: Shop) -> int | None:
    """Return how often a variant can be made; None where no part of it is counted."""
    counted = ((shop.items[code].on_hand, quantity) for code, quantity in variant.needs.items())
    limits = [there // quantity for there, quantity in counted if there is not None]
    limits += shared_parts(variant.table, shop)
    return min(limits) if limits else None


def stock(count: int | None, hold_back: int) -> int | None:
    """Return what is published of it."""
    return None if count is None else max(0, count - hold_back)


def hold_back(channel: Table, shop: Shop) -> int:
    """Return what a channel keeps back."""
    return int(channel.get("hold_back", shop.settings.get("stock", {}).get("hold_back", 0)))


def most_of_set(table: Table, shop: Shop) -> int | None:
    """Return the most of a set whose entries share no item with each other; None where nothing counted limits it.

    Every entry then finds whole quantities in what it may take: a fixed item in its own stock, a slot in that of all
    options which an open variant has.
    """
    limits, open_ones = shared_parts(table, shop), [each for each in variants_of(table, shop) if not each.closed]
    taken: set[str] = set()
    for entry in table["contents"]:
        codes = {each.options[entry["slot"]] for each in open_ones} if "slot" in entry else {entry["item"]}
        if codes & taken:
            raise ValueError(f"{table['code']}: entries share {codes & taken}")
        taken |= codes
        there = [shop.items[code].on_hand for code in codes]
        if None not in there:
            limits.append(sum((count or 0) // int(entry.get("quantity", 1)) for count in there))
    return min(limits) if limits else None


def set_can_make(table: Table, shop: Shop) -> int | None:
    """Return the most of a set that its parts allow at once, whichever open variants are made; None where unlimited.

    By trying: the count of each variant but the last goes through all it can be. Small stocks only.
    """
    every = [variant for variant in variants_of(table, shop) if not variant.closed]
    if not every:
        return 0
    single = [can_make(variant, shop) for variant in every]
    if any(count is None for count in single):
        return None
    limits = shared_parts(table, shop)
    best = 0
    for counts in product(*(range((count or 0) + 1) for count in single)):
        total = sum(counts)
        if total > best and all(total <= limit for limit in limits) and _enough(every, counts, shop):
            best = total
    return best


def _enough(every: list[Variant], counts: tuple[int, ...], shop: Shop) -> bool:
    used: dict[str, int] = {}
    for variant, count in zip(every, counts, strict=True):
        for code, quantity in variant.needs.items():
            used[code] = used.get(code, 0) + quantity * count
    there = {code: shop.items[code].on_hand for code in used}
    return all(there[code] is None or used[code] <= Fraction(there[code] or 0) for code in used)
