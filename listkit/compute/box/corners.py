"""Many pieces: each goes to the lowest, foremost, leftmost corner that those before it have left.

Quick and often right, never a proof: a few orders of the pieces are tried, always the same ones.
"""

from collections.abc import Callable
from math import prod

from listkit.compute.box import Block, Effort, Spot, Vector

_ORDERS: tuple[Callable[[Block], tuple[int, ...]], ...] = (
    lambda block: (-prod(block.poses[0]),),
    lambda block: (-max(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-min(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-block.poses[0][-1], -prod(block.poses[0])),
)


def fill_corners(blocks: tuple[Block, ...], room: Vector, effort: Effort) -> tuple[Spot, ...] | None:
    """Return spots in block order when one of the orders fits everything in, else None.

    Raises:
        SpentError: the effort ended first.
    """
    if not all(block.poses for block in blocks):
        return None
    for rank in _ORDERS:
        keys = [(not block.heavy, rank(block)) for block in blocks]
        ranked = sorted(range(len(blocks)), key=keys.__getitem__)
        for turn in (False, True):
            spots = _fill([blocks[index] for index in ranked], room, effort, turn=turn)
            if spots is not None:
                spot_of = dict(zip(ranked, spots, strict=True))
                return tuple(spot_of[index] for index in range(len(blocks)))
    return None


def _fill(blocks: list[Block], room: Vector, effort: Effort, *, turn: bool) -> list[Spot] | None:
    """Place the blocks in this order, their poses as preferred or the last first."""
    laid: list[tuple[Block, Spot]] = []
    for block in blocks:
        effort.spend(3 * len(laid) ** 2)  # so many corners, each held against all
        spot = _first_place(block, laid, room, block.poses[::-1] if turn else block.poses)
        if spot is None:
            return None
        laid.append((block, spot))
    return [spot for _, spot in laid]


def _first_place(block: Block, laid: list[tuple[Block, Spot]], room: Vector, poses: tuple[Vector, ...]) -> Spot | None:
    for corner in _corners([spot for _, spot in laid], len(room)):
        for pose in poses:
            if all(at + side <= most for at, side, most in zip(corner, pose, room, strict=True)):
                spot = Spot(corner, pose)
                if all(_agree(block, spot, *there) for there in laid):
                    return spot
    return None


def _corners(spots: list[Spot], axes: int) -> list[Vector]:
    """Return where a corner may go: behind, beside and on every spot, pushed back as far as it is free."""
    corners = {(0,) * axes}
    for spot in spots:
        for axis in range(axes):
            corner = list(spot.corner)
            corner[axis] += spot.size[axis]
            corners.add(tuple(corner))
            for along in range(axes):
                if along != axis:
                    pushed = list(corner)
                    pushed[along] = _pushed_back(pushed, along, spots)
                    corners.add(tuple(pushed))
    return sorted(corners, key=lambda corner: corner[::-1])


def _pushed_back(corner: list[int], axis: int, spots: list[Spot]) -> int:
    """Return how far back a point can go along an axis before it meets a spot or the wall."""
    in_the_way = (
        spot.corner[axis] + spot.size[axis]
        for spot in spots
        if spot.corner[axis] + spot.size[axis] <= corner[axis]
        and all(
            spot.corner[along] <= at < spot.corner[along] + spot.size[along]
            for along, at in enumerate(corner)
            if along != axis
        )
    )
    return max(in_the_way, default=0)


def _agree(block: Block, spot: Spot, laid_block: Block, laid: Spot) -> bool:
    """Whether two spots do not overlap, and nothing heavy lies above something fragile."""
    apart = [
        at + side <= to or to + its <= at
        for at, side, to, its in zip(spot.corner, spot.size, laid.corner, laid.size, strict=True)
    ]
    if any(apart[:2]):
        return True
    if not apart[-1]:
        return False
    upper, lower = (block, laid_block) if spot.corner[-1] > laid.corner[-1] else (laid_block, block)
    return not (upper.heavy and lower.fragile)
