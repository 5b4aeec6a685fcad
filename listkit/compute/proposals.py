"""Sets that could be made from what is on hand: two or three pieces and a slot, by what speaks for them.

A variant is a set of pieces; a composition is two pieces, or three, with a slot whose options share size, shape and
form, so that box and photo stay the same. Every composition of three pieces is looked at; of four, those that one more
piece makes of the best of three. Cheap bounds come first. What is left is computed as any set is, the most promising
first, until nothing that is left can be better than what was found: so the best of three pieces are the best. Where
very many promise as much, not all are computed, and that is told.

Points (common practice, no source): half for what lies too long, three tenths for what an hour of packing leaves, two
tenths for what sold; each from 0 to 1000 (an hour of four pieces may have more, being measured by the best of three),
in whole numbers, so that every machine ranks alike.
"""

import heapq
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Final

from listkit import bounds
from listkit.compute.box.fit import kinds, smallest_for
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, NetShare, Piece, SetFacts, Variant
from listkit.compute.freight import cheapest, postage
from listkit.compute.prices import NOTHING, net_of_pieces, net_share, with_ending
from listkit.compute.sales import sale_on
from listkit.model.channel import Channel
from listkit.model.fields import Status
from listkit.model.gift_set import SMALLEST, GiftSet
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.shop import SetFolder, Shop
from listkit.units.amount import decimal_of

LIES, HOUR, SOLD = 50, 30, 20  # of a hundred points
_LONG: Final = 24  # months that a stock lasts: longer is too long. Common practice, no source
_UNDER: Final = Decimal("0.1")  # of a price band: so little under it is just under. Common practice, no source
_FILLER: Final = Decimal("0.1")  # of the worth of the whole: what is worth less is no gift
_OPTIONS: Final = 4
BEAM: Final = 60  # compositions of three pieces that a fourth is put to
_WORD: Final = re.compile(r"[^\W\d_]{3,}")
_NO_SCENT: Final = frozenset({"and", "und", "the"})
_FULL: Final = 1000
SLOT: Final = "Choice"
CODE: Final = "PROPOSED"


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for: how many, whether pieces may share a scent, for which channels (none: all).

    `sound` says whether a set that keeps every bound passes the checks of any set; it is asked last, since it takes
    longest.
    """

    count: int = 10
    one_scent: bool = False
    channels: tuple[Channel, ...] = ()
    sound: Callable[[SetFacts], bool] = field(default=lambda _facts: True, compare=False)


@dataclass(frozen=True, slots=True)
class Points:
    """What speaks for a variant: that its pieces lie too long, what an hour of packing leaves, what sold of them."""

    lies: int
    hour: int
    sold: int

    @property
    def total(self) -> int:
        """All together; 100,000 where everything speaks for it."""
        return LIES * self.lies + HOUR * self.hour + SOLD * self.sold


@dataclass(frozen=True, slots=True)
class SetProposal:
    """A set that could be made: pieces in all of it, the options of its slot with the best first, what is known of it.

    `facts` are computed as those of any set. `takes` are the live sets that hold the same pieces, each with these.
    """

    fixed: tuple[Item, ...]
    options: tuple[Item, ...]
    points: Points
    per_hour: Decimal | None
    facts: SetFacts
    takes: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def box(self) -> GiftBox | None:
        """The smallest box that holds every variant."""
        return self.facts.box

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes of the pieces, then of the options."""
        return tuple(item.code for item in (*self.fixed, *self.options))


@dataclass(frozen=True, slots=True)
class Proposals:
    """The best sets that could be made, how many compositions were looked at, and why none came of it, "" else.

    `left_out` are the items with the least to speak for them, beyond those that are put together. `is_cut` says that so
    many promised alike that not all of them were worked out: others may be as good.
    """

    best: tuple[SetProposal, ...]
    of_three: int
    of_four: int
    missing: str = ""
    left_out: int = 0
    is_cut: bool = False


@dataclass(slots=True)
class _Composition:
    """Pieces with the options that keep every cheap bound; `most` is what its score cannot exceed."""

    fixed: tuple[Item, ...]
    options: tuple[Item, ...]
    points: Mapping[str, Points] = field(default_factory=dict)
    most: int = 0

    @property
    def key(self) -> tuple[int, tuple[str, ...], tuple[str, ...]]:
        """What sorts the most promising first; the codes decide between equals."""
        return -self.most, tuple(item.code for item in self.fixed), tuple(item.code for item in self.options)


def propose_sets(
    shop: Shop, catalog: Catalog, usable: Sequence[Item], sold: Mapping[str, int], wish: Wish
) -> Proposals:
    """Return the best sets that could be made of these items.

    Args:
        shop: with its stock.
        catalog: all its sets, which are not proposed again.
        usable: the items that there are enough of.
        sold: how many of each went in the last year.
        wish: what is asked for.
    """
    if len(usable) < 3:
        there = f"{len(usable)} of the items are" if len(usable) == 2 else "only one of the items is"
        there = there if usable else "none of the items is"
        return Proposals((), 0, 0, f"{there} on sale and on hand, and a set takes three. Make some, or count again.")
    if not shop.packaging.boxes:
        unread = shop.left_out.boxes_unread or shop.left_out.boxes
        why = "no box that can be read" if unread else "no box to lay them in"
        return Proposals((), 0, 0, f"packaging.toml has {why}.")
    making = _Making(shop, catalog, usable, sold, wish)
    three = [each for pair in combinations(making.usable, 2) for each in making.compositions(pair)]
    making.judge(three)
    best = making.best(three)
    three.sort(key=lambda each: each.key)
    four = list(making.with_a_fourth(three[:BEAM]))
    making.judge(four)
    found = sorted((*best, *making.best(four)), key=lambda each: (-each.points.total, each.codes))[: wish.count]
    missing = "" if found else making.missing()
    left_out = len(usable) - len(making.usable)
    return Proposals(tuple(found), making.looked[2], making.looked[3], missing, left_out, is_cut=making.is_cut)


class _Making:
    """One search for proposals: what is known of the items, and what has been looked at."""

    def __init__(
        self, shop: Shop, catalog: Catalog, usable: Sequence[Item], sold: Mapping[str, int], wish: Wish
    ) -> None:
        self.looked = Counter[int]()
        self._shop, self._wish = shop, wish
        self._searches = Searches()
        self._there = {
            frozenset(piece.item.code for piece in each.pieces) for of in catalog.sets for each in of.variants
        }
        self._live = [each for each in catalog.sets if each.source.gift_set.sold_as is not Status.CLOSED]
        most = max(sold.values(), default=0)
        stock = max((item.on_hand or 0 for item in usable), default=0)
        self._lies = {item.code: _lies(item, sold.get(item.code, 0), 0 if most > 0 else stock) for item in usable}
        self._sold = {item.code: _FULL * max(0, sold.get(item.code, 0)) // most if most else 0 for item in usable}
        speaks = {code: LIES * lies + SOLD * self._sold[code] for code, lies in self._lies.items()}
        usable = sorted(usable, key=lambda item: (-speaks[item.code], item.code))[: bounds.PUT_TOGETHER]
        self.usable = tuple(sorted(usable, key=lambda item: item.code))
        self._scents = {item.code: _scent(item) for item in usable}
        self._families: dict[object, list[Item]] = defaultdict(list)
        for item in self.usable:
            self._families[item.size.sides, item.shape, item.form, bool(item.larger)].append(item)
        kind_of = kinds(shop.settings.packing, stacked=False)
        weights = {weight: at for at, weight in enumerate(sorted({item.weight.grams for item in usable}))}
        limited = any(box.most_weight is not None for box in shop.packaging.boxes)
        self._kinds = {
            item.code: (*kind_of((Piece(item),)), weights[item.weight.grams] if limited else 0) for item in usable
        }
        self._boxes: dict[tuple[tuple[int, ...], ...], GiftBox | None] = {}
        self._in_band: dict[Decimal, bool] = {}
        self._hours: dict[tuple[Decimal, Decimal, str, NetShare], Fraction] = {}
        self._taxes_apart = any(item.tax is not None for item in usable)
        self._net = net_share(shop.settings.prices.tax)
        self._fitted = self._priced = 0
        self.is_cut = False
        self._best_hour = Fraction(0)

    # Cheap bounds

    def compositions(self, fixed: tuple[Item, ...]) -> Iterator[_Composition]:
        """Yield the pieces with each family of options that goes with them."""
        if not self._go_together(fixed):
            return
        forms, mini = {item.form for item in fixed}, bool(fixed[0].larger)
        for family in self._families.values():
            if len(family) > 1 and family[0].form not in forms and bool(family[0].larger) == mini:
                self.looked[len(fixed)] += 1
                options = tuple(option for option in family if self._suits(fixed, option))
                if len(options) > 1:
                    yield _Composition(fixed, options)

    def _go_together(self, fixed: tuple[Item, ...]) -> bool:
        """Whether pieces are of unlike forms and scents, and all minis or none."""
        return all(
            first.form != second.form and bool(first.larger) == bool(second.larger) and self._apart(first, second)
            for first, second in combinations(fixed, 2)
        )

    def _apart(self, first: Item, second: Item) -> bool:
        return self._wish.one_scent or self._scents[first.code].isdisjoint(self._scents[second.code])

    def _suits(self, fixed: tuple[Item, ...], option: Item) -> bool:
        """Whether a variant keeps the bounds that cost little: scents, worth, price band, not there already, box."""
        pieces = (*fixed, option)
        if not all(self._apart(piece, option) for piece in fixed):
            return False
        amounts = [piece.retail.amount for piece in pieces]
        worth = sum(amounts, NOTHING)
        if min(amounts) < _FILLER * worth:
            return False
        if worth not in self._in_band:
            self._in_band[worth] = in_band(self._price(worth), self._shop)
        if not self._in_band[worth] or frozenset([piece.code for piece in pieces]) in self._there:
            return False
        self._priced += 1
        box = self._box(pieces)
        self._fitted += box is not None
        return box is not None

    def _price(self, worth: Decimal) -> Decimal:
        prices = self._shop.settings.prices
        return with_ending(worth + (prices.uplift.amount if prices.uplift else 0), prices.ending)

    def _box(self, items: tuple[Item, ...]) -> GiftBox | None:
        """Return the smallest box that surely holds the pieces, by the exact search; those alike are asked once."""
        kind = tuple(sorted([self._kinds[item.code] for item in items]))
        if kind not in self._boxes:
            pieces = tuple(map(Piece, items))
            there = tuple(box for box in self._shop.packaging.boxes if box.on_hand != 0)
            packing = self._shop.settings.packing
            self._boxes[kind] = smallest_for((pieces,), there, packing, stacked=False, searches=self._searches)
        return self._boxes[kind]

    # Points

    def judge(self, compositions: Iterable[_Composition]) -> None:
        """Give each composition the points of its variants; hours are measured by the best that was looked at first."""
        compositions = tuple(compositions)
        if not self._best_hour:
            hours = {self._hour((*each.fixed, option)) for each in compositions for option in each.options}
            self._best_hour = max(hours, default=Fraction(0))
        for each in compositions:
            each.points = {option.code: self._points((*each.fixed, option)) for option in each.options}
            each.most = max(points.total for points in each.points.values())

    def _hour(self, items: tuple[Item, ...]) -> Fraction:
        """Return what an hour of packing leaves before fees: price before tax less all that it costs, exact.

        Sums that are alike, as those of items of one kind are, are worked out once.
        """
        box, prices = self._box(items), self._shop.settings.prices
        assert box is not None
        worth = sum([item.retail.amount for item in items], NOTHING)
        cost = sum([item.cost.amount for item in items], NOTHING)
        net = net_of_pieces(tuple(map(Piece, items)), prices.tax) if self._taxes_apart else self._net
        key = worth, cost, box.code, net
        if key not in self._hours:
            card = self._shop.packaging.card
            cost += box.cost.amount + (box.fill.cost.amount if box.fill else 0) + (card.cost.amount if card else 0)
            cost += box.minutes * prices.wage.amount / 60 if prices.wage else 0
            left = Fraction(self._price(worth)) * Fraction(net.top) / Fraction(net.bottom) - Fraction(cost)
            self._hours[key] = left * 60 / Fraction(box.minutes or 1)
        return self._hours[key]

    def _points(self, items: tuple[Item, ...]) -> Points:
        hour = self._hour(items)
        share = int(_FULL * hour / self._best_hour) if self._best_hour > 0 else 0
        return Points(
            lies=sum(self._lies[item.code] for item in items) // len(items),
            hour=max(0, share),
            sold=sum(self._sold[item.code] for item in items) // len(items),
        )

    # The best, computed as any set is

    def best(self, compositions: Iterable[_Composition]) -> tuple[SetProposal, ...]:
        """Return the best of the compositions: computed by promise until nothing that is left can be better."""
        waiting = [(each.key, each) for each in compositions]
        heapq.heapify(waiting)
        found: list[SetProposal] = []
        left = bounds.PROMISING
        while waiting:
            (less, *_), composition = heapq.heappop(waiting)
            ranked = sorted(found, key=lambda each: -each.points.total)
            if len(ranked) >= self._wish.count and ranked[self._wish.count - 1].points.total > -less:
                break
            left -= len(composition.options)
            if left < 0:
                self.is_cut = True
                break
            if proposal := self._computed(composition):
                found.append(proposal)
        return tuple(sorted(found, key=lambda each: (-each.points.total, each.codes))[: self._wish.count])

    def _computed(self, composition: _Composition) -> SetProposal | None:
        """Return a composition with the options whose variants keep every bound; None where not two do."""
        facts = set_of(self._shop, composition.fixed, composition.options, self._searches)
        sound = {
            each.choices[0].item.code for each in facts.variants if keeps_bounds(each, facts, self._shop, self._wish)
        }
        options = [option for option in composition.options if option.code in sound]
        if len(options) < 2:
            return None
        options.sort(key=lambda option: (-composition.points[option.code].total, option.code))
        options = options[:_OPTIONS]
        facts, fixed = set_of(self._shop, composition.fixed, tuple(options), self._searches), composition.fixed
        if not self._wish.sound(facts):
            return None
        minutes = facts.box.minutes if facts.box else Decimal(0)
        hour = self._hour((*fixed, options[0]))
        return SetProposal(
            fixed=tuple(sorted(fixed, key=lambda item: (-item.retail.amount, item.code))),
            options=tuple(options),
            points=composition.points[options[0].code],
            per_hour=decimal_of(hour) if minutes else None,
            facts=facts,
            takes=tuple(self._takes({item.code for item in (*fixed, *options)})),
        )

    def _takes(self, codes: set[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
        for facts in self._live:
            if shared := tuple(code for code in facts.source.gift_set.item_codes if code in codes):
                yield facts.code, shared

    def with_a_fourth(self, compositions: Iterable[_Composition]) -> Iterator[_Composition]:
        """Yield compositions of four pieces, of which three are among these."""
        seen: set[frozenset[str]] = set()
        for each in compositions:
            for item in self.usable:
                fixed = tuple(sorted((*each.fixed, item), key=lambda piece: piece.code))
                key = frozenset(piece.code for piece in fixed)
                if len(key) == len(fixed) and key not in seen:
                    seen.add(key)
                    yield from self.compositions(fixed)

    def missing(self) -> str:
        """Return why nothing came of it: what was the last bound that anything kept."""
        if not self._priced:
            bands = ", ".join(str(band) for band in self._shop.settings.prices.bands)
            under = f" and comes to one of the bands {bands} or just under" if bands else ""
            return f"no two pieces and a choice of two go together{under}, that no set holds yet."
        if not self._fitted:
            return "no box of packaging.toml holds what would go together. Add one that is larger."
        return "what goes together and fits leaves too little, or is just above a step of postage."


# Bounds, each by the function that any set goes by


def in_band(price: Decimal, shop: Shop) -> bool:
    """Whether a price is on a band or just under one; every price is where the shop has none."""
    bands = [band.amount for band in shop.settings.prices.bands]
    return not bands or any(band * (1 - _UNDER) <= price <= band for band in bands)


def set_of(shop: Shop, fixed: Iterable[Item], options: Iterable[Item], searches: Searches) -> SetFacts:
    """Return a set of these pieces with a slot of these options, computed as any set is, in the smallest box."""
    contents: list[dict[str, object]] = [{"item": item.code} for item in fixed]
    choose = [{"item": item.code, "part": item.code.replace("-", "")} for item in options]
    contents.append({"slot": SLOT, "choose": choose})
    raw = {"code": CODE, "name": "Proposed", "box": SMALLEST, "contents": contents}
    gift_set = GiftSet.model_validate(raw, context={"currency": shop.settings.currency})
    folder = SetFolder(CODE.casefold(), gift_set)
    boxes = tuple(box for box in shop.packaging.boxes if box.on_hand != 0)
    alone = replace(shop, sets=(folder,), singles=(), packaging=shop.packaging.model_copy(update={"boxes": boxes}))
    return build_catalog(alone, searches).sets[0]


def keeps_bounds(variant: Variant, facts: SetFacts, shop: Shop, wish: Wish) -> bool:
    """Whether a variant fits a box that closes, is in a price band, under a step of postage, and leaves enough."""
    if variant.box is None or variant.fill_share is None or variant.fill_share > shop.settings.packing.full_above:
        return False
    if not in_band(variant.prices.price.amount, shop) or not (variant.can_make is None or variant.can_make > 0):
        return False
    freight = shop.settings.freight
    asked = postage(variant.weights, variant.carton, shop.rates, freight.packet)
    zones = {rate.zone for rate in shop.rates} if variant.carton else set()
    if zones - {each.zone for each in asked}:
        return False
    if any(each.lighter is not None and each.lighter <= freight.near for each in cheapest(asked)):
        return False
    margins = (sale_on(channel, variant, facts, shop).margin for channel in wish.channels or shop.channels)
    return all(margin is not None and margin >= shop.settings.prices.lowest_margin for margin in margins)


def _lies(item: Item, sold: int, stock: int) -> int:
    """Return how long an item's stock lasts at the pace of the last year, as a share of what is too long.

    Where nobody knows what sold, `stock` is the most that is on hand of anything, which then decides.
    """
    if not item.on_hand:
        return 0
    if stock:
        return _FULL * item.on_hand // stock
    return min(_FULL, item.on_hand * 12 * _FULL // (sold * _LONG)) if sold > 0 else _FULL


def _scent(item: Item) -> frozenset[str]:
    """Return the words of an item's scent; pieces that share one are of one family."""
    return frozenset(_WORD.findall(item.scent.casefold())) - _NO_SCENT
