"""Sets that could be made: the best are those of a plain enumeration, and nothing that is proposed breaks a bound.

The enumeration below knows nothing of the search: it computes every composition as a set, asks each bound in words of
its own, and adds up the points with fractions.
"""

import datetime
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import partial
from itertools import combinations, permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import settings as chosen
from hypothesis import strategies as st

from listkit.actions.new_set import passes_checks
from listkit.compute.box import Block, Vector
from listkit.compute.box.fit import verdict_in
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Variant
from listkit.compute.proposals import Proposals, Wish, in_band, propose_sets, set_of
from listkit.compute.sales import sale_on
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Rate
from listkit.model.shop import LeftOut, Shop
from listkit.pipeline import check_listed, list_catalog
from listkit.problem import Level
from tests.compute.packing_peer import ORTOOLS_MISSING, peer_fits
from tests.small_shop import BOX_S, CARD, GBP, channel, gift_set, item, settings, shop

JAR = {"form": "body butter", "size": "72 x 72 x 62 mm", "shape": "cylinder", "upright": "yes", "retail": "14.00"}
BALM = {"form": "lip balm", "size": "18 x 18 x 70 mm", "retail": "4.50", "cost": "1.05", "weight": "10 g"}
TIN = {"form": "balm", "size": "68 x 68 x 25 mm", "shape": "cylinder", "retail": "11.00", "cost": "2.60"}
GOODS = [
    item("B-1", scent="oat", on_hand="10"),
    item("B-2", scent="rose", on_hand="40"),
    item("L-1", **BALM, scent="mint", on_hand="20"),
    item("T-1", **TIN, scent="honey", on_hand="9"),
    item("J-1", **JAR, scent="hop", container="jar", on_hand="20"),
    item("J-2", **JAR, scent="clover", container="jar", on_hand="12"),
]
BOX_P: dict[str, Any] = {"code": "P", "inside": "138 x 96 x 56 mm", "weight": "36 g", "cost": "0.60", "minutes": 3}
BOXES: dict[str, Any] = {
    "box": [BOX_P, BOX_S, {**BOX_S, "code": "M", "inside": "210 x 160 x 75 mm", "minutes": 5}],
    "card": CARD,
}

ANY = Wish()


def made(
    items: list[Item], sold: dict[str, int] | None = None, *sets: GiftSet, wish: Wish = ANY, **says: Any
) -> tuple[Shop, Proposals]:
    says.setdefault("packaging", BOXES)
    of = shop(items, list(sets), **says)
    return of, propose_sets(of, build_catalog(of), [each for each in items if each.on_hand != 0], sold or {}, wish)


# The plain enumeration: every pair and family of a shelf, each computed as a set.

Row = tuple[int, tuple[str, ...], tuple[str, ...]]


def points(of: Shop, pieces: list[Item], sold: dict[str, int]) -> tuple[int, int]:
    """What lies and what sold, each of a thousand on average of the pieces, rounded down piece by piece."""
    most = max(sold.values(), default=0)
    stock = max(each.on_hand or 0 for each in of.items)
    lies = 0
    for piece in pieces:
        there, went = piece.on_hand or 0, sold.get(piece.code, 0)
        if there and not most:
            lies += int(Fraction(1000 * there, stock))
        elif there:
            lies += 1000 if not went else min(1000, int(Fraction(1000 * there * 12, went * 24)))
    went = sum(int(Fraction(1000 * sold.get(piece.code, 0), most)) if most else 0 for piece in pieces)
    return lies // len(pieces), went // len(pieces)


def hour(of: Shop, variant: Variant) -> Fraction:
    """What an hour of packing leaves before fees, as it is computed: price less tax and all that it costs."""
    assert variant.box is not None
    net = variant.prices.net
    left = Fraction(variant.prices.price.amount) * Fraction(net.top) / Fraction(net.bottom) - Fraction(
        variant.exact_cost
    )
    return left * 60 / Fraction(variant.box.minutes or 1)


def bound(of: Shop, variant: Variant, there: set[frozenset[str]]) -> bool:  # noqa: PLR0911 - a bound a return
    """Whether a variant may be proposed, asked bound by bound."""
    pieces = [piece.item for piece in variant.pieces]
    scents = [set(piece.scent.split()) for piece in pieces]
    worth = sum(piece.retail.amount for piece in pieces)
    if any(first & second for first, second in combinations(scents, 2)) or variant.box is None:
        return False
    if frozenset(piece.code for piece in pieces) in there or any(piece.retail.amount * 10 < worth for piece in pieces):
        return False
    if not verdict_in(variant.box, variant.pieces, of.settings.packing, stacked=False, searches=Searches()).fits:
        return False
    bands = [band.amount for band in of.settings.prices.bands]
    if bands and not any(band * Decimal("0.9") <= variant.prices.price.amount <= band for band in bands):
        return False
    facts = replace(build_catalog(of).sets[0]) if of.sets else None
    for each in of.channels:
        margin = sale_on(each, variant, facts, of).margin  # type: ignore[arg-type]
        if margin is None or margin < of.settings.prices.lowest_margin:
            return False
    grams = variant.weights.chargeable.grams if variant.weights.chargeable else None
    steps = sorted(rate.up_to.grams for rate in of.rates)
    if grams is not None and steps:
        if grams > steps[-1]:
            return False
        below = max((step for step in steps if step < grams), default=None)
        if below is not None and grams - below <= of.settings.freight.near.grams:
            return False
    return variant.fill_share is not None and variant.fill_share <= of.settings.packing.full_above


def enumerated(of: Shop, sold: dict[str, int]) -> list[Row]:  # noqa: C901 - every way, in one place
    """Every proposal of three pieces: its score, its fixed pieces, its options with the best first."""
    items = [each for each in of.items if each.on_hand != 0]
    there = {frozenset(p.item.code for p in each.pieces) for facts in build_catalog(of).sets for each in facts.variants}
    rows: list[tuple[tuple[str, ...], list[tuple[Item, Variant]], list[Item]]] = []
    cheap: list[Fraction] = []
    for pair in combinations(sorted(items, key=lambda each: each.code), 2):
        if pair[0].form == pair[1].form or bool(pair[0].larger) != bool(pair[1].larger):
            continue
        groups: dict[Any, list[Item]] = {}
        for each in items:
            if each.form not in {pair[0].form, pair[1].form} and bool(each.larger) == bool(pair[0].larger):
                groups.setdefault((each.size.sides, each.shape, each.form), []).append(each)
        for family in groups.values():
            sound, fits = [], []
            for option in family:
                [variant] = set_of(of, pair, [option], Searches()).variants
                loose = replace(
                    of, channels=(), rates=(), settings=of.settings.model_copy(update={"packing": full(of)})
                )
                if bound(loose, variant, there):
                    fits.append(variant)
                if bound(of, variant, there):
                    sound.append((option, variant))
            if len(fits) > 1:
                cheap += [hour(of, variant) for variant in fits]
            if len(sound) > 1:
                rows.append((tuple(piece.code for piece in pair), sound, list(pair)))
    best_hour = max(cheap, default=Fraction(0))
    scored = []
    for fixed, sound, pieces in rows:
        totals = []
        for option, variant in sound:
            lies, went = points(of, [*pieces, option], sold)
            share = max(0, int(1000 * hour(of, variant) / best_hour)) if best_hour > 0 else 0
            totals.append((-(50 * lies + 30 * share + 20 * went), option.code))
        totals.sort()
        scored.append((-totals[0][0], fixed, tuple(code for _, code in totals[:4])))
    return sorted(scored, key=lambda row: -row[0])


def full(of: Shop) -> Any:
    return of.settings.packing.model_copy(update={"full_above": Decimal(99)})


def of_three(proposals: Proposals) -> list[Row]:
    return [
        (each.points.total, tuple(sorted(each.codes[:2])), each.codes[2:])
        for each in proposals.best
        if len(each.fixed) == 2
    ]


KINDS: list[dict[str, str]] = [
    {"form": "bar soap", "size": "86 x 58 x 28 mm"},
    {"form": "lip balm", "size": "18 x 18 x 70 mm", "weight": "10 g"},
    {"form": "balm", "size": "68 x 68 x 25 mm", "shape": "cylinder", "weight": "70 g"},
    {"form": "body butter", "size": "72 x 72 x 62 mm", "shape": "cylinder", "upright": "yes", "weight": "230 g"},
    {"form": "salts", "size": "150 x 100 x 42 mm", "weight": "264 g"},
]


@st.composite
def shelves(draw: st.DrawFn) -> tuple[Shop, dict[str, int]]:
    """A small shelf with prices, stock, scents, sales, a band or none, a channel, rates or none."""
    items = []
    for at in range(draw(st.integers(4, 9))):
        kind = draw(st.sampled_from(KINDS))
        retail = draw(st.sampled_from(["3.00", "5.00", "7.50", "11.00", "14.00"]))
        more: dict[str, str] = {"scent": draw(st.sampled_from(["oat", "rose", "mint", "hop", ""])), "retail": retail}
        stock = draw(st.integers(0, 60))
        items.append(item(f"X-{at}", **{**kind, **more}, cost="1.50", on_hand=f"{stock}"))
    sold = {each.code: draw(st.integers(0, 30)) for each in items}
    bands = draw(st.sampled_from([[], ["20", "30", "40"]]))
    says: dict[str, Any] = {"prices": {"bands": bands, "lowest_margin": draw(st.sampled_from(["0 %", "55 %", "62 %"]))}}
    rates = [Rate.model_validate({"service": "P", "zone": "", "up_to": f"{step} g", "price": price}, context=GBP)
             for step, price in ((500, "3.00"), (600, "4.00"), (9000, "6.00"))]  # fmt: skip
    boxes = {**BOXES, "box": [{**box, "carton": BOX_S["carton"]} for box in BOXES["box"]]}
    of = shop(
        items,
        [gift_set([{"item": items[0].code}, {"item": items[1].code}, {"item": items[2].code}])],
        packaging=boxes,
        settings=settings(**says),
        channels=(channel(fee="10 %"),),
        rates=tuple(rates) if draw(st.booleans()) else (),
    )
    return of, sold


@given(shelves())
@chosen(max_examples=60, deadline=None)
def test_the_best_ten_of_three_pieces_are_those_of_a_plain_enumeration(shelf: tuple[Shop, dict[str, int]]) -> None:
    of, sold = shelf
    usable = [each for each in of.items if each.on_hand != 0]
    proposals, every = propose_sets(of, build_catalog(of), usable, sold, Wish(count=10_000)), enumerated(of, sold)
    assert sorted(of_three(proposals)) == sorted(every)
    ten = propose_sets(of, build_catalog(of), usable, sold, Wish())
    assert [each.codes for each in ten.best] == [each.codes for each in proposals.best[:10]]
    assert [each[0] for each in of_three(ten)] == [each[0] for each in every][: len(of_three(ten))]


def test_of_a_shelf_with_more_than_ten_the_ten_best_are_given() -> None:
    scents = ("oat", "rose", "mint", "hop", "fig", "pine", "clover", "honey", "lime", "sage", "mallow", "tansy")
    goods = [
        item(f"X-{at:02}", **KINDS[at % 4], retail=f"{6 + at % 5}.00", scent=scents[at], on_hand=f"{7 * at % 31 + 3}")
        for at in range(12)
    ]
    sold = {each.code: 3 * at % 7 for at, each in enumerate(goods)}
    of, ten = made(goods, sold)
    every = enumerated(of, sold)
    assert len(every) > 20
    assert len(ten.best) == 10
    three = of_three(ten)
    assert [row[0] for row in three] == [row[0] for row in every][: len(three)]
    assert set(three) <= set(every)
    assert ten.of_four


@pytest.mark.parametrize(("wall", "most"), [("PUT_TOGETHER", 8), ("PROMISING", 6)])
def test_what_is_not_looked_at_is_told(monkeypatch: pytest.MonkeyPatch, wall: str, most: int) -> None:
    scents = ("oat", "rose", "mint", "hop", "fig", "pine", "clover", "honey", "lime", "sage", "mallow", "tansy")
    goods = [
        item(f"X-{at:02}", **KINDS[at % 4], retail="6.00", scent=scents[at], on_hand=f"{90 - at}") for at in range(12)
    ]
    whole = made(goods, {})[1]
    assert (whole.left_out, whole.is_cut) == (0, False)
    monkeypatch.setattr(f"listkit.bounds.{wall}", most)
    part = made(goods, {})[1]
    assert part.best
    if wall == "PUT_TOGETHER":
        assert (part.left_out, part.is_cut) == (4, False)
        assert {code for each in part.best for code in each.codes} <= {each.code for each in goods[:8]}  # lie longest
    else:
        assert (part.left_out, part.is_cut) == (0, True)
        assert len(part.best) < len(whole.best)


# What fits is asked of another program: the same pieces as blocks on a floor, put to OR-Tools CP-SAT.

needs_peer = pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING or "there")


def peer_box(of: Shop, variants: list[list[Item]]) -> str:
    """The code of the smallest box that CP-SAT lays every variant in, all pieces on its floor; "" for none."""
    for box in sorted(of.packaging.boxes, key=lambda each: each.inside.volume):
        length, width, height = (int(side - of.settings.packing.clearance.mm) for side in box.inside.sides)

        def laid(pieces: list[Item], room: Vector, high: int) -> bool:
            blocks = []
            for piece in pieces:
                sides = tuple(int(side) for side in piece.size.sides)
                turns = (
                    permutations(sides)
                    if not piece.upright
                    else ((*turn, sides[2]) for turn in permutations(sides[:2]))
                )
                floors = {(turn[0], turn[1]) for turn in turns if turn[2] <= high}
                blocks.append(Block(tuple(sorted(floors))))
            return all(block.poses for block in blocks) and peer_fits(tuple(blocks), room)

        if all(laid(pieces, (length, width), height) for pieces in variants):
            return box.code
    return ""


@st.composite
def tight_shelves(draw: st.DrawFn) -> Shop:
    """Four to six blocks of a few sizes and two boxes that some of them go into."""
    side = st.integers(2, 10).map(lambda number: 10 * number)
    sizes = [(draw(side), draw(side), draw(side)) for _ in range(3)]
    items = []
    for at in range(draw(st.integers(4, 6))):
        kind = draw(st.integers(0, 2))
        size = " x ".join(map(str, sizes[kind])) + " mm"
        upright = "yes" if draw(st.booleans()) else "no"
        items.append(item(f"X-{at}", form=f"kind {kind}", size=size, upright=upright, on_hand="9"))
    floor = st.integers(9, 24).map(lambda number: 10 * number)
    insides = [(draw(floor), draw(floor), draw(st.integers(4, 12)) * 10) for _ in range(2)]
    boxes = [
        {**BOX_P, "code": code, "inside": " x ".join(map(str, inside)) + " mm"}
        for code, inside in zip("AB", sorted(insides, key=lambda each: each[0] * each[1] * each[2]), strict=True)
    ]
    of = shop(items, [], packaging={"box": boxes})
    return replace(of, settings=of.settings.model_copy(update={"packing": full(of)}))


@needs_peer
@given(tight_shelves())
@chosen(max_examples=80, deadline=None)
def test_what_is_proposed_and_in_which_box_is_what_cp_sat_finds_to_fit(of: Shop) -> None:
    """Of all pairs with a slot: those of which CP-SAT lays two options or more somewhere, in the smallest such box."""
    proposals = propose_sets(of, build_catalog(of), of.items, {}, Wish(count=10_000, one_scent=True))
    proposed = {
        (frozenset(each.codes[:2]), frozenset(each.codes[2:])): each.box.code
        for each in proposals.best
        if each.box and len(each.fixed) == 2
    }
    wanted: dict[tuple[frozenset[str], frozenset[str]], str] = {}
    for pair in combinations(of.items, 2):
        forms = {each.form for each in of.items} - {each.form for each in pair}
        for form in forms if pair[0].form != pair[1].form else ():
            fits = [each for each in of.items if each.form == form and peer_box(of, [[*pair, each]])]
            codes = frozenset(each.code for each in fits)
            if len(fits) > 1 and (box := peer_box(of, [[*pair, each] for each in fits])):
                wanted[frozenset(each.code for each in pair), codes] = box
    assert proposed == wanted


UNFINISHED = {"shot-missing", "unwritten", "language-missing"}


@given(shelves())
@chosen(max_examples=40, deadline=None)
def test_nothing_that_is_proposed_breaks_what_must_be_kept(shelf: tuple[Shop, dict[str, int]]) -> None:
    """Each proposal is put into the whole shop as a set and checked by all rules, but for what any new set lacks."""
    of, sold = shelf
    usable = [each for each in of.items if each.on_hand != 0]
    day = datetime.date(2026, 11, 25)

    def faults(with_sets: Shop) -> set[str]:
        checked = check_listed(list_catalog(build_catalog(with_sets), day))
        must = (each for each in checked.problems if each.level is Level.MUST_FIX and each.code not in UNFINISHED)
        return {f"{each.code} {each.place}" for each in must}

    wish = Wish(sound=partial(passes_checks, of, day))
    before = faults(of)
    for each in propose_sets(of, build_catalog(of), usable, sold, wish).best:
        assert faults(replace(of, sets=(*of.sets, each.facts.source))) <= before
        assert all(in_band(variant.prices.price.amount, of) for variant in each.facts.variants)
        assert all(variant.box is not None and variant.can_make for variant in each.facts.variants)


def test_minis_lie_beside_minis_and_no_two_share_a_scent_unless_wished() -> None:
    small = {"size": "50 x 50 x 46 mm", "shape": "cylinder", "retail": "6.50", "weight": "100 g"}
    minis = [item(f"M-{at}", **small, form="mini butter", larger="J-1", scent=f"x{at}x", on_hand="9") for at in (1, 2)]
    tiny = [item("N-1", **{**small, "form": "mini scrub"}, larger="J-2", scent="fig", on_hand="9"),
            item("N-2", **{**BALM, "form": "mini balm"}, larger="T-1", scent="pine", on_hand="9")]  # fmt: skip
    _, proposals = made([*GOODS, *minis, *tiny])
    for each in proposals.best:
        assert len({bool(piece.larger) for piece in (*each.fixed, *each.options)}) == 1
    one_scent = [each.model_copy(update={"scent": "rose"}) for each in GOODS]
    assert made(one_scent)[1].best == ()
    assert made(one_scent, wish=Wish(one_scent=True))[1].best


def test_what_lies_comes_before_what_sells_and_what_it_takes_from_others_is_named() -> None:
    sold = {"B-1": 40, "B-2": 0, "L-1": 10, "T-1": 10, "J-1": 12, "J-2": 12}
    there = gift_set([{"item": "B-2"}, {"item": "L-1"}], code="S-9")
    _, proposals = made(GOODS, sold, there)
    first = proposals.best[0]
    assert "B-2" in first.codes
    assert first.takes[0][0] == "S-9"
    assert "B-2" in first.takes[0][1]


@pytest.mark.parametrize(
    ("items", "says", "missing"),
    [
        (GOODS[:2], {}, "2 of the items are on sale and on hand, and a set takes three."),
        (GOODS, {"packaging": {}}, "packaging.toml has no box to lay them in."),
        (
            GOODS,
            {"packaging": {}, "left_out": LeftOut(boxes_unread=True)},
            "packaging.toml has no box that can be read.",
        ),
        (GOODS, {"packaging": {"box": [{**BOX_P, "inside": "60 x 50 x 40 mm"}]}}, "no box of packaging.toml holds"),
        (GOODS, {"settings": settings(prices={"bands": ["3"]})}, "one of the bands 3.00"),
        (
            GOODS,
            {"settings": settings(prices={"lowest_margin": "90 %"}), "channels": (channel(),)},
            "what goes together and fits leaves too little",
        ),
    ],
)  # fmt: skip
def test_why_nothing_can_be_proposed_is_said(items: list[Item], says: dict[str, Any], missing: str) -> None:
    _, proposals = made(items, **says)
    assert proposals.best == ()
    assert missing in proposals.missing
