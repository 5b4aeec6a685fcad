"""Which search answers: flat rows first, on edge only where needed, stacked only where allowed, circles last."""

import pytest

from listkit.compute.box.arrange import MOST_EXACT, Arrangement, Decision, PieceShape, Solid
from listkit.compute.box.searches import Searches


def decide(solids: tuple[Solid, ...], room: tuple[int, int, int], stacked: bool) -> Decision:
    return Searches().decide(solids, room, stacked=stacked)


def arrange(solids: tuple[Solid, ...], room: tuple[int, int, int], stacked: bool) -> Arrangement:
    return Searches().arrange(solids, room, stacked=stacked)


def solid(length: int, width: int, height: int, shape: PieceShape = "box", *, upright: bool = False) -> Solid:
    return Solid((length, width, height), shape, upright)


BAR, JAR, TIN = solid(86, 58, 28), solid(72, 72, 64, "cylinder", upright=True), solid(68, 68, 25, "cylinder")


def heights(arranged: Arrangement) -> list[int]:
    return [spot.size[2] for spot in arranged.spots]


def test_a_bar_lies_flat_where_there_is_room() -> None:
    assert heights(arrange((BAR, JAR), (200, 120, 67), False)) == [28, 64]


def test_a_bar_stands_on_edge_where_flat_there_is_no_room() -> None:
    """Jar and tin leave a strip of 47 mm: the bar's 28 goes in there, its 58 does not."""
    assert heights(arrange((BAR, JAR, TIN), (159, 119, 67), False)) == [58, 64, 25]


def test_only_as_many_bars_stand_as_must() -> None:
    """By hand: flat side by side 58 + 58 and one on edge 28 fill 144 of the length; three flat need 174."""
    assert sorted(heights(arrange((BAR,) * 3, (144, 86, 60), False))) == [28, 28, 58]


def test_above_another_only_where_it_is_allowed() -> None:
    assert decide((BAR, BAR), (86, 58, 56), False).way == "no"
    stacked = arrange((BAR, BAR), (86, 58, 56), True)
    assert stacked.proof == "found"
    assert sorted(spot.corner[2] for spot in stacked.spots) == [0, 28]


def test_side_by_side_is_preferred_even_where_stacking_is_allowed() -> None:
    assert decide((BAR, BAR), (86, 116, 60), True).way == "side by side"


def test_jars_nestle_as_circles_where_their_squares_do_not_fit() -> None:
    """Two circles of 72 need a square of 36 · 3.4142 = 122.9; their bounding squares need 144 one way."""
    assert decide((JAR, JAR), (123, 123, 64), False).way == "circles"
    assert decide((JAR, JAR), (122, 122, 64), False).way == "no"


def test_blocks_that_do_not_fit_are_proved_not_to_up_to_eight() -> None:
    assert decide((solid(5, 5, 5),) * MOST_EXACT, (10, 19, 5), False) == decide(
        (solid(5, 5, 5),) * MOST_EXACT, (10, 19, 5), False
    )
    assert arrange((solid(5, 5, 5),) * MOST_EXACT, (10, 19, 5), False) == Arrangement("none as boxes")


def test_many_pieces_get_an_honest_answer() -> None:
    """27 cubes of 3 go into 10 x 10 x 10; without the volume for them, more is known to be too many."""
    cubes = (solid(3, 3, 3),) * 27
    assert arrange(cubes, (10, 10, 10), True).proof == "found"
    assert arrange(cubes, (10, 10, 7), True).proof == "none as boxes"


def test_many_pieces_without_a_layout_are_not_called_impossible() -> None:
    """Twenty unlike pieces fill 99 hundredths of the floor: nobody tried every way, and the answer says so."""
    pieces = tuple(solid(31 + 2 * index, 30 + index, 20, upright=True) for index in range(20))
    area = sum(piece.sides[0] * piece.sides[1] for piece in pieces)
    assert arrange(tuple(sorted(pieces)), (200, area // 198, 20), False).proof == "not found"


@pytest.mark.parametrize("room", [(0, 10, 10), (-3, 10, 10)])
def test_an_inside_without_room_holds_nothing_but_nothing(room: tuple[int, int, int]) -> None:
    assert arrange((solid(1, 1, 1),), room, False).proof == "none as boxes"
    assert arrange((), room, False) == Arrangement("found")


def test_the_dearest_lies_in_the_middle_of_a_row() -> None:
    dear = Solid((50, 50, 40), "cylinder", upright=True, dearest=True)
    plain = Solid((50, 50, 40), "cylinder", upright=True)
    spots = arrange((plain, plain, dear), (200, 60, 40), False).spots
    assert spots[2].corner[0] + 25 == 100
