"""Box fit: do these pieces go into this box, how does a careful hand lay them, and if not, why not?

Up to eight pieces the answer about their bounding boxes is exact: a layout whenever one exists, or the knowledge
that there is none. By default all pieces are seen at first sight, none above another. The same pieces in any
order give the same answer, and pieces that differ only in name share one search.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from math import gcd
from typing import Final

from listkit.compute.box import Spot
from listkit.compute.box.arrange import Arrangement, PieceShape, Proof, Solid
from listkit.compute.box.layout import extent
from listkit.compute.box.searches import Searches
from listkit.compute.catalog import Piece
from listkit.model.fields import Shape
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.settings import Packing
from listkit.units.shown import Measures

SidesInMm = tuple[Decimal, Decimal, Decimal]  # length, width, height in mm


@dataclass(frozen=True, slots=True)
class BoxPiece:
    """One piece to lay: sides in mm as it stands, weight in g, price in the shop's currency.

    A cylinder stands on its round side, its height is the axis. What is `upright` keeps its height vertical.
    """

    code: str
    length: Decimal
    width: Decimal
    height: Decimal
    shape: PieceShape = "box"
    upright: bool = False
    fragile: bool = False
    weight: Decimal = Decimal(0)
    price: Decimal = Decimal(0)

    @property
    def sides(self) -> SidesInMm:
        """Length, width and height as it stands."""
        return self.length, self.width, self.height

    @property
    def volume(self) -> Decimal:
        """Cubic millimetres of its bounding block."""
        return self.length * self.width * self.height


@dataclass(frozen=True, slots=True)
class Inside:
    """The inside of a box in mm; `clearance` is taken once from length, width and height."""

    length: Decimal
    width: Decimal
    height: Decimal
    clearance: Decimal = Decimal(0)

    @property
    def sides(self) -> SidesInMm:
        """Length, width and height of the inside."""
        return self.length, self.width, self.height

    @property
    def volume(self) -> Decimal:
        """Cubic millimetres of the whole inside."""
        return self.length * self.width * self.height

    @property
    def free(self) -> SidesInMm:
        """What the pieces may take: the sides less the clearance."""
        return self.length - self.clearance, self.width - self.clearance, self.height - self.clearance


@dataclass(frozen=True, slots=True)
class Laid:
    """Where a piece lies, in mm from the inside's left-front-bottom corner, and the sides it takes there."""

    code: str
    x: Decimal
    y: Decimal
    z: Decimal
    length: Decimal
    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether the pieces fit, how that is known, and how to lay them (in the order of the pieces).

    `proof` is "found" with a layout; "none as boxes" when every way to lay the bounding boxes was tried, and a
    search with true circles found nothing either; "not found" when there are too many pieces, or too many ways to lay
    them, to try each; "not decided" when all that a command may try was used up before, and `tried` is what was begun.
    `fill_share` is the bounding volumes by the volume of the inside. `spare` is what length, width and height of
    the inside have over the pieces pushed together, in mm, clearance included; zero when they do not fit.
    """

    fits: bool
    proof: Proof
    layout: tuple[Laid, ...]
    fill_share: Decimal
    spare: SidesInMm
    tried: tuple[str, ...] = ()


Pieces = tuple[BoxPiece, ...]
_MOST_UNITS: Final = 5_000_000  # along a room; searches keep a bit for each of them
NONE_SPARE: SidesInMm = (Decimal(0), Decimal(0), Decimal(0))


def lay(
    pieces: Pieces,
    inside: Inside,
    *,
    stacked: bool = False,
    most_on_fragile: Decimal | None = None,
    searches: Searches | None = None,
) -> Verdict:
    """Return whether `pieces` go into `inside`, how that is known, and where each lies.

    Args:
        pieces: every single piece, twice where there are two.
        inside: the box.
        stacked: whether pieces may lie above others, anywhere in the box.
        most_on_fragile: grams; nothing heavier lies above a fragile piece. None: no such rule.
        searches: those of the command; what one command may spend when left out.
    """
    unit, solids, room = _in_units(pieces, inside, most_on_fragile if stacked else None)
    order = sorted(range(len(pieces)), key=lambda index: (solids[index], pieces[index].code, index))
    ordered = tuple(solids[index] for index in order)
    arranged = (searches or Searches()).arrange(ordered, room, stacked=stacked)
    if arranged.proof != "found":
        return Verdict(False, arranged.proof, (), _filled(pieces, inside), NONE_SPARE, tried=arranged.tried)
    unit = unit.scaleb(-2) if arranged.grain > 1 else unit
    spots = dict(zip(order, arranged.spots, strict=True))
    layout = tuple(
        _laid(piece, spots[index], edge=inside.clearance / 2, unit=unit) for index, piece in enumerate(pieces)
    )
    return Verdict(True, "found", layout, _filled(pieces, inside), _spare(arranged, inside, unit))


def judge(
    pieces: Pieces, inside: Inside, searches: Searches, *, stacked: bool, most_on_fragile: Decimal | None = None
) -> Verdict:
    """Return the verdict that `lay` would give, but without a layout and what is spare."""
    _, solids, room = _in_units(pieces, inside, most_on_fragile if stacked else None)
    decision = searches.decide(tuple(solids), room, stacked=stacked)
    return Verdict(decision.way != "no", decision.proof, (), _filled(pieces, inside), NONE_SPARE, tried=decision.tried)


def smallest_box(
    variants: tuple[Pieces, ...],
    insides: tuple[Inside, ...],
    *,
    stacked: bool,
    most_on_fragile: Decimal | None,
    searches: Searches,
) -> int | None:
    """Return the index of the smallest inside, by volume, that holds every variant; None when none surely does.

    Variants that differ only in name, price or by weights that do not matter are looked at once.
    """
    measures = [side for inside in insides for side in (*inside.sides, inside.clearance)]
    measures += [side for variant in variants for piece in variant for side in piece.sides]
    unit = unit_of(*measures)
    unlike = {tuple(sorted(_solids(variant, unit, most_on_fragile if stacked else None))) for variant in variants}
    kinds = sorted({tuple(replace(solid, dearest=False) for solid in solids) for solids in unlike})
    for index in sorted(range(len(insides)), key=lambda index: (insides[index].volume, index)):
        room = _units(insides[index].free, unit)
        if all(searches.decide(solids, room, stacked=stacked).way != "no" for solids in kinds):
            return index
    return None


def too_large(pieces: Pieces, inside: Inside) -> tuple[str, ...]:
    """Return the codes of pieces that do not even go in alone, upright ones standing."""
    length, width, height = inside.free
    floor, room = sorted((length, width)), sorted(inside.free)

    def alone(piece: BoxPiece) -> bool:
        if piece.upright:
            sides = sorted((piece.length, piece.width))
            return piece.height <= height and sides[0] <= floor[0] and sides[1] <= floor[1]
        return all(side <= most for side, most in zip(sorted(piece.sides), room, strict=True))

    return tuple(piece.code for piece in pieces if not alone(piece))


def only_lying(pieces: Pieces, inside: Inside, *, stacked: bool, searches: Searches) -> tuple[str, ...]:
    """Return the codes of upright pieces that would have to lie down for all to fit; none if that would not help.

    Asked when they do not fit: the box is right but for the rule that, say, a jar stands.
    """
    upright = [index for index, piece in enumerate(pieces) if piece.upright]
    relaxed = tuple(replace(piece, upright=False) for piece in pieces)
    if not upright or not judge(relaxed, inside, searches, stacked=stacked).fits:
        return ()
    for index in upright:
        again = (*relaxed[:index], pieces[index], *relaxed[index + 1 :])
        if judge(again, inside, searches, stacked=stacked).fits:
            relaxed = again
    return tuple(pieces[index].code for index in upright if not relaxed[index].upright)


_TRIED: Final = {"side by side": "side by side", "stacked": "above each other", "circles": "as circles"}


def tried_in_words(verdict: Verdict) -> str:
    """Return what was tried before all that a command may try was used up."""
    tried = " and ".join(_TRIED[way] for way in verdict.tried)
    return f"tried {tried}, not to the end" if tried else "not tried, for other boxes had used up what may be tried"


def _filled(pieces: Pieces, inside: Inside) -> Decimal:
    return sum((piece.volume for piece in pieces), Decimal(0)) / inside.volume


def _in_units(
    pieces: Pieces, inside: Inside, most_on_fragile: Decimal | None
) -> tuple[Decimal, list[Solid], tuple[int, int, int]]:
    """Return pieces and room in units, after how many millimetres one of these has."""
    unit = unit_of(*(side for piece in pieces for side in piece.sides), *inside.sides, inside.clearance)
    return unit, _solids(pieces, unit, most_on_fragile), _units(inside.free, unit)


def _solids(pieces: Pieces, unit: Decimal, most_on_fragile: Decimal | None) -> list[Solid]:
    """Return the pieces in units, the dearest marked unless all cost the same."""
    rank = [(piece.price, piece.volume, piece.sides, piece.code) for piece in pieces]
    dearest = max(range(len(pieces)), key=lambda index: rank[index], default=0)
    unlike = len({piece.price for piece in pieces}) > 1
    ruled = most_on_fragile is not None
    return [
        Solid(
            _units(piece.sides, unit, ROUND_CEILING),
            piece.shape,
            piece.upright,
            fragile=piece.fragile and ruled,
            heavy=most_on_fragile is not None and piece.weight > most_on_fragile,
            dearest=unlike and index == dearest,
        )
        for index, piece in enumerate(pieces)
    ]


def _units(sides: SidesInMm, unit: Decimal, rounding: str = ROUND_FLOOR) -> tuple[int, int, int]:
    """Return sides in units: of a room no more than it has, of a piece no less."""
    length, width, height = (int((side / unit).to_integral_value(rounding)) for side in sides)
    return length, width, height


def _laid(piece: BoxPiece, spot: Spot, *, edge: Decimal, unit: Decimal) -> Laid:
    """Return a spot in mm, half the clearance from the left and the front; on the bottom nothing is left free."""
    x, y, z, length, width, height = (Decimal(number) * unit for number in (*spot.corner, *spot.size))
    return Laid(piece.code, x + edge, y + edge, z, length=length, width=width, height=height)


def _spare(arranged: Arrangement, inside: Inside, unit: Decimal) -> SidesInMm:
    if not arranged.spots:
        return inside.sides
    together = extent(arranged.spots, _units(inside.sides, unit))
    if arranged.grain > 1:  # circles nestle: they cannot be pushed together like blocks
        ends = [[spot.corner[axis] + spot.size[axis] for spot in arranged.spots] for axis in range(3)]
        together = tuple(max(ends[axis]) - min(spot.corner[axis] for spot in arranged.spots) for axis in range(3))
    length, width, height = (side - Decimal(need) * unit for side, need in zip(inside.sides, together, strict=True))
    return length, width, height


def decimals(*values: Decimal) -> int:
    """Return how many decimals hold all of `values` exactly, at least one."""
    return max(1, *(-int(value.as_tuple().exponent) for value in values))


def unit_of(*values: Decimal) -> Decimal:
    """Return the length in which all of `values` are counted, so that the longest is at most _MOST_UNITS of it.

    That is the last decimal that any of them has; where they are in fine parts of an inch, a part of the longest length
    that goes into each of them without a rest. Where there is none, as after a division, it is so fine a decimal as can
    be: pieces are rounded up to it and rooms down.

    >>> str(unit_of(Decimal("162"), Decimal("0.5"))), str(unit_of(Decimal("165.1"), Decimal("2.778125")))
    ('0.1', '0.00015875')
    >>> str(unit_of(Decimal("162"), Decimal("33.33333333333333")))
    '0.0001'
    """
    digits, longest = decimals(*values), max(values)
    last = Decimal(1).scaleb(-digits)
    if longest <= last * _MOST_UNITS:
        return last
    whole = [int(Fraction(value) * 10**digits) for value in values]
    times, most = Fraction(gcd(*whole), 10**digits), Fraction(longest)
    if most <= times * _MOST_UNITS:
        while most * 10 <= times * _MOST_UNITS:
            times /= 10
        return Decimal(times.numerator) / times.denominator
    while longest > last * _MOST_UNITS:
        last = last.scaleb(1)
    return last


# How a variant's pieces lie in its box, asked when it is wanted: by checks, by `show`, by drawings.
#
# The catalog leaves it out, since a search takes longer than all other figures together. Variants with the
# same sides share one search.


def verdict_in(
    box: GiftBox, pieces: Iterable[Piece], packing: Packing, *, stacked: bool, searches: Searches
) -> Verdict:
    """Return whether the pieces go into the box, how that is known, and where each lies."""
    most, inside = packing.most_on_fragile.grams, inside_of(box, packing)
    return lay(single_pieces(pieces), inside, stacked=stacked, most_on_fragile=most, searches=searches)


def judged_in(box: GiftBox, pieces: Iterable[Piece], packing: Packing, searches: Searches, *, stacked: bool) -> Verdict:
    """Return the same without a layout and what is spare, which is much quicker."""
    most, inside = packing.most_on_fragile.grams, inside_of(box, packing)
    return judge(single_pieces(pieces), inside, searches, stacked=stacked, most_on_fragile=most)


def smallest_for(
    variants: Iterable[tuple[Piece, ...]],
    boxes: tuple[GiftBox, ...],
    packing: Packing,
    *,
    stacked: bool,
    searches: Searches,
) -> GiftBox | None:
    """Return the smallest box, by its inside, that holds and carries every variant; None when none surely does."""
    kind_of = kinds(packing, stacked=stacked)
    unlike: dict[tuple[int, ...], tuple[Piece, ...]] = {}
    heaviest, limited = Decimal(0), any(box.most_weight is not None for box in boxes)
    for pieces in variants:
        unlike.setdefault(kind_of(pieces), pieces)
        heaviest = max(heaviest, grams_of(pieces)) if limited else heaviest
    strong = tuple(box for box in boxes if box.most_weight is None or heaviest <= box.most_weight.grams)
    index = smallest_box(
        tuple(single_pieces(pieces) for pieces in unlike.values()),
        tuple(inside_of(box, packing) for box in strong),
        stacked=stacked,
        most_on_fragile=packing.most_on_fragile.grams,
        searches=searches,
    )
    return None if index is None else strong[index]


def smallest_alone(
    variants: Iterable[tuple[Piece, ...]],
    boxes: tuple[GiftBox, ...],
    packing: Packing,
    *,
    stacked: bool,
    searches: Searches,
) -> tuple[GiftBox | None, ...]:
    """Return for each variant the smallest box that holds and carries it alone; alike ones are asked once."""
    kind_of, limited = kinds(packing, stacked=stacked), any(box.most_weight is not None for box in boxes)
    known: dict[object, GiftBox | None] = {}
    smallest: list[GiftBox | None] = []
    for pieces in variants:
        kind = (kind_of(pieces), grams_of(pieces) if limited else None)
        if kind not in known:
            known[kind] = smallest_for((pieces,), boxes, packing, stacked=stacked, searches=searches)
        smallest.append(known[kind])
    return tuple(smallest)


def kinds(packing: Packing, *, stacked: bool) -> Callable[[tuple[Piece, ...]], tuple[int, ...]]:
    """Return the function from a variant's pieces to its kind, the same for all that go into the same boxes."""
    numbers: dict[tuple[object, ...], int] = {}
    by_code: dict[str, int] = {}

    def number(item: Item) -> int:
        if item.code not in by_code:
            crushed, heavy = stacked and item.fragile, stacked and item.weight > packing.most_on_fragile
            form = (*item.size.sides, item.shape, item.upright, crushed, heavy)
            by_code[item.code] = numbers.setdefault(form, len(numbers))
        return by_code[item.code]

    return lambda pieces: tuple(sorted([number(piece.item) for piece in pieces for _ in range(piece.quantity)]))


def grams_of(pieces: Iterable[Piece]) -> Decimal:
    """Return what the pieces weigh together."""
    return sum((piece.item.weight.grams * piece.quantity for piece in pieces), Decimal(0))


def inside_of(box: GiftBox, packing: Packing) -> Inside:
    """Return the inside of a box with the shop's clearance, in mm."""
    return Inside(*box.inside.sides, packing.clearance.mm)


def single_pieces(pieces: Iterable[Piece]) -> tuple[BoxPiece, ...]:
    """Return every single piece as it stands, twice where there are two, in the order of the contents."""
    return tuple(
        BoxPiece(
            item.code,
            *item.size.sides,
            shape=item.shape.value,
            upright=item.upright,
            fragile=item.fragile,
            weight=item.weight.grams,
            price=item.retail.amount,
        )
        for piece in pieces
        for item in (piece.item,) * piece.quantity
    )


# How a piece lies in its box: which way a round one points, and the words for it.
#
# A cylinder's height is its axis; where its height equals its diameter it is taken to stand.

LENGTH, WIDTH, HEIGHT = 0, 1, 2
_FLAT, _EDGE, _END = "flat", "on edge", "on end"
_POINTS: Final = {LENGTH: "lying lengthwise", WIDTH: "lying across", HEIGHT: "standing"}


def true_round(item: Item) -> bool:
    """Whether a round piece has the sides of one: a cylinder's length is its width, a ball's sides are all alike."""
    length, width, height = item.size.sides
    if item.shape is Shape.CYLINDER:
        return length == width
    return item.shape is Shape.BALL and length == width == height


def axis_of(item: Item, laid: Laid) -> int | None:
    """Return which way a cylinder's axis points: LENGTH, WIDTH or HEIGHT of the box; None for anything else."""
    if item.shape is not Shape.CYLINDER or not true_round(item):
        return None
    across, _, along = item.size.sides
    taken = (laid.length, laid.width, laid.height)
    for axis in (HEIGHT, LENGTH, WIDTH):
        if taken[axis] == along and all(side == across for at, side in enumerate(taken) if at != axis):
            return axis
    return None


def circle_seen(item: Item, laid: Laid, axis: int) -> bool:
    """Whether it is a circle to one who looks along `axis`."""
    ball = item.shape is Shape.BALL and true_round(item)
    return ball or axis_of(item, laid) == axis


def pose(item: Item, laid: Laid) -> str:
    """Return how it lies, in a word or two: "flat", "on edge", "on end", "standing", "lying across"."""
    if item.shape is Shape.BALL:
        return "as it rolls"
    if item.upright:
        return "standing"
    if (axis := axis_of(item, laid)) is not None:
        return _FLAT if axis == HEIGHT and laid.height < laid.length else _POINTS[axis]
    lowest, _, highest = sorted(item.size.sides)
    if laid.height == lowest:
        return _FLAT
    return _END if laid.height == highest else _EDGE


def lies_at(item: Item, laid: Laid, measures: Measures) -> str:
    """Return where and how a piece lies: "86 × 28 × 58 mm, on edge; 38 mm from the left, 7.8 mm from the front"."""
    sides = measures.sides((laid.length, laid.width, laid.height), rounded=True)
    left, front, up = (measures.length(way, rounded=True) for way in (laid.x, laid.y, laid.z))
    above = f", {up} up" if laid.z else ""
    return f"{sides}, {pose(item, laid)}; {left} from the left, {front} from the front{above}"
