"""GTINs: who in the shop carries which number, and which numbers are for use inside alone."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.check.places import item_place, note_finder, set_place
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.model.item import Item
from listkit.problem import Place
from listkit.units.identifiers import in_fourteen

# Restricted circulation numbers by the GS1 prefix they begin with (GS1 General Specifications, section 1.4): 020-029
# and 200-299 within a region, 040-049 within a company; in a GTIN-8 all that begin with 0 or 2.
_INTERNAL: Final = (("020", "029"), ("040", "049"), ("200", "299"))


def internal(gtin: str) -> bool:
    """Whether a number is for use within one company or region only."""
    number = in_fourteen(gtin)
    if number.startswith("000000"):  # a GTIN-8, whose prefix stands further right
        return number[6] in "02"
    return any(low <= number[1:4] <= high for low, high in _INTERNAL)


@dataclass(frozen=True, slots=True)
class Labelled:
    """A GTIN as it stands in a file, what carries it, and where.

    A set without box and of one piece is that piece, and has the item as its owner; `item` says that the number stands
    in the items table.
    """

    gtin: str
    owner: str
    place: Place
    item: bool


def labelled(catalog: Catalog) -> Iterator[Labelled]:
    """Yield every GTIN that the files state, of items first, then of variants; none twice that is inherited."""
    for item in catalog.shop.items:
        if item.gtin:
            yield Labelled(item.gtin, item.code, item_place(catalog.shop, item, "gtin"), item=True)
    for facts in catalog.sets:
        key_of = note_finder(facts.source.gift_set)
        for one in facts.variants:
            if one.gtin and (key := key_of(one)) and facts.source.gift_set.variants[int(key[1])].gtin:
                alone = only_piece(facts, one)
                owner = alone.code if alone else one.code
                yield Labelled(one.gtin, owner, set_place(facts, *key, "gtin"), item=False)


def only_piece(facts: SetFacts, one: Variant) -> Item | None:
    """Return the item that a variant of one piece without box is."""
    if facts.source.gift_set.boxed or len(one.pieces) != 1 or one.pieces[0].quantity != 1:
        return None
    return one.pieces[0].item
