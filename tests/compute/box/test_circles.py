"""True circles and balls against packings whose smallest room is known."""

from fractions import Fraction
from math import sqrt

import pytest

from listkit.compute.box import ENDLESS, Effort, Spot
from listkit.compute.box.circles import Nest, Outline, nestle, sound

RADIUS = 30_000  # thousandths of a millimetre
# Side of the smallest square around equal circles of radius 1: standard, proved results of circle packing.
SQUARES = {2: 2 + sqrt(2), 3: 2 + sqrt(2) * (1 + sqrt(3)) / 2, 4: 4.0, 5: 2 + 2 * sqrt(2)}


def jars(count: int, side: float) -> Nest:
    """Return the question whether `count` circles of radius 30 mm go into a square."""
    form = Outline((2 * RADIUS, 2 * RADIUS), disc=2 * RADIUS)
    return Nest(((form,),) * count, (round(side), round(side)))


def nestled(nest: Nest) -> tuple[Spot, ...] | None:
    """Return what is found, however long that takes."""
    return nestle(nest, Effort(ENDLESS))


def distances_kept(spots: tuple[Spot, ...]) -> bool:
    """Whether circles are apart, reckoned from their centres in exact fractions."""
    centres = [[Fraction(2 * at + side, 2) for at, side in zip(s.corner, s.size, strict=True)] for s in spots]
    return all(
        sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) >= (2 * RADIUS) ** 2
        for index, one in enumerate(centres)
        for other in centres[:index]
    )


@pytest.mark.parametrize(("count", "published"), [(2, "3.4142"), (3, "3.9319"), (4, "4.0000"), (5, "4.8284")])
def test_equal_circles_go_into_the_smallest_square_and_into_none_smaller(count: int, published: str) -> None:
    side = SQUARES[count] * RADIUS
    assert f"{SQUARES[count]:.4f}" == published
    spots = nestled(jars(count, side + 20))  # a fiftieth of a millimetre more
    assert spots is not None
    assert distances_kept(spots)
    assert max(spot.corner[axis] + 2 * RADIUS for spot in spots for axis in (0, 1)) <= round(side + 20)
    assert nestled(jars(count, side - 20)) is None


def test_two_balls_go_into_a_cube_along_its_diagonal() -> None:
    """By hand: radius 1, centres 2 apart along the space diagonal, so the side is 2 + 2/√3 = 3.1547."""
    ball = Outline((2 * RADIUS,) * 3, ball=2 * RADIUS)
    side = round((2 + 2 / sqrt(3)) * RADIUS)
    spots = nestled(Nest(((ball,),) * 2, (side + 20,) * 3))
    assert spots is not None
    assert distances_kept(spots)
    assert nestled(Nest(((ball,),) * 2, (side - 20,) * 3)) is None


def test_four_balls_lie_in_every_other_corner_of_a_cube() -> None:
    """By hand: centres form a regular tetrahedron in a cube of edge √2, so the side is 2 + √2 = 3.4142."""
    ball = Outline((2 * RADIUS,) * 3, ball=2 * RADIUS)
    side = round((2 + sqrt(2)) * RADIUS)
    spots = nestled(Nest(((ball,),) * 4, (side + 30,) * 3))
    assert spots is not None
    assert distances_kept(spots)


def test_a_circle_beside_a_corner_may_overlap_its_bounding_block() -> None:
    """A square of 50 in a corner and a circle of radius 30 in the opposite one: 50 + 30 + 30/√2 = 101.213."""
    forms = ((Outline((50_000, 50_000)),), (Outline((60_000, 60_000), disc=60_000),))
    assert nestled(Nest(forms, (101_230, 101_230))) is not None
    assert nestled(Nest(forms, (101_190, 101_190))) is None


def test_a_ball_may_lean_over_the_rim_of_a_low_cylinder() -> None:
    """By hand: radius 30 above a rim 10 high beside it: √(30² - 20²) = 22.36 from the rim instead of 30."""
    tin, ball = Outline((60_000, 60_000, 10_000), disc=60_000), Outline((60_000,) * 3, ball=60_000)
    length = round(60_000 + sqrt(500) * 1000 + 30_000)
    assert nestled(Nest(((tin,), (ball,)), (length + 20, 60_000, 60_000))) is not None
    assert nestled(Nest(((tin,), (ball,)), (length - 20, 60_000, 60_000))) is None


def test_a_heavy_ball_does_not_lean_over_something_fragile() -> None:
    tin, ball = Outline((60_000, 60_000, 10_000), disc=60_000), Outline((60_000,) * 3, ball=60_000)
    forbidden = frozenset({(0, 1)})
    assert nestled(Nest(((tin,), (ball,)), (115_000, 60_000, 60_000), forbidden)) is None
    assert nestled(Nest(((tin,), (ball,)), (120_010, 60_000, 60_000), forbidden)) is not None


def test_overlaps_are_seen_to_the_last_unit() -> None:
    """3-4-5: circles of radius 25 with centres 30 and 40 apart touch; a unit nearer they overlap."""
    form = Outline((50, 50), disc=50)
    nest = Nest(((form,), (form,)), (200, 200))
    assert sound(nest, (form, form), (Spot((0, 0), (50, 50)), Spot((30, 40), (50, 50))))
    assert not sound(nest, (form, form), (Spot((0, 0), (50, 50)), Spot((30, 39), (50, 50))))


def test_what_has_more_area_than_the_room_is_not_even_tried() -> None:
    assert nestled(Nest(((Outline((10, 10)),), (Outline((10, 10), disc=10),)), (13, 13))) is None


def test_the_same_question_gets_the_same_answer() -> None:
    side = SQUARES[3] * RADIUS + 500
    assert nestled(jars(3, side)) == nestled(jars(3, side))


def test_two_heavy_fragile_jars_that_may_go_neither_way_above_each_other_have_no_place() -> None:
    """Beside each other there is too little room, and either above the other is forbidden."""
    jar = Outline((100, 100, 50), disc=100)
    assert nestled(Nest(((jar,), (jar,)), (175, 110, 200), frozenset({(0, 1), (1, 0)}))) is None
