"""Which facts of a row follow from which facts of the owner's files.

The tables are the formulas read backwards: a price follows from retail prices, uplift and ending; a
weight from weights; a text from nearly all. `movers` finds, for one row, what moved among those.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from listkit.fields import FIELDS
from listkit.ledger.movements import Movement

_PRICE: Final = (
    "item.retail set.uplift set.ending set.option_prices set.contents set.box "
    "prices.uplift prices.ending prices.option_prices reduction.prices"
)
_COST: Final = "item.cost set.contents set.box set.card prices.wage box.cost box.minutes box.fill card.cost"
_PIECES: Final = "set.contents set.box set.card set.carton"
_SHOWN: Final = (
    "item.on_hand item.status set.status box.on_hand card.on_hand stock.hold_back channel.hold_back channel.sold_out"
)
FOLLOWS: Final[dict[str, tuple[str, ...]]] = {
    group: tuple(keys.split())
    for group, keys in {
        "price": f"{_PRICE} prices.tax",
        "cost": _COST,
        "left": (
            f"{_PRICE} {_COST} set.wholesale prices.tax prices.wholesale prices.set_wholesale "
            "channel.fee channel.fixed_fee sheet.tiers sheet.display"
        ),
        "weight": f"item.weight {_PIECES} box.weight box.fill box.carton card.weight freight.*",
        "size": f"item.size {_PIECES} box.outside box.inside",
        "stock": f"{_SHOWN} {_PIECES} set.variants",
        "photo": "set.photos set.variants channel.photo_address channel.crops channel.limits",
        "date": "set.season season.* reduction.*",
        "shown": f"sheet.lines set. set.contents set.variants set.not_together {_SHOWN} item. channel.rows set.*",
        "text": (
            "item.name item.form item.scent item.net item.container item.ingredients item.cautions item.larger "
            "item.gtin item.status item.shelf_life set.* season.* shop.* channel.* wording.* reduction.*"
        ),
    }.items()
}
"""Groups of facts, and what they follow from: "item.retail", or "freight.*" for every fact of it."""
GROUPS: Final[dict[str, str]] = {
    name: group
    for group, names in {
        "price": "price lowestPrice highestPrice priorPrice suggestedRetail includedTax",
        "cost": "fullCost",
        "left": "kept wholesalePrice tierPrices displayPrice",
        "weight": "weight parcelWeight volumetricWeight chargeableWeight",
        "size": "width height depth fillShare box",
        "stock": "inventoryLevel canMake availability",
        "photo": "image alt",
        "date": "priceValidUntil availabilityStarts availabilityEnds season",
    }.items()
    for name in names.split()
}
LINE_FACTS: Final = frozenset({"tierPrices", "displayPrice"})
"""Facts of lines for shops alone, which no feed has."""
MOST_NAMED: Final = 8
"""So many movements of one kind are told one by one; more are one cause together."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where a row stands: its set, items, box and season, before and after."""

    sets: tuple[str, ...]
    items: tuple[str, ...]
    boxes: tuple[str, ...]
    seasons: tuple[str, ...]


class Reasons:
    """Finds what moved among all that a fact follows from."""

    def __init__(self, moved: Sequence[Movement], contents: Mapping[str, Sequence[str]]) -> None:
        """`contents` are the item codes that each set may hold, those of all its options."""
        self.moved = tuple(moved)
        self._contents = contents
        counts = Counter(one.key for one in moved)
        first = {one.key: at for at, one in reversed(list(enumerate(moved)))}
        self._told = [first[one.key] if counts[one.key] > MOST_NAMED else at for at, one in enumerate(moved)]
        self.counts = counts
        self._of_group = {group: self._in(keys) for group, keys in FOLLOWS.items()}
        self.movers = cache(self._movers)

    def _in(self, keys: tuple[str, ...]) -> tuple[int, ...]:
        """Return the movements of these keys; the whole of a set or item only where it is named."""
        wide = tuple(key[:-1] for key in keys if key.endswith("*"))
        return tuple(
            at
            for at, one in enumerate(self.moved)
            if one.key in keys or (one.fact and wide and one.key.startswith(wide))
        )

    def _movers(self, group: str, where: Where, *, by_offer: bool) -> tuple[int, ...]:
        """Return what moved for a fact of this group, as places in `moved`: of the row itself, else of its set.

        What differs from variant to variant follows from the row's own items; where none of those moved, and for
        what holds for the whole set, any item of the set counts.
        """
        if not self._of_group[group]:
            return ()
        if by_offer and (found := self._related(group, where, where.items)):
            return found
        wide = [code for one in where.sets for code in self._contents.get(one, ())]
        return self._related(group, where, (*where.items, *wide))

    def _related(self, group: str, where: Where, items: Sequence[str]) -> tuple[int, ...]:
        codes = {"item": items, "set": where.sets}
        named = {"box": where.boxes, "season": where.seasons, "reduction": where.sets}
        found = set()
        for at in self._of_group[group]:
            one = self.moved[at]
            if one.what in named:
                related = one.code.partition(" ")[2] in named[one.what]
            else:
                related = one.what not in codes or one.code in codes[one.what]
            if related:
                found.add(self._told[at])
        return tuple(sorted(found))


def is_by_offer(field: str) -> bool:
    """Whether a fact differs from variant to variant."""
    return field not in FIELDS or FIELDS[field].source.startswith("offer.")
