"""Verdicts on real sets: the layouts of a demo shop, rules of the trade, and what must hold for any pieces."""

import random
import time
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.compute.box.fit import (
    BoxPiece,
    Inside,
    Pieces,
    Verdict,
    lay,
    only_lying,
    smallest_box,
    too_large,
)
from listkit.compute.box.searches import Searches
from tests.compute.packing_check import above_another, faults

CLEARANCE = Decimal(3)
SHELF = {
    "B01": ("86 58 28", "box", "7.50", 119),
    "B02": ("86 58 28", "box", "7.50", 119),
    "B03": ("86 58 28", "box", "7.50", 114),
    "B04": ("86 58 28", "box", "7.50", 119),
    "S01": ("72 72 64", "cylinder", "14.00", 296),
    "U01": ("72 72 64", "cylinder", "16.00", 232),
    "M01": ("50 50 46", "cylinder", "6.50", 104),
    "T01": ("68 68 25", "cylinder", "11.00", 70),
    "L01": ("18 18 70", "cylinder", "4.50", 10),
    "X01": ("150 100 42", "box", "10.00", 264),
    "X02": ("130 90 34", "box", "9.50", 122),
    "C01": ("118 80 20", "box", "9.00", 104),
    "D01": ("118 80 18", "box", "8.50", 86),
}
BOXES = {"P": "138 96 56", "S": "162 122 70", "M": "210 160 75", "L": "260 190 75"}


def smallest(variants: tuple[Pieces, ...], insides: tuple[Inside, ...]) -> int | None:
    """Return the index of the smallest inside that holds every variant side by side."""
    return smallest_box(variants, insides, stacked=False, most_on_fragile=None, searches=Searches())


def piece(code: str) -> BoxPiece:
    """Return a piece of the demo shop; jars stand."""
    sides, shape, price, grams = SHELF[code]
    length, width, height = map(Decimal, sides.split())
    assert shape in ("box", "cylinder")
    return BoxPiece(
        code,
        length,
        width,
        height,
        "cylinder" if shape == "cylinder" else "box",
        upright=code[0] in "SUM",
        weight=Decimal(grams),
        price=Decimal(price),
    )


def pieces(codes: str) -> tuple[BoxPiece, ...]:
    return tuple(map(piece, codes.split()))


def box(code: str) -> Inside:
    length, width, height = map(Decimal, BOXES[code].split())
    return Inside(length, width, height, CLEARANCE)


def cube(side: str, code: str = "C") -> BoxPiece:
    return BoxPiece(code, Decimal(side), Decimal(side), Decimal(side))


def ball(side: str, code: str = "A") -> BoxPiece:
    return replace(cube(side, code), shape="ball")


@pytest.mark.parametrize(
    ("contents", "code", "fill"),
    [
        ("B01 L01 U01", "S", "0.36"),
        ("B01 T01 S01", "S", "0.42"),
        ("B03 X02 U01", "M", "0.34"),
        ("B04 T01 D01 S01", "M", "0.30"),
        ("X01 C01 U01", "L", "0.31"),
        ("B02 L01 M01", "P", "0.37"),
    ],
)
def test_the_six_sets_of_the_demo_shop_fit_with_clearance_and_jars_upright(contents: str, code: str, fill: str) -> None:
    """Invented sets of the trade; their fill shares were reckoned by hand."""
    verdict = lay(pieces(contents), box(code))
    assert verdict.proof == "found"
    assert faults(pieces(contents), box(code), verdict) == []
    assert not above_another(pieces(contents), verdict.layout)
    assert round(verdict.fill_share, 2) == Decimal(fill)


def test_a_bar_a_jar_and_a_tube_lie_snug_in_a_box_of_9_by_4_by_3_inches() -> None:
    """A bar, a 4 oz straight-sided jar and a lip balm tube in a 9 x 4 x 3 in box: common practice, no source."""
    inch = Decimal("25.4")
    inside = Inside(9 * inch, 4 * inch, 3 * inch, CLEARANCE)
    verdict = lay(pieces("B01 U01 L01"), inside)
    assert verdict.fits
    assert faults(pieces("B01 U01 L01"), inside, verdict) == []
    assert Decimal("0.25") <= verdict.fill_share <= Decimal("0.65")


def test_the_spare_is_what_the_inside_has_over_the_pieces_pushed_together() -> None:
    """By hand: bar 58 and jar 72 side by side in 162, jar 72 over tube 18 in 122, the jar's 64 in 70."""
    assert lay(pieces("B01 L01 U01"), box("S")).spare == (Decimal(32), Decimal(32), Decimal(6))


def test_clearance_is_taken_once() -> None:
    snug = Inside(Decimal(89), Decimal(61), Decimal(31), CLEARANCE)
    assert lay(pieces("B01"), snug).fits
    assert not lay(pieces("B01"), replace(snug, height=Decimal("30.9"))).fits


def test_one_piece_lies_in_the_middle() -> None:
    laid = lay((cube("40"),), Inside(Decimal(100), Decimal(80), Decimal(50), CLEARANCE)).layout[0]
    assert (laid.x, laid.y, laid.z) == (Decimal(30), Decimal(20), Decimal(0))


def test_the_dearest_piece_lies_in_the_middle_where_it_can() -> None:
    three = tuple(
        BoxPiece(code, Decimal(50), Decimal(50), Decimal(40), "cylinder", upright=True, price=Decimal(price))
        for code, price in (("A", 5), ("B", 9), ("C", 7))
    )
    laid = lay(three, Inside(Decimal(200), Decimal(60), Decimal(45))).layout[1]
    assert laid.x + laid.length / 2 == Decimal(100)


def test_a_jar_never_lies_down_and_the_verdict_tells_that_it_would_have_to() -> None:
    low = Inside(Decimal(200), Decimal(100), Decimal(60), CLEARANCE)
    tall = replace(piece("S01"), length=Decimal(50), width=Decimal(50))
    assert lay((tall, piece("B01")), low).proof == "none as boxes"
    assert only_lying((tall, piece("B01")), low, stacked=False, searches=Searches()) == ("S01",)
    assert too_large((tall, piece("B01")), low) == ("S01",)


def test_where_lying_down_does_not_help_no_piece_is_named() -> None:
    tiny = Inside(Decimal(60), Decimal(60), Decimal(60))
    assert only_lying(pieces("S01 B01"), tiny, stacked=False, searches=Searches()) == ()
    assert only_lying(pieces("B01"), tiny, stacked=False, searches=Searches()) == ()


def test_above_another_only_when_stacked() -> None:
    inside = Inside(Decimal(90), Decimal(60), Decimal(60))
    both = pieces("B01 B02")
    assert not lay(both, replace(inside, height=Decimal(57))).fits
    stacked = lay(both, replace(inside, height=Decimal(57)), stacked=True)
    assert stacked.fits
    assert above_another(both, stacked.layout)
    assert faults(both, replace(inside, height=Decimal(57)), stacked) == []


def test_nothing_heavier_than_the_rule_lies_on_a_fragile_piece() -> None:
    glass = BoxPiece("G", Decimal(50), Decimal(50), Decimal(20), upright=True, fragile=True, weight=Decimal(40))
    stone = BoxPiece("S", Decimal(50), Decimal(50), Decimal(20), upright=True, weight=Decimal(90))
    inside = Inside(Decimal(50), Decimal(50), Decimal(40))
    verdict = lay((glass, stone), inside, stacked=True, most_on_fragile=Decimal(50))
    assert verdict.fits
    assert faults((glass, stone), inside, verdict, Decimal(50)) == []
    both_fragile = (glass, replace(stone, fragile=True), replace(glass, code="H", weight=Decimal(60)))
    assert not lay(both_fragile, replace(inside, height=Decimal(60)), stacked=True, most_on_fragile=Decimal(50)).fits
    assert lay(both_fragile, replace(inside, height=Decimal(60)), stacked=True, most_on_fragile=Decimal(90)).fits


def test_the_smallest_box_holds_every_variant() -> None:
    insides = tuple(map(box, ("L", "P", "M", "S")))
    assert smallest((pieces("B02 L01 M01"),), insides) == 1
    assert smallest((pieces("B01 L01 M01"), pieces("B01 L01 U01")), insides) == 3
    assert smallest((pieces("X01 X02 C01 U01"),), insides) is None
    assert smallest((pieces("X01"), pieces("B01")), ()) is None


def test_nothing_to_lay_leaves_the_whole_box() -> None:
    verdict = lay((), box("S"))
    assert verdict == Verdict(True, "found", (), Decimal(0), box("S").sides)


def round_or_not(rng: random.Random, number: int) -> BoxPiece:
    """Draw a piece of any kind, with tenths of a millimetre."""
    length, width, height = (Decimal(rng.randint(150, 900)) / 10 for _ in range(3))
    code, weight = f"{number}", Decimal(rng.randint(10, 300))
    match rng.choice(("box", "box", "jar", "tube", "ball")):
        case "jar":
            return BoxPiece(code, length, length, height, "cylinder", upright=True, fragile=True, weight=weight)
        case "tube":
            return BoxPiece(code, length, length, height, "cylinder", weight=weight)
        case "ball":
            return BoxPiece(code, length, length, length, "ball", weight=weight)
    return BoxPiece(code, length, width, height, upright=rng.random() < 0.3, weight=weight, price=Decimal(number))


@pytest.mark.parametrize("stacked", [False, True])
def test_every_layout_holds_on_the_true_shapes(stacked: bool) -> None:
    """Blocks, jars, tubes and balls of all sizes: whatever is found is looked at by an independent checker."""
    rng = random.Random(f"shapes {stacked}")
    found = 0
    for _ in range(150):
        some = tuple(round_or_not(rng, number) for number in range(rng.randint(1, 6)))
        volume = float(sum(piece.volume for piece in some))
        side = Decimal(round((volume / rng.uniform(0.3, 0.8)) ** (1 / 3)))
        inside = Inside(side * Decimal("1.3"), side, side * Decimal("0.9"), Decimal(1))
        verdict = lay(some, inside, stacked=stacked, most_on_fragile=Decimal(100))
        if verdict.fits:
            found += 1
            assert faults(some, inside, verdict, Decimal(100) if stacked else None) == []
            assert stacked or not above_another(some, verdict.layout)
    assert found > 30


def test_nestled_jars_hold_on_the_true_shapes() -> None:
    rng = random.Random("jars")
    found = 0
    for _ in range(40):
        jars = tuple(
            BoxPiece(f"{n}", width, width, Decimal(60), "cylinder", upright=True)
            for n, width in enumerate(Decimal(rng.randint(400, 800)) / 10 for _ in range(rng.randint(2, 5)))
        )
        area = float(sum(jar.length * jar.width for jar in jars))
        side = Decimal(round((area / rng.uniform(0.75, 1.0)) ** 0.5))
        inside = Inside(side, side, Decimal(63), Decimal(1))
        verdict = lay(jars, inside)
        if verdict.fits:
            found += 1
            assert faults(jars, inside, verdict) == []
    assert found > 5


def small() -> st.SearchStrategy[BoxPiece]:
    side = st.integers(10, 60).map(Decimal)
    return st.builds(BoxPiece, st.text("ABC", min_size=1, max_size=2), side, side, side, upright=st.booleans())


@settings(max_examples=30, deadline=None)
@given(
    some=st.lists(small(), min_size=1, max_size=5).map(tuple),
    sides=st.tuples(*[st.integers(30, 130).map(Decimal)] * 3),
    more=st.tuples(*[st.integers(0, 30).map(Decimal)] * 3),
    stacked=st.booleans(),
)
def test_a_larger_inside_never_turns_fits_into_does_not(
    some: tuple[BoxPiece, ...], sides: tuple[Decimal, ...], more: tuple[Decimal, ...], stacked: bool
) -> None:
    inside, larger = Inside(*sides), Inside(*(side + extra for side, extra in zip(sides, more, strict=True)))
    assert lay(some, larger, stacked=stacked).fits or not lay(some, inside, stacked=stacked).fits


@settings(max_examples=30, deadline=None)
@given(
    some=st.lists(small(), min_size=1, max_size=5).map(tuple),
    sides=st.tuples(*[st.integers(30, 130).map(Decimal)] * 3),
    mix=st.randoms(use_true_random=False),
)
def test_the_order_of_the_pieces_changes_neither_verdict_nor_layout(
    some: tuple[BoxPiece, ...], sides: tuple[Decimal, ...], mix: random.Random
) -> None:
    named = tuple(replace(piece, code=f"{number}") for number, piece in enumerate(some))
    verdict, mixed = lay(named, Inside(*sides)), lay(tuple(mix.sample(named, len(named))), Inside(*sides))
    assert verdict.fits == mixed.fits
    assert sorted(verdict.layout, key=lambda laid: laid.code) == sorted(mixed.layout, key=lambda laid: laid.code)


def test_balls_side_by_side_are_circles_from_above() -> None:
    """Two balls of 60 need a square of 30 · 3.4142 = 102.43 seen from above."""
    assert lay((ball("60", "A"), ball("60", "B")), Inside(Decimal("102.5"), Decimal("102.5"), Decimal(60))).fits
    assert not lay((ball("60", "A"), ball("60", "B")), Inside(Decimal("102.4"), Decimal("102.4"), Decimal(60))).fits


@given(st.tuples(*[st.integers(1, 9)] * 3), st.tuples(*[st.integers(1, 9)] * 3), st.booleans())
def test_what_is_too_large_is_what_no_search_lays_alone(
    sides: tuple[int, int, int], room: tuple[int, int, int], upright: bool
) -> None:
    length, width, height = map(Decimal, sides)
    alone = BoxPiece("A", length, width, height, upright=upright)
    length, width, height = map(Decimal, room)
    inside = Inside(length, width, height, Decimal(1))
    assert too_large((alone,), inside) == (() if lay((alone,), inside).fits else ("A",))


def sized(sides: tuple[tuple[Decimal, ...], ...], inside: tuple[Decimal, ...]) -> Verdict:
    """Return the verdict on blocks of these sides, the last one round and standing."""
    made = [BoxPiece(f"P{at}", each[0], each[1], each[2], "box") for at, each in enumerate(sides)]
    return lay((*made[:-1], replace(made[-1], shape="cylinder", upright=True)), Inside(inside[0], inside[1], inside[2]))


@settings(max_examples=60)
@given(
    st.lists(st.tuples(*[st.integers(40, 260)] * 2, st.integers(40, 150)), min_size=2, max_size=4),
    st.tuples(*[st.integers(200, 420)] * 2, st.integers(100, 200)),
)
def test_parts_of_an_inch_are_laid_as_as_many_millimetres_would_be(
    sides: list[tuple[int, int, int]], inside: tuple[int, int, int]
) -> None:
    """A sixty-fourth of an inch is 0.396875 mm exactly: what fits does not depend on the unit."""
    inch = Decimal("25.4") / 64
    in_inches = sized(
        tuple(tuple(side * inch for side in each) for each in sides), tuple(side * inch for side in inside)
    )
    whole = sized(tuple(tuple(map(Decimal, each)) for each in sides), tuple(map(Decimal, inside)))
    assert (in_inches.fits, in_inches.proof) == (whole.fits, whole.proof)


@pytest.mark.parametrize("third", ["33.333333333333333333333333333333", "33.3333333333333335", "33.3333333"])
def test_sides_of_many_digits_take_no_more_than_others_and_are_never_taken_for_less(third: str) -> None:
    """Three thirds, each rounded up, do not go into a hundred; into a hair more they do."""
    row = ((Decimal(third), Decimal(50), Decimal(20)),) * 3
    pieces = tuple(BoxPiece(f"P{at}", *each, "box", upright=True) for at, each in enumerate(row))
    began = time.process_time()
    assert lay(pieces, Inside(Decimal("100.01"), Decimal(50), Decimal(20))).fits
    assert not lay(pieces, Inside(Decimal("99.99"), Decimal(50), Decimal(20))).fits
    assert time.process_time() - began < 2
    for laid in lay(pieces, Inside(Decimal("100.01"), Decimal(50), Decimal(20))).layout:
        assert laid.length >= Decimal(third) or laid.width >= Decimal(third)
