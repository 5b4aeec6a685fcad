"""How a variant's pieces lie in its box, asked when it is wanted: by checks, by `show`, by drawings.

The catalog leaves it out, since a search takes longer than all other figures together. Variants with the
same sides share one search.
"""

from collections.abc import Iterable

from listkit.compute.box_fit import lay, smallest_box
from listkit.compute.box_pieces import Inside, Verdict
from listkit.compute.box_pieces import Piece as Solid
from listkit.compute.catalog import Piece
from listkit.model.packaging import GiftBox
from listkit.model.settings import Packing


def verdict_in(box: GiftBox, pieces: Iterable[Piece], packing: Packing, *, stacked: bool) -> Verdict:
    """Return whether the pieces go into the box, how that is known, and where each lies."""
    most = packing.most_on_fragile.grams
    return lay(single_pieces(pieces), inside_of(box, packing), stacked=stacked, most_on_fragile=most)


def smallest_for(
    variants: Iterable[tuple[Piece, ...]], boxes: tuple[GiftBox, ...], packing: Packing, *, stacked: bool
) -> GiftBox | None:
    """Return the smallest box, by its inside, that holds every variant; None when none does."""
    insides = tuple(inside_of(box, packing) for box in boxes)
    found = smallest_box(
        tuple(single_pieces(pieces) for pieces in variants),
        insides,
        stacked=stacked,
        most_on_fragile=packing.most_on_fragile.grams,
    )
    return None if found is None else boxes[found]


def inside_of(box: GiftBox, packing: Packing) -> Inside:
    """Return the inside of a box with the shop's clearance, in mm."""
    return Inside(*box.inside.sides, packing.clearance.mm)


def single_pieces(pieces: Iterable[Piece]) -> tuple[Solid, ...]:
    """Return every single piece as it stands, twice where there are two, in the order of the contents."""
    return tuple(
        Solid(
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
