"""Nothing round floats: what is raised rests on the floor or on others under its middle."""

import random
from decimal import Decimal
from itertools import product
from math import atan2, pi

import pytest

from listkit.compute.box import Spot
from listkit.compute.box.circles import Nest, Outline, at_rest
from listkit.compute.box.fit import BoxPiece, Inside, Laid, lay

Placed = tuple[BoxPiece, Laid]


def within(placed: Placed, x: float, y: float) -> bool:
    """Whether a point seen from above is over the true shape."""
    piece, laid = placed
    left, front, length, width = map(float, (laid.x, laid.y, laid.length, laid.width))
    if piece.shape == "cylinder" and laid.length == laid.width and laid.height == piece.height:
        return (x - left - length / 2) ** 2 + (y - front - width / 2) ** 2 <= (length / 2) ** 2
    return left <= x <= left + length and front <= y <= front + width


def floats(placed: Placed, others: list[Placed]) -> bool:
    """Whether a raised piece has nothing under its middle, looked at point by point of a fine grid."""
    _, laid = placed
    if laid.z == 0:
        return False
    below = [rival for rival in others if abs(rival[1].z + rival[1].height - laid.z) < Decimal("0.02")]
    x, y, length, width = map(float, (laid.x, laid.y, laid.length, laid.width))
    grid = [(x + length * (i + 0.5) / 40, y + width * (j + 0.5) / 40) for i, j in product(range(40), repeat=2)]
    held = [at for at in grid if within(placed, *at) and any(within(rival, *at) for rival in below)]
    angles = sorted(atan2(v - y - width / 2, u - x - length / 2) for u, v in held)
    gaps = [
        after - before for before, after in zip(angles, [*angles[1:], *(a + 2 * pi for a in angles[:1])], strict=True)
    ]
    return not held or max(gaps) > pi + 0.4  # a grid does not see the last half millimetre


def drawn(rng: random.Random, number: int) -> BoxPiece:
    length, width, height = (Decimal(rng.randint(25, 70)) for _ in range(3))
    if rng.random() < 0.6:
        return BoxPiece(f"{number}", length, length, height, "cylinder", upright=True)
    return BoxPiece(f"{number}", length, width, height)


def test_stacked_jars_rest_on_the_floor_or_on_others_under_their_middle() -> None:
    rng, raised = random.Random("rest"), 0
    for _ in range(80):
        some = tuple(drawn(rng, number) for number in range(rng.randint(2, 5)))
        volume = float(sum(piece.volume for piece in some))
        side = Decimal(round((volume / rng.uniform(0.35, 0.75)) ** (1 / 3)))
        verdict = lay(some, Inside(side, side, side * Decimal("1.2")), stacked=True)
        placed = list(zip(some, verdict.layout, strict=True)) if verdict.fits else []
        raised += sum(piece.shape == "cylinder" and laid.z > 0 for piece, laid in placed)
        assert not [this for this in placed if this[0].shape == "cylinder" and floats(this, placed)]
    assert raised > 5


JAR = Outline((60, 60, 40), disc=60)
SLAB = Outline((60, 60, 10))
BALL = Outline((60, 60, 60), ball=60)


def rested(*pieces: tuple[Outline, tuple[int, int, int]]) -> list[int] | None:
    """Return how high each comes to lie."""
    outlines = [outline for outline, _ in pieces]
    spots = [Spot(corner, outline.size) for outline, corner in pieces]
    lowered = at_rest(Nest(tuple((outline,) for outline in outlines), (500, 500, 500)), outlines, spots)
    return None if lowered is None else [spot.corner[2] for spot in lowered]


def test_a_piece_in_the_air_comes_down_to_the_floor_or_upon_what_is_there() -> None:
    assert rested((JAR, (0, 0, 120))) == [0]
    assert rested((SLAB, (0, 0, 0)), (JAR, (10, 0, 120))) == [0, 10]
    assert rested((SLAB, (0, 0, 30)), (JAR, (10, 0, 120))) == [0, 10]


@pytest.mark.parametrize(("left", "held"), [(29, True), (30, True), (31, False)])
def test_half_of_a_jar_may_stand_over_an_edge_and_no_more(left: int, held: bool) -> None:
    assert rested((SLAB, (0, 0, 0)), (JAR, (left, 0, 10))) == ([0, 10] if held else None)


def test_a_jar_may_bridge_two_pieces_of_one_height() -> None:
    assert rested((SLAB, (0, 0, 0)), (SLAB, (80, 0, 0)), (JAR, (40, 0, 10))) == [0, 0, 10]
    lower = Outline((60, 60, 9))
    assert rested((SLAB, (0, 0, 0)), (lower, (80, 0, 0)), (JAR, (40, 0, 10))) is None


def test_the_corner_of_a_round_ones_block_holds_nothing() -> None:
    """The jar below ends 30 from its middle; the block's corner at 42 is air, so the small one passes it."""
    small = Outline((10, 10, 10), disc=10)
    assert rested((JAR, (0, 0, 0)), (small, (52, 52, 40))) == [0, 0]


def test_a_ball_rests_in_the_hollow_of_four_and_falls_off_one() -> None:
    four = [(BALL, (x, y, 0)) for x in (0, 60) for y in (0, 60)]
    fifth = rested(*four, (BALL, (30, 30, 90)))
    assert fifth is not None
    assert fifth[-1] == 43  # 60/√2 = 42.43 above those below, in whole units
    assert rested(four[0], (BALL, (30, 0, 90))) is None
    assert rested(four[0], (BALL, (0, 0, 90))) == [0, 60]
