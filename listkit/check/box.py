"""Checks of boxes: everything fits in, nothing that must stand lies down, and the box looks neither empty nor stuffed.

Variants whose pieces have the same sides are looked at once. Common practice, no source, for what looks empty
or may not close; the figures are the shop's own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from listkit.check.alike import listed
from listkit.check.places import CheckContext, offered, offered_variants, set_place
from listkit.compute.box.fit import Verdict, inside_of, only_lying, single_pieces, smallest_for, too_large, verdict_in
from listkit.compute.catalog import SetFacts, Variant
from listkit.listing.listings import Listings
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.shop import Shop
from listkit.problem import Level, Problem
from listkit.units.weight import NO_WEIGHT, Weight


@dataclass(frozen=True, slots=True)
class Alike:
    """Variants of one set whose pieces have the same sides, and how they lie in its box."""

    facts: SetFacts
    box: GiftBox
    variants: tuple[Variant, ...]
    verdict: Verdict

    @property
    def one(self) -> Variant:
        """One of them, which stands for all."""
        return self.variants[0]

    @property
    def who(self) -> str:
        """The set, or the variants that are meant when others are well."""
        whole = len(self.variants) == len(self.facts.variants)
        return self.facts.name if whole else listed([one.code for one in self.variants])


Groups = tuple[Alike, ...]


def boxes(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What does not fit, and what looks empty or stuffed; how pieces lie is searched once for all of it."""
    groups = tuple(_groups(listings))
    fitting = tuple(group for group in groups if group.verdict.fits)
    others = tuple(group for group in groups if not group.verdict.fits)
    yield from _too_small(listings, others)
    yield from _loose(listings, fitting)
    yield from _full(listings, fitting)
    yield from _high(listings, fitting)
    yield from _lies_down(listings, others)


def _too_small(listings: Listings, groups: Groups) -> Iterator[Problem]:
    """No layout of the bounding boxes exists, or, with very many pieces, none was found; the latter is to be tried."""
    shop = listings.catalog.shop
    for facts in offered(listings.catalog):
        if facts.source.gift_set.boxed and facts.box is None and facts.variants:
            hint = "Add a larger box to packaging.toml, or take something out."
            message = f"no box holds {_left_out(facts, shop)}."
            yield Problem(set_place(facts, "box"), "box-too-small", message, hint)
    for group in groups:
        if _lying(group, shop):
            continue
        sure = group.verdict.proof != "not found"
        message = (
            f"{group.who} {'does' if sure else 'perhaps does'} not fit in box {group.box.code}{_reason(group, shop)}."
        )
        level = None if sure else Level.LOOK_AT
        yield Problem(set_place(group.facts, "box"), "box-too-small", message, _larger(group, shop), level)


def _left_out(facts: SetFacts, shop: Shop) -> str:
    """Return what stands in the way of a smallest box: pieces too large for each, variants, or sizes that differ."""
    boxes, packing, stacked = shop.packaging.boxes, shop.settings.packing, facts.source.gift_set.stacked
    items = {piece.item.code: piece for one in facts.variants for piece in one.pieces}
    alone = [
        code
        for code, piece in items.items()
        if all(too_large(single_pieces((piece,)), inside_of(box, packing)) for box in boxes)
    ]
    if alone:
        return f"{listed(alone)}, large as {'it is' if len(alone) == 1 else 'they are'}, even alone"
    without = [one.code for one in facts.variants if not smallest_for((one.pieces,), boxes, packing, stacked=stacked)]
    return "every variant" if len(without) in (0, len(facts.variants)) else listed(without)


def _lies_down(listings: Listings, groups: Groups) -> Iterator[Problem]:
    """All would go in, if only something that must stand were laid down."""
    shop = listings.catalog.shop
    for group in groups:
        if codes := _lying(group, shop):
            message = f"in box {group.box.code} {listed(codes)} of {group.who} would have to lie down."
            yield Problem(set_place(group.facts, "box"), "lies-down", message, _larger(group, shop))


def box_overloaded(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A box carries what its maker says, and no more."""
    for facts in offered(listings.catalog):
        most = facts.box.most_weight if facts.box else None
        heaviest = max((_contents(one) for one in offered_variants(facts)), default=NO_WEIGHT)
        if facts.box is not None and most is not None and heaviest > most:
            message = f"the pieces weigh up to {heaviest.text}; box {facts.box.code} carries {most.text}."
            yield Problem(
                set_place(facts, "box"), "box-overloaded", message, "Take a stronger box, or take something out."
            )


def _loose(listings: Listings, fitting: Groups) -> Iterator[Problem]:
    """A box that looks empty looks like little for the money; told once a set, of the emptiest."""
    least = listings.catalog.shop.settings.packing.loose_below
    for facts, groups in groupby(fitting, lambda one: one.facts):
        group = min(groups, key=lambda one: one.verdict.fill_share)
        if group.verdict.fill_share < least:
            spare = " × ".join(f"{side.normalize():f}" for side in group.verdict.spare)
            filled = f"{group.one.code} fills {_percent(group.verdict.fill_share)} of box {group.box.code}"
            hint = f"Below {_percent(least)} a box looks empty: take a smaller one, or more fill."
            yield Problem(set_place(facts, "box"), "box-loose", f"{filled}; {spare} mm are to spare.", hint)


def _full(listings: Listings, fitting: Groups) -> Iterator[Problem]:
    """A box that is too full does not close over its fill; told once a set, of the fullest."""
    most = listings.catalog.shop.settings.packing.full_above
    for facts, groups in groupby(fitting, lambda one: one.facts):
        group = max(groups, key=lambda one: one.verdict.fill_share)
        if group.verdict.fill_share > most:
            message = f"{group.one.code} fills {_percent(group.verdict.fill_share)} of box {group.box.code}."
            hint = f"Above {_percent(most)} it may not close over its fill: try it, or take a larger one."
            yield Problem(set_place(facts, "box"), "box-full", message, hint)


def _high(listings: Listings, fitting: Groups) -> Iterator[Problem]:
    """Pieces that lie deep down slide about and look few; told once a set, of the variant with most above it."""
    shop = listings.catalog.shop
    most = shop.settings.packing.spare_height.mm
    for facts, groups in groupby(fitting, lambda one: one.facts):
        group = max(groups, key=lambda one: one.verdict.spare[2])
        if group.verdict.spare[2] > most:
            above, high = (f"{side.normalize():f}" for side in (group.verdict.spare[2], group.box.inside.height.mm))
            message = f"{group.one.code} leaves {above} of the {high} mm of height in box {group.box.code} free."
            hint = f"Above {most.normalize():f} mm a box looks deep: raise the pieces on fill, or take a lower one."
            yield Problem(set_place(facts, "box"), "box-high", message, hint)


def _groups(listings: Listings) -> Iterator[Alike]:
    packing = listings.catalog.shop.settings.packing
    for facts in offered(listings.catalog):
        if facts.box is None:
            continue
        alike: dict[tuple[object, ...], list[Variant]] = {}
        for one in offered_variants(facts):
            alike.setdefault(tuple(sorted(_form(piece.item, piece.quantity) for piece in one.pieces)), []).append(one)
        for variants in alike.values():
            verdict = verdict_in(facts.box, variants[0].pieces, packing, stacked=facts.source.gift_set.stacked)
            yield Alike(facts, facts.box, tuple(variants), verdict)


def _form(item: Item, quantity: int) -> tuple[object, ...]:
    return (*item.size.sides, item.shape.value, item.upright, item.fragile, item.weight.grams, quantity)


def _lying(group: Alike, shop: Shop) -> tuple[str, ...]:
    inside = inside_of(group.box, shop.settings.packing)
    return only_lying(single_pieces(group.one.pieces), inside, stacked=group.facts.source.gift_set.stacked)


def _reason(group: Alike, shop: Shop) -> str:
    alone = too_large(single_pieces(group.one.pieces), inside_of(group.box, shop.settings.packing))
    if alone:
        return f": {listed(tuple(dict.fromkeys(alone)))} alone {'is' if len(set(alone)) == 1 else 'are'} too large"
    return "" if group.verdict.proof != "not found" else ": no way was found, though not all could be tried"


def _larger(group: Alike, shop: Shop) -> str:
    stacked = group.facts.source.gift_set.stacked
    found = smallest_for((group.one.pieces,), shop.packaging.boxes, shop.settings.packing, stacked=stacked)
    return f"Box {found.code} holds it." if found else "No box in packaging.toml holds it: add a larger one."


def _contents(one: Variant) -> Weight:
    return sum((piece.item.weight * piece.quantity for piece in one.pieces), NO_WEIGHT)


def _percent(share: Decimal) -> str:
    return f"{share * 100:.0f} %"
