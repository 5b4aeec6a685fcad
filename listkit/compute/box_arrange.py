"""From pieces in whole units to an arrangement in a room: which search is asked in which order.

First what pleases, then what is exact: neat rows of flat pieces; side by side in any way; with as few pieces
stood on edge as possible; above one another where that is allowed; and round pieces nestled as true circles.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import prod
from typing import Literal

from listkit.compute.box_blocks import Block, Outcome, Size, Spot
from listkit.compute.box_circles import Form, Nest, nestle
from listkit.compute.box_corners import fill_corners
from listkit.compute.box_layout import in_rows, spread
from listkit.compute.box_pieces import Proof, Solid, poses
from listkit.compute.box_search import place

MOST_EXACT = 8  # pieces; beyond, a search may end without an answer
_MOST_STEPS = 1_000_000  # about a minute; of 10,000 tight boxes drawn at random the hardest took 260,000
_MOST_WORK = 200_000  # steps of a search without promise, times pairs of pieces
_MOST_ROUND = 12  # pieces; beyond, true circles are not tried
_FINE = 100  # circles are placed in hundredths of a unit


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The answer, spots in the order of the solids; they count in units of which `grain` make one of the room's."""

    proof: Proof
    spots: tuple[Spot, ...] = ()
    grain: int = 1


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether it can be done and how: on the floor ("side by side"), "stacked", or as "circles"; not yet pleasing."""

    way: Literal["side by side", "stacked", "circles", "no"]
    sure: bool = True
    spots: tuple[Spot, ...] = ()


@lru_cache(maxsize=1 << 14)
def decide(solids: tuple[Solid, ...], room: Size, stacked: bool) -> Decision:
    """Return whether `solids` go into `room`; a pure function, remembered, so that alike variants share a search.

    Side by side only footprints count, and the higher a block stands, the smaller its footprint: so the smallest
    footprints decide. The dearest makes no difference here; leave it unmarked.
    """
    if min(room) <= 0:
        return Decision("no")
    ways = [poses(solid, room[2]) for solid in solids]
    if not all(ways):
        return Decision("no")
    outcome = _on_the_floor(tuple(way[-1] for way in ways), room)
    if outcome.spots is not None:
        return Decision("side by side", spots=outcome.spots)
    if stacked:
        blocks = (Block(way, (), solid.fragile, solid.heavy) for solid, way in zip(solids, ways, strict=True))
        outcome = _search(tuple(blocks), room)
        if outcome.spots is not None:
            return Decision("stacked", spots=outcome.spots)
    nested = _nested(solids, room, stacked=stacked)
    return Decision("circles", spots=nested) if nested is not None else Decision("no", sure=outcome.sure)


@lru_cache(maxsize=1 << 14)
def arrange(solids: tuple[Solid, ...], room: Size, stacked: bool) -> Arrangement:
    """Return how `solids` lie in `room`, laid as a careful hand would; pure and remembered like `decide`."""
    if not solids:
        return Arrangement("found")
    decision = decide(tuple(replace(solid, dearest=False) for solid in solids), room, stacked)
    if decision.way == "side by side":
        return Arrangement("found", _laid_out(solids, room, decision.spots))
    if decision.way == "stacked":
        return Arrangement("found", spread(decision.spots, room))
    if decision.way == "circles":
        return Arrangement("found", decision.spots, _FINE)
    return Arrangement("none as boxes" if decision.sure else "not found")


def _laid_out(solids: tuple[Solid, ...], room: Size, spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Return neat rows of flat pieces, or as little stood on edge as possible; `spots` fit with all of it stood."""
    ways = [_standings(solid, room[2]) for solid in solids]
    flat = tuple(way[0] for way in ways)
    neat = _in_rows(solids, flat, room)
    if neat is not None:
        return neat
    least = tuple(way[-1] for way in ways)
    sizes = flat
    if flat != least:
        outcome = _on_the_floor(flat, room)
        if outcome.spots is None:
            sizes = _flattest(solids, ways, room)
            outcome = _on_the_floor(sizes, room) if sizes != least else Outcome(spots, sure=True)
        spots = outcome.spots or spots
    return _in_rows(solids, sizes, room) or _stood(spread(spots, room[:2]), sizes)


def _standings(solid: Solid, tallest: int) -> tuple[Size, ...]:
    """Return one pose for each height it may have, the flattest first."""
    by_height = {pose[2]: pose for pose in reversed(poses(solid, tallest))}
    return tuple(by_height[height] for height in sorted(by_height))


def _flattest(solids: tuple[Solid, ...], ways: list[tuple[Size, ...]], room: Size) -> tuple[Size, ...]:
    """Return sizes that fit with as much lying flat as does, tried piece by piece, the dearest first."""
    sizes = [way[-1] for way in ways]
    for index in sorted(range(len(ways)), key=lambda index: (not solids[index].dearest, -prod(ways[index][0][:2]))):
        for size in ways[index][:-1]:
            tried = (*sizes[:index], size, *sizes[index + 1 :])
            if _on_the_floor(tried, room).spots is not None:
                sizes = list(tried)
                break
    return tuple(sizes)


def _on_the_floor(sizes: tuple[Size, ...], room: Size) -> Outcome:
    """Search on two axes, every footprint either way round."""
    turns = (((length, width), (width, length)) for length, width, _ in sizes)
    return _search(tuple(Block(tuple(dict.fromkeys(turn))) for turn in turns), room[:2])


def _search(blocks: tuple[Block, ...], room: Size) -> Outcome:
    if len(blocks) <= MOST_EXACT:
        return place(blocks, room, most_steps=_MOST_STEPS)
    spots = fill_corners(blocks, room)
    return Outcome(spots, sure=True) if spots else place(blocks, room, most_steps=_MOST_WORK // len(blocks) ** 2)


def _in_rows(solids: tuple[Solid, ...], sizes: tuple[Size, ...], room: Size) -> tuple[Spot, ...] | None:
    dearest = next((index for index, solid in enumerate(solids) if solid.dearest), None)
    spots = in_rows(tuple((size[0], size[1]) for size in sizes), (room[0], room[1]), dearest)
    return None if spots is None else _stood(spots, sizes)


def _stood(spots: tuple[Spot, ...], sizes: tuple[Size, ...]) -> tuple[Spot, ...]:
    """Give footprints their height back."""
    return tuple(Spot((*spot.corner, 0), (*spot.size, size[2])) for spot, size in zip(spots, sizes, strict=True))


def _nested(solids: tuple[Solid, ...], room: Size, *, stacked: bool) -> tuple[Spot, ...] | None:
    """Try the true circles, if there are any; what is found is moved to the middle of the room."""
    if len(solids) > _MOST_ROUND or not any(solid.round_standing for solid in solids):
        return None
    fine = tuple(side * _FINE for side in room)
    forms = tuple(_forms(solid, room[2], stacked=stacked) for solid in solids)
    if not all(forms):
        return None
    forbidden = frozenset(
        (below, above)
        for below, lower in enumerate(solids)
        for above, upper in enumerate(solids)
        if stacked and below != above and lower.fragile and upper.heavy
    )
    spots = nestle(Nest(forms, fine if stacked else fine[:2], forbidden))
    if spots is None:
        return None
    if not stacked:
        spots = tuple(map(_with_height, spots, solids))
    return _centred(spots, fine)


def _forms(solid: Solid, tallest: int, *, stacked: bool) -> tuple[Form, ...]:
    """Return circles first; of the straight ways all that may help: none above another, the least footprint."""
    forms = [_form(solid, pose, stacked=stacked) for pose in poses(solid, tallest)]
    if not stacked and forms:
        least = min(prod(form.size) for form in forms)
        forms = [form for form in forms if form.disc or prod(form.size) == least]
    return tuple(sorted(dict.fromkeys(forms), key=lambda form: not (form.disc or form.ball)))


def _form(solid: Solid, pose: Size, *, stacked: bool) -> Form:
    size = tuple(side * _FINE for side in (pose if stacked else pose[:2]))
    if solid.ball and stacked:
        return Form(size, ball=size[0])
    standing = pose[2] == solid.sides[2] and pose[0] == pose[1]
    return Form(size, disc=size[0] if solid.round_standing and standing else 0)


def _with_height(spot: Spot, solid: Solid) -> Spot:
    """Give a footprint the height of the pose it came from: the side that it does not show."""
    height = sum(solid.sides) * _FINE - sum(spot.size)
    return Spot((*spot.corner, 0), (*spot.size, height))


def _centred(spots: tuple[Spot, ...], room: Size) -> tuple[Spot, ...]:
    ends = [max(spot.corner[axis] + spot.size[axis] for spot in spots) for axis in (0, 1)]
    shift = [(room[axis] - ends[axis] - min(spot.corner[axis] for spot in spots)) // 2 for axis in (0, 1)]
    return tuple(
        Spot((spot.corner[0] + shift[0], spot.corner[1] + shift[1], spot.corner[2]), spot.size) for spot in spots
    )
