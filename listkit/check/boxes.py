"""Checks of boxes: what does not fit, what would have to lie down, what looks empty or stuffed, what is too heavy.

Variants whose pieces have the same sides are looked at once. Common practice, no source, for what looks empty or may
not close; the figures are the shop's own.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from listkit.check.alike import listed
from listkit.check.places import CheckContext, offered, offered_variants, set_place
from listkit.compute.box.fit import (
    BoxPiece,
    Inside,
    Verdict,
    grams_of,
    inside_of,
    judged_in,
    kinds,
    only_lying,
    single_pieces,
    smallest_alone,
    smallest_for,
    too_large,
    tried_in_words,
    verdict_in,
)
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.listing.listings import Listings
from listkit.model.packaging import GiftBox
from listkit.problem import Level, Problem
from listkit.units.shown import Measures
from listkit.units.weight import NO_WEIGHT, Weight


@dataclass(frozen=True, slots=True)
class Alike:
    """Variants of one set whose pieces have the same sides, in a box; `judged` is whether they go in, not how."""

    catalog: Catalog
    facts: SetFacts
    box: GiftBox
    variants: tuple[Variant, ...]
    judged: Verdict

    @property
    def sample(self) -> Variant:
        """The first of them, as an example of all."""
        return self.variants[0]

    @property
    def who(self) -> str:
        """The set, or the variants that are meant when others are well."""
        return _who(self.facts, self.variants)

    @property
    def stacked(self) -> bool:
        """Whether pieces of the set may lie above each other."""
        return self.facts.source.gift_set.stacked

    @property
    def verdict(self) -> Verdict:
        """How the pieces are laid in the box."""
        packing, searches = self.catalog.shop.settings.packing, self.catalog.searches
        return verdict_in(self.box, self.sample.pieces, packing, stacked=self.stacked, searches=searches)

    @property
    def fill_share(self) -> Decimal:
        """The share of the box that the pieces take."""
        return self.sample.fill_share or Decimal(0)

    @property
    def most_spare_height(self) -> Decimal:
        """What the height of the box has over the highest piece, lying as low as it may; no layout leaves more."""
        items = (piece.item for piece in self.sample.pieces)
        low = (item.size.height.mm if item.upright else min(item.size.sides) for item in items)
        return self.box.inside.height.mm - max(low)


Groups = list[Alike]
_MOST_LAID = 50  # kinds of variants of one set


def boxes(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What does not fit, and what looks empty or stuffed."""
    fitting, misfits, undecided = list[Alike](), list[Alike](), list[Alike]()
    for group in _groups(listings.catalog):
        if group.judged.fits:
            fitting.append(group)
        else:
            (undecided if group.judged.proof == "not decided" else misfits).append(group)
    yield from _no_box(listings.catalog)
    lying = [(group, _lying(group)) for group in misfits]
    yield from _too_small([group for group, codes in lying if not codes])
    yield from _undecided(undecided)
    yield from _loose(fitting)
    yield from _full(fitting)
    yield from _high(fitting)
    yield from _lies_down([(group, codes) for group, codes in lying if codes])


def _no_box(catalog: Catalog) -> Iterator[Problem]:
    """Sets whose box is to be the smallest that holds all, or each variant, where no box is known to."""
    for facts in offered(catalog):
        without = tuple(variant for variant in facts.variants if variant.box is None)
        if facts.source.gift_set.boxed and without:
            hint = "Add a larger box to packaging.toml, or take something out."
            message = f"no box {_left_out(facts, without, catalog)}."
            if box := _stacked(without, facts, catalog):
                hint = f"Stacked they go into box {box.code}: write stacked = true. {hint}"
            elif _open_questions(facts, catalog):
                hint = f'Write the code of a box instead of "{facts.source.gift_set.box}", or try it by hand.'
                message = f"no box is known to hold all of {facts.name}: not every way could be tried."
            yield Problem(set_place(facts, "box"), "box-too-small", message, hint)


def _stacked(variants: tuple[Variant, ...], facts: SetFacts, catalog: Catalog) -> GiftBox | None:
    """Return the smallest box that holds all of them if pieces were stacked; None where they are already."""
    if facts.source.gift_set.stacked:
        return None
    shop, pieces = catalog.shop, (variant.pieces for variant in variants)
    stock, packing = shop.packaging.boxes, shop.settings.packing
    return smallest_for(pieces, stock, packing, stacked=True, searches=catalog.searches)


def _left_out(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return what no box does: hold a piece even alone, carry the heaviest variant, or hold every one."""
    shop, stacked = catalog.shop, facts.source.gift_set.stacked
    stock, packing = shop.packaging.boxes, shop.settings.packing
    items = {piece.item.code: piece for variant in variants for piece in variant.pieces}
    alone = [
        code
        for code, piece in items.items()
        if all(too_large(single_pieces((piece,)), inside_of(box, packing)) for box in stock)
    ]
    if alone:
        return f"holds {listed(alone)}, large as {'it is' if len(alone) == 1 else 'they are'}, even alone"
    heaviest = max(grams_of(variant.pieces) for variant in variants)
    if all(box.most_weight is not None and box.most_weight.grams < heaviest for box in stock):
        return f"carries the {shop.settings.measures.weight(Weight(heaviest))} of {facts.name}"
    pieces = (variant.pieces for variant in variants)
    alone_in = smallest_alone(pieces, stock, packing, stacked=stacked, searches=catalog.searches)
    without = [variant.code for variant, box in zip(variants, alone_in, strict=True) if box is None]
    return f"holds {'every variant' if len(without) in (0, len(facts.variants)) else listed(without)}"


def _open_questions(facts: SetFacts, catalog: Catalog) -> bool:
    """Whether some box may hold what no search has found a way for, or found none in time."""
    packing, stacked = catalog.shop.settings.packing, facts.source.gift_set.stacked
    together = _together(facts, catalog, offered_variants(facts))
    verdicts = (
        judged_in(box, alike[0].pieces, packing, catalog.searches, stacked=stacked)
        for box in catalog.shop.packaging.boxes
        for alike in together
    )
    return any(verdict.proof == "not decided" for verdict in verdicts)


def _too_small(groups: Groups) -> Iterator[Problem]:
    """No layout of the bounding boxes exists, or, with very many pieces, none was found; the latter is to be tried.

    Variants of a set that do not fit for one reason are told together.
    """
    alike: dict[tuple[str, bool, str, str], list[Alike]] = {}
    for group in groups:
        sure = group.judged.proof != "not found"
        alike.setdefault((group.facts.code, sure, _reason(group), _larger(group)), []).append(group)
    for (_, sure, reason, hint), together in alike.items():
        facts, box = together[0].facts, together[0].box
        who = _who(facts, tuple(variant for group in together for variant in group.variants))
        message = f"{who} {'does' if sure else 'perhaps does'} not fit in box {box.code}{reason}."
        level = None if sure else Level.LOOK_AT
        yield Problem(set_place(facts, "box"), "box-too-small", message, hint, level)


def _undecided(undecided: Groups) -> Iterator[Problem]:
    """What one command may try was used up before these were known; told once a set."""
    for facts, groups in groupby(undecided, lambda group: group.facts):
        together = tuple(groups)
        variants = tuple(variant for group in together for variant in group.variants)
        furthest = max((group.judged for group in together), key=lambda verdict: len(verdict.tried))
        box, tried = together[0].box.code, tried_in_words(furthest)
        message = f"whether {_who(facts, variants)} fits in box {box} is not decided: {tried}."
        hint = f"Try it by hand, or ask for this set alone: listkit show {facts.code}."
        yield Problem(set_place(facts, "box"), "box-too-small", message, hint, Level.LOOK_AT)


def _lies_down(groups: list[tuple[Alike, tuple[str, ...]]]) -> Iterator[Problem]:
    """All would go in, if only something that must stand were laid down."""
    for group, codes in groups:
        message = f"in box {group.box.code} {listed(codes)} of {group.who} would have to lie down."
        yield Problem(set_place(group.facts, "box"), "lies-down", message, _larger(group))


def box_overloaded(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A box carries what its maker says, and no more."""
    for facts in offered(listings.catalog):
        for box in facts.boxes:
            inside = (variant.pieces for variant in offered_variants(facts) if variant.box is box)
            heaviest = max((Weight(grams_of(pieces)) for pieces in inside), default=NO_WEIGHT)
            if box.most_weight is None or heaviest <= box.most_weight:
                continue
            weigh, carries = map(listings.catalog.shop.settings.measures.weight, (heaviest, box.most_weight))
            message = f"the pieces weigh up to {weigh}; box {box.code} carries {carries}."
            yield Problem(
                set_place(facts, "box"), "box-overloaded", message, "Take a stronger box, or take something out."
            )


def _loose(fitting: Groups) -> Iterator[Problem]:
    """A box that looks empty looks like little for the money; told once a set, of the emptiest."""
    for facts, groups in groupby(fitting, lambda group: group.facts):
        group = min(groups, key=lambda group: group.fill_share)
        least = group.catalog.shop.settings.packing.loose_below
        if group.fill_share < least:
            spare = group.catalog.shop.settings.measures.sides(group.verdict.spare)
            filled = f"{group.sample.code} fills {_percent(group.fill_share)} of box {group.box.code}"
            hint = f"Below {_percent(least)} a box looks empty: take a smaller one, or more fill."
            yield Problem(set_place(facts, "box"), "box-loose", f"{filled}; {spare} are to spare.", hint)


def _full(fitting: Groups) -> Iterator[Problem]:
    """A box that is too full does not close over its fill; told once a set, of the fullest."""
    for facts, groups in groupby(fitting, lambda group: group.facts):
        group = max(groups, key=lambda group: group.fill_share)
        most = group.catalog.shop.settings.packing.full_above
        if group.fill_share > most:
            message = f"{group.sample.code} fills {_percent(group.fill_share)} of box {group.box.code}."
            hint = f"Above {_percent(most)} it may not close over its fill: try it, or take a larger one."
            yield Problem(set_place(facts, "box"), "box-full", message, hint)


def _high(fitting: Groups) -> Iterator[Problem]:
    """Pieces that lie deep down slide about and look few; told once a set, of the variant with most above it.

    Only what may have more above it than the one with most so far is laid out, and of very many kinds the first.
    """
    for facts, groups in groupby(fitting, lambda group: group.facts):
        most, highest = Decimal(-1), None
        for group in sorted(groups, key=lambda group: -group.most_spare_height)[:_MOST_LAID]:
            allowed = group.catalog.shop.settings.packing.spare_height.mm
            if group.most_spare_height <= max(most, allowed):
                break
            if (spare := group.verdict.spare[2]) > max(most, allowed):
                most, highest = spare, group
        if highest is not None:
            measures = highest.catalog.shop.settings.measures
            above, high = measures.number(most), measures.length(highest.box.inside.height.mm)
            code, box = highest.sample.code, highest.box.code
            message = f"{code} leaves {above} of the {high} of height in box {box} free."
            figure = measures.length(highest.catalog.shop.settings.packing.spare_height.mm)
            hint = f"Above {figure} a box looks deep: raise the pieces on fill, or take a lower one."
            yield Problem(set_place(facts, "box"), "box-high", message, hint)


def _groups(catalog: Catalog) -> Iterator[Alike]:
    for facts in offered(catalog):
        for box in facts.boxes:
            yield from _alike(facts, box, catalog, [each for each in offered_variants(facts) if each.box is box])


def _alike(facts: SetFacts, box: GiftBox, catalog: Catalog, variants: Iterable[Variant]) -> Iterator[Alike]:
    """Yield the variants of a set with whether they go into the box, those together that go into the same."""
    packing, stacked = catalog.shop.settings.packing, facts.source.gift_set.stacked
    for alike in _together(facts, catalog, variants):
        judged = judged_in(box, alike[0].pieces, packing, catalog.searches, stacked=stacked)
        yield Alike(catalog, facts, box, tuple(alike), judged)


def _together(facts: SetFacts, catalog: Catalog, variants: Iterable[Variant]) -> list[list[Variant]]:
    """Return variants of a set, those together whose pieces go into the same boxes."""
    kind_of = kinds(catalog.shop.settings.packing, stacked=facts.source.gift_set.stacked)
    together: dict[tuple[int, ...], list[Variant]] = {}
    for variant in variants:
        together.setdefault(kind_of(variant.pieces), []).append(variant)
    return list(together.values())


def _who(facts: SetFacts, variants: tuple[Variant, ...]) -> str:
    whole = len(variants) == len(facts.variants)
    return facts.name if whole else listed([variant.code for variant in variants])


def _lying(group: Alike) -> tuple[str, ...]:
    inside = inside_of(group.box, group.catalog.shop.settings.packing)
    pieces = single_pieces(group.sample.pieces)
    return only_lying(pieces, inside, stacked=group.stacked, searches=group.catalog.searches)


def _reason(group: Alike) -> str:
    inside = inside_of(group.box, group.catalog.shop.settings.packing)
    alone = too_large(single_pieces(group.sample.pieces), inside)
    if alone:
        which = tuple(dict.fromkeys(alone))
        pieces = {piece.code: piece for piece in single_pieces(group.sample.pieces)}
        by = _side_too_long(pieces[which[0]], inside, group.catalog.shop.settings.measures)
        measured = f"{by}" if len(which) == 1 else f"{which[0]} is {by}"
        return f": {listed(which)} alone {'is' if len(which) == 1 else 'are'} too large, {measured}"
    if group.judged.proof == "not found":
        return ": no way was found, though not all could be tried"
    free = group.catalog.shop.settings.measures.sides(inside.free)
    return f": {'together' if group.stacked else 'side by side'} the pieces do not go into the {free} that are free"


def _side_too_long(piece: BoxPiece, inside: Inside, measures: Measures) -> str:
    """Return which way a piece does not go in, and what is free: "170 mm high where 75 mm are free"."""
    length, width, height = inside.free
    if piece.upright and piece.height > height:
        return f"{measures.length(piece.height)} high where {measures.length(height)} are free"
    sides = sorted((piece.length, piece.width) if piece.upright else piece.sides, reverse=True)
    room = sorted((length, width) if piece.upright else inside.free, reverse=True)
    side, most = next(pair for pair in zip(sides, room, strict=True) if pair[0] > pair[1])
    return f"{measures.length(side)} where {measures.length(most)} are free"


def _larger(group: Alike) -> str:
    shop, stacked = group.catalog.shop, group.stacked
    every = (variant.pieces for variant in group.variants)
    stock, packing, searches = shop.packaging.boxes, shop.settings.packing, group.catalog.searches
    box = smallest_for(every, stock, packing, stacked=stacked, searches=searches)
    if not stacked and judged_in(group.box, group.sample.pieces, packing, searches, stacked=True).fits:
        also = f", or take box {box.code}" if box else ""
        return f"It fits when pieces lie above each other: write stacked = true{also}."
    return f"Box {box.code} holds it." if box else "No box in packaging.toml holds it: add a larger one."


def _percent(share: Decimal) -> str:
    return f"{share * 100:.0f} %"
