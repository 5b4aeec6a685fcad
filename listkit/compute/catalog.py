"""The Catalog: facts of every set and variant, free of channels.

Amounts are exact until given out, and each figure is rounded once, from exact amounts. Frozen
values only; equal parts of variants (a price and its steps, a weight) are one shared object.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from listkit.compute.box.searches import Searches
from listkit.model.allotment import Allotted
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.packaging import Card, Carton, GiftBox
from listkit.model.settings import Season
from listkit.model.shop import SetFolder, Shop
from listkit.units.money import Money
from listkit.units.weight import Weight


@dataclass(frozen=True, slots=True)
class Piece:
    """An item and how many of it lie in the box."""

    item: Item
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class Choice:
    """One slot with its chosen option: the slot's name, the item, what the buyer reads, its part of the code."""

    slot: str
    item: Item
    says: str
    part: str


@dataclass(frozen=True, slots=True)
class PriceStep:
    """One step of a price: what is added, and the sum so far."""

    label: str
    amount: Money
    running: Money


@dataclass(frozen=True, slots=True)
class NetShare:
    """The part of a price that is before tax, `top` ÷ `bottom`: 1 ÷ 1.2 where 20 % is included.

    A fraction, since 1 ÷ 1.2 has no end: what is made of it is multiplied first and divided once, so that an exact
    half stays one.
    """

    top: Decimal = Decimal(1)
    bottom: Decimal = Decimal(1)

    def of(self, amount: Decimal) -> Decimal:
        """Return what of `amount` is before tax; of 22.80 with 20 % it is 19.00.

        >>> NetShare(Decimal(1), Decimal("1.2")).of(Decimal("19.00") * Decimal("0.45"))
        Decimal('7.125')
        """
        return amount * self.top / self.bottom

    def tax_in(self, amount: Decimal) -> Decimal:
        """Return the tax within `amount`, exact."""
        return amount * (self.bottom - self.top) / self.bottom


@dataclass(frozen=True, slots=True)
class PriceFacts:
    """A price with its steps; `tax` is the tax included, `net` the exact share that is before tax."""

    steps: tuple[PriceStep, ...]
    price: Money
    tax: Money
    net: NetShare


@dataclass(frozen=True, slots=True)
class WeightFacts:
    """Exact grams: the closed gift, the parcel, what freight counts; None without a carton."""

    gift: Weight
    parcel: Weight | None
    volumetric: Weight | None
    chargeable: Weight | None


@dataclass(frozen=True, slots=True)
class Variant:
    """A set with every slot chosen.

    `full_cost` is rounded, `exact_cost` is the same amount unrounded, for figures that build on it.
    `fill_share` runs from 0, None without a box. `can_make` is None when nothing in it is counted.
    `usual` are the prices without the reduction that is in force, None where none is. `box` is None for a set
    without one, and where no box holds it; `carton` is what it is sent in.
    """

    code: str
    choices: tuple[Choice, ...]
    pieces: tuple[Piece, ...]
    gtin: str
    status: Status
    photo: str
    stated_price: Money | None
    prices: PriceFacts
    full_cost: Money
    exact_cost: Decimal
    wholesale: Money
    weights: WeightFacts
    fill_share: Decimal | None
    can_make: int | None
    usual: PriceFacts | None = None
    box: GiftBox | None = None
    carton: Carton | None = None

    @property
    def price(self) -> Money:
        """What a buyer pays, tax included."""
        return self.prices.price

    @property
    def usual_price(self) -> Money:
        """What a buyer pays while no reduction is in force, tax included."""
        return (self.usual or self.prices).price


@dataclass(frozen=True, slots=True)
class Pack:
    """What each boxed set takes one of: its box, the fill of it, the card; None on hand where it is not counted."""

    part: Literal["box", "fill", "card"]
    box: str
    on_hand: int | None

    @property
    def name(self) -> str:
        """What messages call it; of one name there is one stock."""
        return {"box": f"box {self.box}", "fill": f"fill of box {self.box}", "card": "the card"}[self.part]


def packs_of(box: GiftBox | None, card: Card | None) -> tuple[Pack, ...]:
    """Return what a set in this box takes one of each."""
    packs = [Pack("box", box.code, box.on_hand)] if box else []
    packs += [Pack("fill", box.code, box.fill.on_hand)] if box and box.fill else []
    packs += [Pack("card", "", card.on_hand)] if card else []
    return tuple(packs)


@dataclass(frozen=True, slots=True)
class SetFacts:
    """A set with all its variants and what holds for the whole of it.

    `items` are all it may hold, in the order of the contents. `box` is None for a set without one; where variants
    have boxes of their own it is the largest of them, and `carton` the largest's.
    """

    source: SetFolder
    items: tuple[Item, ...]
    box: GiftBox | None
    card: Card | None
    carton: Carton | None
    season: Season | None
    variants: tuple[Variant, ...]
    can_make: int | None

    @property
    def code(self) -> str:
        """The set's code."""
        return self.source.gift_set.code

    @property
    def name(self) -> str:
        """The set's name."""
        return self.source.gift_set.name

    @property
    def is_single(self) -> bool:
        """Whether it is a single piece, listed without a folder of its own."""
        return self.source.is_single

    @property
    def boxes(self) -> tuple[GiftBox, ...]:
        """Every box that some variant lies in, the smallest inside first."""
        by_code = {each.box.code: each.box for each in self.variants if each.box}
        return tuple(sorted(by_code.values(), key=lambda box: (box.inside.volume, box.code)))

    @property
    def packs(self) -> tuple[Pack, ...]:
        """Boxes, fills and the card, of which each variant takes one."""
        packs = (pack for box in self.boxes for pack in packs_of(box, None))
        return (*packs, *packs_of(None, self.card))

    @property
    def cheapest(self) -> Money:
        """The lowest price among the variants."""
        return min((each.price for each in self.variants), key=lambda money: money.amount)

    @property
    def dearest(self) -> Money:
        """The highest price among the variants."""
        return max((each.price for each in self.variants), key=lambda money: money.amount)


@dataclass(frozen=True, slots=True)
class Catalog:
    """All sets of a shop, computed, in the order of their folders; `searches` is what is asked of boxes further on.

    `singles` are the pieces that some channel lists alone, each as a set of one. `allotted` is what each place may sell
    where pieces are allotted, None where each may sell all that can be made.
    """

    shop: Shop
    sets: tuple[SetFacts, ...]
    searches: Searches = field(default_factory=Searches, compare=False, repr=False)
    singles: tuple[SetFacts, ...] = ()
    allotted: Allotted | None = None

    @property
    def listed(self) -> tuple[SetFacts, ...]:
        """All that has a listing: the sets, then the single pieces."""
        return (*self.sets, *self.singles)
