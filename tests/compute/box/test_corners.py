"""The quick way for many pieces: sound where it finds something."""

import random
from itertools import permutations

import pytest

from listkit.compute.box import ENDLESS, Block, Effort, Vector
from listkit.compute.box.arrange import fill_corners
from tests.compute.packing_check import crushed, is_sound
from tests.compute.packing_instances import blocks_of, drawn


@pytest.mark.parametrize(
    ("count", "sides", "room"), [(27, (3, 3, 3), (10, 10, 10)), (12, (86, 58), (270, 240)), (16, (1, 2, 3), (4, 4, 6))]
)
def test_many_alike_are_laid_in_order(count: int, sides: Vector, room: Vector) -> None:
    """By hand: 27 cubes of 3 go into 10 in threes; 3 x 4 bars; 96 of 96."""
    blocks = blocks_of(*[sides] * count)
    spots = fill_corners(blocks, room, Effort(ENDLESS))
    assert spots is not None
    assert is_sound(blocks, room, spots)


def test_every_layout_found_is_sound_and_keeps_the_rule_of_the_fragile() -> None:
    found = 0
    for instance in drawn("corners", 200):
        spots = fill_corners(instance.blocks, instance.room, Effort(ENDLESS))
        if spots is not None:
            found += 1
            assert is_sound(instance.blocks, instance.room, spots), instance
            assert not crushed(instance.blocks, spots), instance
    assert found > 40


def test_a_block_without_a_pose_has_no_place() -> None:
    assert fill_corners((Block(()),), (10, 10), Effort(ENDLESS)) is None


def test_the_same_blocks_are_laid_the_same_way() -> None:
    rng = random.Random("same")
    sides = [tuple(rng.randint(10, 40) for _ in range(3)) for _ in range(10)]
    blocks = tuple(Block(tuple(sorted(set(permutations(each))))) for each in sides)
    first = fill_corners(blocks, (90, 90, 90), Effort(ENDLESS))
    assert first is not None
    assert fill_corners(blocks, (90, 90, 90), Effort(ENDLESS)) == first
