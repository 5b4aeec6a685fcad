"""How pieces lie, in words: which way round ones point, what stands and what lies."""

from decimal import Decimal

import pytest

from listkit.compute.box.fit import HEIGHT, LENGTH, WIDTH, Laid, axis_of, circle_seen, lies_at, pose
from listkit.model.item import Item
from listkit.units.shown import METRIC


def item(size: str, shape: str = "box", upright: str = "no") -> Item:
    row = {"code": "A", "name": "A", "retail": "1", "cost": "1", "weight": "1 g"}
    return Item.model_validate({**row, "size": size, "shape": shape, "upright": upright})


def laid(length: int, width: int, height: int, z: int = 0) -> Laid:
    return Laid("A", Decimal("7.8"), Decimal(5), Decimal(z), Decimal(length), Decimal(width), Decimal(height))


@pytest.mark.parametrize(
    ("sides", "axis", "words"),
    [
        ((18, 18, 70), HEIGHT, "standing"),
        ((70, 18, 18), LENGTH, "lying lengthwise"),
        ((18, 70, 18), WIDTH, "lying across"),
    ],
)
def test_a_tube_points_where_its_length_lies(sides: tuple[int, int, int], axis: int, words: str) -> None:
    tube = item("18 x 18 x 70 mm", "cylinder")
    assert axis_of(tube, laid(*sides)) == axis
    assert pose(tube, laid(*sides)) == words
    assert [look for look in (LENGTH, WIDTH, HEIGHT) if circle_seen(tube, laid(*sides), look)] == [axis]


def test_a_ball_is_a_circle_from_everywhere_and_a_bar_from_nowhere() -> None:
    ball, bar = item("60 x 60 x 60 mm", "ball"), item("86 x 58 x 28 mm")
    assert all(circle_seen(ball, laid(60, 60, 60), look) for look in (LENGTH, WIDTH, HEIGHT))
    assert not any(circle_seen(bar, laid(86, 58, 28), look) for look in (LENGTH, WIDTH, HEIGHT))


@pytest.mark.parametrize(
    ("sides", "words"), [((86, 58, 28), "flat"), ((28, 86, 58), "on edge"), ((28, 58, 86), "on end")]
)
def test_a_bar_lies_flat_on_edge_or_on_end(sides: tuple[int, int, int], words: str) -> None:
    assert pose(item("86 x 58 x 28 mm"), laid(*sides)) == words


def test_a_flat_tin_lies_flat_unless_it_must_stand() -> None:
    assert pose(item("68 x 68 x 25 mm", "cylinder"), laid(68, 68, 25)) == "flat"
    assert pose(item("68 x 68 x 25 mm", "cylinder", "yes"), laid(68, 68, 25)) == "standing"


def test_where_it_lies_is_told_from_the_left_and_the_front() -> None:
    words = "86 × 58 × 28 mm, flat; 7.8 mm from the left, 5 mm from the front"
    assert lies_at(item("86 x 58 x 28 mm"), laid(86, 58, 28), METRIC) == words
    assert lies_at(item("86 x 58 x 28 mm"), laid(86, 58, 28, z=40), METRIC) == f"{words}, 40 mm up"
