"""Builds the Catalog: calls what computes prices, weights and stock, once for every variant.

Pure: the same shop gives the same catalog. Variants of one set that share a sum share the
figures made of it, so that a set with many options costs little more than its combinations.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache, partial

from listkit.compute.allotment import with_allotted
from listkit.compute.box.fit import smallest_alone, smallest_for
from listkit.compute.box.searches import Searches
from listkit.compute.catalog import (
    Catalog,
    NetShare,
    Pack,
    Piece,
    PriceFacts,
    SetFacts,
    Variant,
    WeightFacts,
    packs_of,
)
from listkit.compute.freight import fill_share, packing_weight, weight_facts
from listkit.compute.prices import (
    at_dearest,
    in_steps,
    item_net,
    item_wholesale,
    net_of_pieces,
    net_share,
    price_facts,
    wholesale,
)
from listkit.compute.singles import as_set
from listkit.compute.stock import can_make, can_make_in_boxes, can_make_of_set
from listkit.compute.variants import ZERO, Combination, combinations_of
from listkit.model.fields import Status
from listkit.model.gift_set import SMALLEST, SMALLEST_EACH, GiftSet, Option, Slot, VariantNote, variant_code
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.model.packaging import Card, Carton, GiftBox
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder, Shop
from listkit.units.money import Money
from listkit.units.weight import Weight

NO_NOTE = VariantNote(options={})


@dataclass(frozen=True, slots=True)
class Packed:
    """What a variant lies in: box, card and carton; what they cost, exact; how many of each counted part there are."""

    box: GiftBox | None
    card: Card | None
    carton: Carton | None
    cost: Decimal
    on_hand: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SetRules:
    """What holds for one set: its own rules where it states them, else the shop's; `packed` is a member a combination.

    Combinations that lie in the same box share their Packed. `largest` is the one with the largest box.
    """

    gift_set: GiftSet
    settings: Settings
    packed: tuple[Packed, ...]
    largest: Packed

    @property
    def uplift(self) -> Decimal:
        """Added for box, fill and card; without a box only what the set itself states."""
        stated = self.gift_set.uplift
        if stated is None and self.gift_set.boxed:
            stated = self.settings.prices.uplift
        return ZERO if stated is None else stated.amount


def build_catalog(shop: Shop, searches: Searches | None = None, *, before: Catalog | None = None) -> Catalog:
    """Return every set of the shop with all its variants; `searches` are those of the command.

    What all that goes into it has left as it was is taken over from a catalog of `before`.
    """
    items, prices = {item.code: item for item in shop.items}, shop.settings.prices
    used = {code for source in shop.sets for code in source.gift_set.item_codes} | {one.code for one in shop.singles}
    wholesale_of_items = {
        item.code: item_wholesale(
            item.retail, prices.wholesale, item_net(item, prices.tax), prices.wholesale_step
        ).amount
        for item in shop.items
        if item.code in used
    }
    searches = searches or Searches()
    searches.allow(len(shop.sets))
    alone = (as_set(single, items[single.code], shop) for single in shop.singles)
    rules_kept = before and _rules_in(before.shop) == _rules_in(shop)
    known = {facts.source.folder: facts for facts in before.listed} if before and rules_kept else {}

    def facts_of(source: SetFolder) -> SetFacts:
        facts = known.get(source.folder)
        if (
            facts
            and facts.source == source
            and facts.items == tuple(items[code] for code in source.gift_set.item_codes)
        ):
            return facts
        return set_facts(source, shop, items, wholesale_of_items=wholesale_of_items, searches=searches)

    return with_allotted(Catalog(shop, tuple(map(facts_of, shop.sets)), searches, tuple(map(facts_of, alone))))


def _rules_in(shop: Shop) -> tuple[object, ...]:
    """Return what the figures of every set rest on, besides itself and its items."""
    return shop.settings, shop.packaging, shop.naming


def set_facts(
    source: SetFolder,
    shop: Shop,
    items: Mapping[str, Item],
    *,
    wholesale_of_items: Mapping[str, Decimal],
    searches: Searches,
) -> SetFacts:
    """Return one set with all its variants; every code it names is in `items` and `wholesale_of_items`."""
    gift_set, settings = source.gift_set, shop.settings
    combinations = combinations_of(gift_set, items, partial(option_says, naming=shop.naming), wholesale_of_items)
    held = tuple(items[code] for code in gift_set.item_codes)
    rules = _rules(gift_set, shop, combinations, searches)
    variants = tuple(_variants(combinations, rules, taxes_apart=any(item.tax is not None for item in held)))
    return SetFacts(
        source=source,
        items=held,
        box=rules.largest.box,
        card=rules.largest.card,
        carton=rules.largest.carton,
        season=next((season for season in settings.seasons if season.name == gift_set.season), None),
        variants=variants,
        can_make=_can_make(gift_set, items, variants, rules.largest),
    )


def _can_make(
    gift_set: GiftSet, items: Mapping[str, Item], variants: tuple[Variant, ...], largest: Packed
) -> int | None:
    """Return how many of a set can be made, of all its variants together; those that are closed alone are left out."""
    fixed = (Piece(items[entry.item], entry.quantity) for entry in gift_set.contents if not isinstance(entry, Slot))
    slots = (tuple(Piece(items[option.item], slot.quantity) for option in slot.choose) for slot in gift_set.slots)
    closed, sold = list[tuple[str, ...]](), list[tuple[str, ...]]()
    boxes = {
        tuple(choice.item.code for choice in variant.choices): _counted(packs_of(variant.box, None))
        for variant in variants
        if gift_set.box == SMALLEST_EACH and variant.status is not Status.CLOSED
    }
    if any(boxes.values()):
        cards = tuple(pack.on_hand for pack in packs_of(None, largest.card))
        return can_make_in_boxes(tuple(fixed), tuple(slots), cards, boxes)
    if gift_set.sold_as is not Status.CLOSED and any(note.status is Status.CLOSED for note in gift_set.variants):
        for variant in variants:
            codes = tuple(choice.item.code for choice in variant.choices)
            (closed if variant.status is Status.CLOSED else sold).append(codes)
    return can_make_of_set(tuple(fixed), tuple(slots), largest.on_hand, closed=closed, sold=sold)


def _counted(packs: tuple[Pack, ...]) -> dict[str, int]:
    return {pack.name: pack.on_hand for pack in packs if pack.on_hand is not None}


def option_says(option: Option, item: Item, naming: Naming) -> str:
    """Return what the buyer reads: what the owner says, else the item's name and form."""
    return option.says or naming.of(item)


def _rules(gift_set: GiftSet, shop: Shop, combinations: tuple[Combination, ...], searches: Searches) -> SetRules:
    stock, packing, stacked = shop.packaging.boxes, shop.settings.packing, gift_set.stacked
    pieces = tuple(combination.pieces for combination in combinations)
    boxes: tuple[GiftBox | None, ...]
    if gift_set.box == SMALLEST_EACH:
        boxes = smallest_alone(pieces, stock, packing, stacked=stacked, searches=searches)
    elif gift_set.box == SMALLEST:
        boxes = (smallest_for(pieces, stock, packing, stacked=stacked, searches=searches),) * len(pieces)
    else:
        boxes = (next((box for box in stock if box.code == gift_set.box), None),) * len(pieces)
    codes = tuple([box.code if box else "" for box in boxes])
    by_code = {code: _packed(gift_set, box, shop) for code, box in dict(zip(codes, boxes, strict=True)).items()}
    packed = tuple([by_code[code] for code in codes])
    volumes = {code: each.box.inside.volume if each.box else ZERO for code, each in by_code.items()}
    largest = max(sorted(by_code), key=volumes.__getitem__, default="")
    return SetRules(gift_set, shop.settings, packed, by_code.get(largest) or _packed(gift_set, None, shop))


def _packed(gift_set: GiftSet, box: GiftBox | None, shop: Shop) -> Packed:
    card = shop.packaging.card if box is not None and gift_set.card else None
    cost = ZERO
    if box is not None:
        wage = shop.settings.prices.wage
        cost = box.cost.amount + (box.fill.cost.amount if box.fill else ZERO)
        cost += box.minutes * wage.amount / 60 if wage else ZERO
    if card is not None:
        cost += card.cost.amount
    on_hand = tuple(_counted(packs_of(box, card)).values())
    return Packed(box, card, box.carton if box else gift_set.carton, cost, on_hand)


def _variants(combinations: tuple[Combination, ...], rules: SetRules, *, taxes_apart: bool) -> Iterator[Variant]:
    """Yield the variant of each combination; those with the same sums share their prices and weights."""
    price_of, weigh = _pricing(combinations, rules, taxes_apart=taxes_apart), _weighing(rules)
    note_of, gift_set = _notes(rules.gift_set), rules.gift_set
    status, trade_of = gift_set.sold_as, _trading(rules)
    for combination, packed in zip(combinations, rules.packed, strict=True):
        sums, pieces, note = combination.sums, combination.pieces, note_of(combination)
        prices = price_of(combination)
        cost = sums.cost + packed.cost
        full_cost, to_shops = trade_of(prices, cost, sums.wholesale + packed.cost)
        weights, share = weigh(packed, sums.grams, sums.volume)
        # a set without box and of one piece is that piece, and has its GTIN
        alone = not gift_set.boxed and len(pieces) == 1 and pieces[0].quantity == 1
        yield Variant(
            code=note.code or variant_code(gift_set.code, tuple([choice.part for choice in combination.choices])),
            choices=combination.choices,
            pieces=pieces,
            gtin=note.gtin or (pieces[0].item.gtin if alone else ""),
            status=note.status or status,
            photo=note.photo,
            stated_price=note.price or gift_set.price,
            prices=prices,
            full_cost=full_cost,
            exact_cost=cost,
            wholesale=to_shops,
            weights=weights,
            fill_share=share,
            can_make=can_make(pieces, packed.on_hand),
            box=packed.box,
            carton=packed.carton,
        )


def _pricing(
    combinations: tuple[Combination, ...], rules: SetRules, *, taxes_apart: bool
) -> Callable[[Combination], PriceFacts]:
    """Return the function from a combination to its price, each sum priced once a tax rate or mix of rates."""
    prices, currency = rules.settings.prices, rules.settings.currency
    ending, net = rules.gift_set.ending or prices.ending, net_share(prices.tax)

    @cache
    def usual(retail: Decimal, net: NetShare) -> PriceFacts:
        return price_facts(retail, rules.uplift, ending, net=net, currency=currency)

    dearest = ZERO
    if (rules.gift_set.option_prices or prices.option_prices) == "dearest":
        dearest = max((usual(combination.sums.retail, net).price.amount for combination in combinations), default=ZERO)

    @cache
    def priced(retail: Decimal, net: NetShare) -> PriceFacts:
        return at_dearest(usual(retail, net), dearest) if dearest else usual(retail, net)

    if taxes_apart:
        return lambda combination: priced(combination.sums.retail, net_of_pieces(combination.pieces, prices.tax))
    at_usual_tax = cache(lambda retail: priced(retail, net))
    return lambda combination: at_usual_tax(combination.sums.retail)


def _trading(rules: SetRules) -> Callable[[PriceFacts, Decimal, Decimal], tuple[Money, Money]]:
    """Return the function from a price, a cost and the parts' wholesale to rounded cost and wholesale, each once.

    The prices are those of `_pricing`, which keeps them.
    """
    rule = rules.gift_set.wholesale or rules.settings.prices.set_wholesale
    currency, step = rules.settings.currency, rules.settings.prices.wholesale_step
    known: dict[tuple[int, Decimal, Decimal], tuple[Money, Money]] = {}

    def trade(prices: PriceFacts, cost: Decimal, parts: Decimal) -> tuple[Money, Money]:
        key = id(prices), cost, parts
        if key not in known:
            exact = wholesale(rule, prices.price.amount, prices.net, full_cost=cost, items_and_packing=parts)
            known[key] = Money(cost, currency).rounded(ROUND_HALF_UP), in_steps(exact, currency, step)
        return known[key]

    return trade


def _weighing(rules: SetRules) -> Callable[[Packed, Decimal, Decimal], tuple[WeightFacts, Decimal | None]]:
    """Return the function from what a variant lies in, the items' grams and volume to weights and fill share."""
    known: dict[tuple[int, Decimal, Decimal], tuple[WeightFacts, Decimal | None]] = {}

    def weigh(packed: Packed, grams: Decimal, volume: Decimal) -> tuple[WeightFacts, Decimal | None]:
        key = id(packed), grams, volume
        if key not in known:
            gift = Weight(grams) + packing_weight(packed.box, packed.card)
            share = fill_share(volume, packed.box.inside) if packed.box else None
            known[key] = weight_facts(gift, packed.carton, rules.settings.freight), share
        return known[key]

    return weigh


def _notes(gift_set: GiftSet) -> Callable[[Combination], VariantNote]:
    """Return the function from a combination to the owner's note on it: on all its options, else on some of them."""
    if not gift_set.variants:
        return lambda combination: NO_NOTE
    whole = {frozenset(note.options.items()): note for note in gift_set.variants}
    slots = {slot.slot for slot in gift_set.slots}
    first_of = _first_of([note for note in gift_set.variants if note.options.keys() < slots])

    def note_of(combination: Combination) -> VariantNote:
        chosen = {choice.slot: choice.item.code for choice in combination.choices}
        return whole.get(frozenset(chosen.items())) or first_of(chosen)

    return note_of


def _first_of(notes: list[VariantNote]) -> Callable[[dict[str, str]], VariantNote]:
    """Return the function from what is chosen in every slot to the first note that fits it: a bit stands for a note."""
    every, naming, picking = (1 << len(notes)) - 1, defaultdict[str, int](int), defaultdict[tuple[str, str], int](int)
    for at, note in enumerate(notes):
        for slot, code in note.options.items():
            naming[slot] |= 1 << at
            picking[slot, code] |= 1 << at
    silent = {slot: every ^ bits for slot, bits in naming.items()}

    def first_of(chosen: dict[str, str]) -> VariantNote:
        left = every
        for slot, bits in silent.items():
            left &= bits | picking.get((slot, chosen[slot]), 0)
        return notes[(left & -left).bit_length() - 1] if left else NO_NOTE

    return first_of
