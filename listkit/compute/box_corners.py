"""Many pieces: each goes to the lowest, foremost, leftmost corner that those before it have left.

Quick and often right, never a proof: a few orders of the pieces are tried, always the same ones.
"""

from collections.abc import Callable
from math import prod

from listkit.compute.box_blocks import Block, Size, Spot

_ORDERS: tuple[Callable[[Block], tuple[int, ...]], ...] = (
    lambda block: (-prod(block.poses[0]),),
    lambda block: (-max(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-min(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-block.poses[0][-1], -prod(block.poses[0])),
)


def fill_corners(blocks: tuple[Block, ...], room: Size) -> tuple[Spot, ...] | None:
    """Return spots in block order when one of the orders fits everything in, else None."""
    if not all(block.poses for block in blocks):
        return None
    for rank in _ORDERS:
        keys = [(not block.heavy, rank(block)) for block in blocks]
        ranked = sorted(range(len(blocks)), key=keys.__getitem__)
        for turn in (False, True):
            spots = _fill([blocks[index] for index in ranked], room, turn=turn)
            if spots is not None:
                found = dict(zip(ranked, spots, strict=True))
                return tuple(found[index] for index in range(len(blocks)))
    return None


def _fill(blocks: list[Block], room: Size, *, turn: bool) -> list[Spot] | None:
    """Place the blocks in this order, their poses as preferred or the last first."""
    laid: list[tuple[Block, Spot]] = []
    for block in blocks:
        spot = _first_place(block, laid, room, block.poses[::-1] if turn else block.poses)
        if spot is None:
            return None
        laid.append((block, spot))
    return [spot for _, spot in laid]


def _first_place(block: Block, laid: list[tuple[Block, Spot]], room: Size, poses: tuple[Size, ...]) -> Spot | None:
    for corner in _corners([spot for _, spot in laid], len(room)):
        for pose in poses:
            if all(at + side <= most for at, side, most in zip(corner, pose, room, strict=True)):
                spot = Spot(corner, pose)
                if all(_agree(block, spot, other, its) for other, its in laid):
                    return spot
    return None


def _corners(spots: list[Spot], axes: int) -> list[Size]:
    """Return where a corner may go: behind, beside and on every spot, pushed back as far as it is free."""
    corners = {(0,) * axes}
    for spot in spots:
        for axis in range(axes):
            corner = list(spot.corner)
            corner[axis] += spot.size[axis]
            corners.add(tuple(corner))
            for other in range(axes):
                if other != axis:
                    pushed = list(corner)
                    pushed[other] = _pushed_back(pushed, other, spots)
                    corners.add(tuple(pushed))
    return sorted(corners, key=lambda corner: corner[::-1])


def _pushed_back(corner: list[int], axis: int, spots: list[Spot]) -> int:
    """Return how far back a point can go along an axis before it meets a spot or the wall."""
    in_the_way = (
        spot.corner[axis] + spot.size[axis]
        for spot in spots
        if spot.corner[axis] + spot.size[axis] <= corner[axis]
        and all(
            spot.corner[other] <= at < spot.corner[other] + spot.size[other]
            for other, at in enumerate(corner)
            if other != axis
        )
    )
    return max(in_the_way, default=0)


def _agree(block: Block, spot: Spot, other: Block, its: Spot) -> bool:
    """Whether two spots do not overlap, and nothing heavy lies above something fragile."""
    apart = [
        at + side <= there or there + reach <= at
        for at, side, there, reach in zip(spot.corner, spot.size, its.corner, its.size, strict=True)
    ]
    if any(apart[:2]):
        return True
    if not apart[-1]:
        return False
    upper, lower = (block, other) if spot.corner[-1] > its.corner[-1] else (other, block)
    return not (upper.heavy and lower.fragile)
