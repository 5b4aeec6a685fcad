"""What every check starts from: its context, the places where owners mend things, and what is on offer."""

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from listkit.compute.allergens import EUROPE
from listkit.compute.catalog import Catalog, Pack, SetFacts, Variant
from listkit.compute.given_out import NOTHING_GIVEN_OUT, SheetHistory
from listkit.model.fields import Status
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.problem import KeyPath, Place, Problem

SHOP, PACKAGING, WHOLESALE = "shop.toml", "packaging.toml", "wholesale.toml"
LIKE_EU: Final = EUROPE | {"GB"}
"""Where the European Union's rules on goods and cosmetics are in force, or rules made after them. From memory."""


def sells_like_eu(shop: Shop) -> bool:
    """Whether the shop or one of its channels sells where such rules are in force."""
    return bool(LIKE_EU & {shop.settings.country, *(channel.country for channel in shop.channels)})


def set_place(facts: SetFacts, *key: str | int) -> Place:
    """Return the place of a key in the set's own file; of a single piece in the row of its item."""
    return facts.source.place(*key)


def item_place(shop: Shop, item: Item, field: str) -> Place:
    """Return an item's cell in the table, under the owner's own heading where she names one."""
    heading = field.replace("_", " ").strip()
    if columns := shop.settings.items.columns:  # theirs to ours, which may have a unit: "weight (g)"
        named = (
            theirs for theirs, ours in columns.items() if ours.partition("(")[0].strip().replace(" ", "_") == field
        )
        heading = next(named, heading)
    return Place(shop.items_file, row=item.code, column=heading, key=(field,))


def not_looked_for(shop: Shop, column: str, most: int) -> Problem:
    """Return the remark that only the first `most` different cells of a column were held against what is known."""
    message = f"it has more than {most:,} different {column}; slips of the pen were looked for in so many alone."
    return Problem(Place(shop.items_file), "not-looked-for", message, "Is it the right file?")


def pack_place(shop: Shop, pack: Pack) -> Place:
    """Return the key in packaging.toml that says how many are on hand."""
    if pack.part == "card":
        return Place(PACKAGING, key=("card", "on_hand"))
    at = next(at for at, box in enumerate(shop.packaging.boxes) if box.code == pack.box)
    return Place(PACKAGING, key=("box", at, *(("fill",) if pack.part == "fill" else ()), "on_hand"))


def offered(catalog: Catalog) -> Iterator[SetFacts]:
    """Yield every set that is not closed."""
    return (facts for facts in catalog.sets if facts.source.gift_set.sold_as is not Status.CLOSED)


def offered_alone_too(catalog: Catalog) -> Iterator[SetFacts]:
    """Yield every set and every single piece that is not closed."""
    return (facts for facts in catalog.listed if facts.source.gift_set.sold_as is not Status.CLOSED)


def offered_variants(facts: SetFacts) -> Iterator[Variant]:
    """Yield every variant that is not closed."""
    return (variant for variant in facts.variants if variant.status is not Status.CLOSED)


def line_codes(catalog: Catalog) -> dict[str, KeyPath]:
    """Return the codes that wholesale.toml sells, in order, each with its key there."""
    groups = catalog.shop.wholesale.groups if catalog.shop.wholesale else ()
    keys: dict[str, KeyPath] = {}
    for at, group in enumerate(groups):
        for number, code in enumerate(group.lines):
            keys.setdefault(code, ("group", at, "lines", number))
    return keys


def note_finder(gift_set: GiftSet) -> Callable[[Variant], KeyPath]:
    """Return a function from a variant to the key of the [[variant]] about it, () where there is none.

    As prices are computed: an entry that names all slots goes before one that names some, the first of those wins.
    """
    whole: dict[frozenset[tuple[str, str]], int] = {}
    partial: list[int] = []
    for index, note in enumerate(gift_set.variants):
        if len(note.options) < len(gift_set.slots):
            partial.append(index)
        else:
            whole[frozenset(note.options.items())] = index

    def key_of(variant: Variant) -> KeyPath:
        if not gift_set.variants:
            return ()
        chosen = {choice.slot: choice.item.code for choice in variant.choices}
        index = whole.get(frozenset(chosen.items()))
        if index is None:
            fits = (i for i in partial if gift_set.variants[i].options.items() <= chosen.items())
            index = next(fits, None)
        return () if index is None else ("variant", index)

    return key_of


@dataclass(frozen=True, slots=True)
class CheckContext:
    """What a check goes by beside the listings.

    `today` is the day that counts as today, `figures` the thresholds of the shop by code, which check_listings puts in,
    `sheets` the line sheets that were given out, `rows_before` how many rows a channel whose feed has none now had
    when it was last recorded, or else built.
    """

    today: datetime.date
    figures: Mapping[str, Decimal] = field(default_factory=dict)
    sheets: SheetHistory = NOTHING_GIVEN_OUT
    rows_before: Mapping[str, int] = field(default_factory=dict)
