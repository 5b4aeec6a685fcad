"""Tests of where a crop is cut.

Geometry by hand; that a crop keeps the focus box is common practice, no source.
"""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from listkit.compute.crops import AIR, Ground, close_up, crop_box, focus_pixels
from listkit.model.photo import CALM_AT_MOST, Cut, Edges, FocusBox

sides = st.integers(1, 5000)
ratios = st.sampled_from([(1, 1), (4, 5), (3, 4), (4, 3), (16, 9), (9, 16), (191, 100), (2, 1)])
shares = st.decimals(0, 1, places=4)


@st.composite
def boxes(draw: st.DrawFn) -> FocusBox:
    left, right = sorted((draw(shares), draw(shares)))
    top, bottom = sorted((draw(shares), draw(shares)))
    return FocusBox(left, top, right, bottom)


def focus(left: str, top: str, right: str, bottom: str) -> FocusBox:
    return FocusBox(Decimal(left), Decimal(top), Decimal(right), Decimal(bottom))


@pytest.mark.parametrize(
    ("ratio", "box", "corner"),
    [((1, 1), (1200, 1200), (300, 0)), ((4, 5), (960, 1200), (420, 0)), ((3, 4), (900, 1200), (450, 0)),
     ((16, 9), (1800, 1012), (0, 94))],
)  # fmt: skip
def test_the_largest_centred_boxes_of_a_picture_of_1800_by_1200(
    ratio: tuple[int, int], box: tuple[int, int], corner: tuple[int, int]
) -> None:
    """Worked by hand: 1800 × 9 ÷ 16 = 1012.5 rows, (1200 − 1012) ÷ 2 = 94; the rest likewise."""
    cut = crop_box((1800, 1200), None, ratio)
    assert (cut.left, cut.top) == corner
    assert (cut.right - cut.left, cut.bottom - cut.top) == (cut.width, cut.height) == box


def test_a_crop_follows_its_focus_box_up_to_the_edge_of_the_picture() -> None:
    assert crop_box((1800, 1200), focus("0.5", "0.2", "0.9", "0.8"), (1, 1)).left == 600  # centred would be 660
    assert crop_box((1800, 1200), focus("0.3", "0.2", "0.5", "0.8"), (1, 1)).left == 120


def test_a_finished_crop_takes_the_width_it_is_given_and_never_more_than_the_original_has() -> None:
    assert crop_box((4000, 3000), None, (16, 9), width=2400).height == 1350
    assert crop_box((4000, 3000), None, (191, 100), width=1200).height == 628
    small = crop_box((800, 600), None, (1, 1), width=2000)
    assert (small.width, small.height) == (600, 600)


TALL = focus("0.2", "0.05", "0.8", "0.95")
UNEVEN = CALM_AT_MOST + 1


def test_a_ratio_that_cannot_hold_the_focus_is_padded_or_told() -> None:
    """1800 rows in 16:9 need 3200 columns; the picture has 2000 of them, so that 37.5 % is ground."""
    padded = crop_box((2000, 2000), TALL, (16, 9), width=1600, ground=Ground(most=Decimal("0.4")))
    assert padded == Cut(0, 100, 2000, 1900, 1600, 900, pad=(300, 0, 300, 0))
    assert padded.ground_share == Decimal("0.375")
    told = crop_box((2000, 2000), TALL, (16, 9), width=1600, if_tight="problem")
    assert told.tight
    assert told.pad == (0, 0, 0, 0)
    assert (told.right - told.left, told.bottom - told.top) == (2000, 1125)


def test_no_more_ground_is_continued_than_the_share_that_is_allowed() -> None:
    """At 30 % the picture's 2000 columns are 70 % of 2857, which in 16:9 have 1607 rows, so the focus is cut."""
    cut = crop_box((2000, 2000), TALL, (16, 9), width=1600)
    assert cut.tight
    assert (cut.bottom - cut.top) == 1607
    assert cut.pad == (240, 0, 240, 0)


def test_ground_goes_to_the_side_that_is_even_and_a_crop_on_none_is_marked() -> None:
    enough = Decimal("0.4")
    right = crop_box((2000, 2000), TALL, (16, 9), width=1600, ground=Ground(Edges(left=UNEVEN), enough))
    assert (right.pad, right.rough) == ((0, 0, 600, 0), False)
    left = crop_box((2000, 2000), TALL, (16, 9), width=1600, ground=Ground(Edges(right=UNEVEN), enough))
    assert (left.pad, left.rough) == ((600, 0, 0, 0), False)
    rough = crop_box((2000, 2000), TALL, (16, 9), width=1600, ground=Ground(Edges(UNEVEN, 0, UNEVEN, 0), enough))
    assert (rough.pad, rough.rough) == ((300, 0, 300, 0), True)
    cut = crop_box((2000, 2000), TALL, (16, 9), width=1600, ground=Ground(Edges(UNEVEN, 0, UNEVEN, 0)))
    assert (cut.pad, cut.rough, cut.tight) == ((0, 0, 0, 0), False, True)  # nothing is gained by ground that shows


def test_ground_is_continued_for_air_too_where_the_picture_goes_on_and_the_edge_is_even() -> None:
    """Of 2000 rows 1000 are the focus; a twentieth of its longer side, 70 rows, is left above and below."""
    jar = focus("0.033", "0.25", "0.967", "0.75")
    even = crop_box((1500, 2000), jar, (3, 2), width=900)
    assert (even.top, even.bottom) == (429, 1571)  # 1401 columns × 5 % = 70.05, rounded up
    assert even.pad[0] > 0
    uneven = crop_box((1500, 2000), jar, (3, 2), width=900, ground=Ground(Edges(UNEVEN, 0, UNEVEN, 0)))
    assert (uneven.top, uneven.bottom, uneven.pad, uneven.tight) == (500, 1500, (0, 0, 0, 0), False)


def test_a_guessed_focus_only_centres() -> None:
    cut = crop_box((2000, 2000), focus("0", "0", "1", "1"), (16, 9), if_tight="centre")
    assert cut.pad == (0, 0, 0, 0)
    assert not cut.tight


@pytest.mark.parametrize(("size", "ratio", "width"), [((0, 5), (1, 1), 10), ((5, 5), (0, 1), 10), ((5, 5), (1, 1), 0)])
def test_sizes_below_one_are_refused(size: tuple[int, int], ratio: tuple[int, int], width: int) -> None:
    with pytest.raises(ValueError, match="cannot cut"):
        crop_box(size, None, ratio, width=width)


edges = st.builds(Edges, *[st.sampled_from([0, UNEVEN])] * 4)


@given(size=st.tuples(sides, sides), box=boxes(), ratio=ratios, width=st.none() | st.integers(1, 4000), edges=edges)
def test_the_focus_is_whole_in_every_crop_that_may_have_ground_and_nothing_is_enlarged(
    size: tuple[int, int], box: FocusBox, ratio: tuple[int, int], width: int | None, edges: Edges
) -> None:
    cut = crop_box(size, box, ratio, width=width, ground=Ground(edges, Decimal(1)))
    kept = focus_pixels(size, box)
    assert 0 <= cut.left <= kept[0] < kept[2] <= cut.right <= size[0]
    assert 0 <= cut.top <= kept[1] < kept[3] <= cut.bottom <= size[1]
    inner = cut.width - cut.pad[0] - cut.pad[2], cut.height - cut.pad[1] - cut.pad[3]
    assert 1 <= inner[0] <= cut.right - cut.left
    assert 1 <= inner[1] <= cut.bottom - cut.top
    assert width is None or cut.width <= width


@given(
    size=st.tuples(st.integers(200, 5000), st.integers(200, 5000)), box=boxes(), ratio=ratios,
    most=st.decimals(0, "0.6", places=2), edges=edges,
)  # fmt: skip
def test_ground_keeps_to_its_share_and_a_focus_that_is_cut_is_marked(
    size: tuple[int, int], box: FocusBox, ratio: tuple[int, int], most: Decimal, edges: Edges
) -> None:
    cut = crop_box(size, box, ratio, ground=Ground(edges, most))
    pixel = Decimal(2) / min(cut.width, cut.height)  # each side is rounded to whole pixels
    assert cut.ground_share <= most + pixel
    kept = focus_pixels(size, box)
    whole = cut.left <= kept[0] and cut.top <= kept[1] and kept[2] <= cut.right and kept[3] <= cut.bottom
    assert whole or cut.tight


@given(size=st.tuples(st.integers(200, 5000), st.integers(200, 5000)), box=boxes(), ratio=ratios)
def test_air_is_around_the_focus_where_there_is_picture_and_ground_enough(
    size: tuple[int, int], box: FocusBox, ratio: tuple[int, int]
) -> None:
    cut = crop_box(size, box, ratio, ground=Ground(most=Decimal(1)))
    kept = focus_pixels(size, box)
    air = int(AIR * max(kept[2] - kept[0], kept[3] - kept[1]))
    assert cut.left <= max(0, kept[0] - air)
    assert cut.top <= max(0, kept[1] - air)
    assert cut.right >= min(size[0], kept[2] + air)
    assert cut.bottom >= min(size[1], kept[3] + air)


@given(size=st.tuples(st.integers(50, 5000), st.integers(50, 5000)), ratio=ratios, width=st.integers(10, 4000))
def test_the_height_is_the_width_by_the_ratio_rounded_down(
    size: tuple[int, int], ratio: tuple[int, int], width: int
) -> None:
    cut = crop_box(size, None, ratio, width=width)
    assert cut.height == cut.width * ratio[1] // ratio[0]
    widest = cut.right - cut.left + 1
    assert widest > size[0] or widest * ratio[1] // ratio[0] > size[1]


@given(
    width=st.integers(50, 4000),
    height=st.integers(50, 4000),
    corners=st.tuples(*[st.decimals("0.05", "0.95", places=3)] * 4),
)
def test_a_close_up_holds_its_focus_stays_in_the_picture_and_could_be_no_closer(
    width: int, height: int, corners: tuple[Decimal, ...]
) -> None:
    """Reference: squares smaller by more than the air on both sides no longer hold the focus."""
    left, right = sorted(corners[:2])
    top, bottom = sorted(corners[2:])
    assume(right - left > Decimal("0.02") and bottom - top > Decimal("0.02"))
    cut = close_up((width, height), FocusBox(left, top, right, bottom), (1, 1), width=300)
    assert 0 <= cut.left < cut.right <= width
    assert 0 <= cut.top < cut.bottom <= height
    assert cut.right - cut.left == cut.bottom - cut.top
    assert (cut.width, cut.height) == (min(300, cut.right - cut.left),) * 2
    longest = max((right - left) * width, (bottom - top) * height)
    if longest + 2 <= min(width, height):
        assert cut.left <= left * width
        assert right * width <= cut.right
        assert cut.top <= top * height
        assert bottom * height <= cut.bottom
    assert cut.right - cut.left <= float(longest) * 1.1 + 6


@pytest.mark.parametrize("ratio", [(1, 9999), (9999, 1), (1, 4), (4, 5)])
def test_ground_is_continued_to_no_larger_a_picture_than_can_be_made(ratio: tuple[int, int]) -> None:
    """1:9999 of 1600 pixels were sixteen thousand million of them; WebP has sides up to 16,383, RFC 9649."""
    cut = crop_box((9000, 8000), focus("0.1", "0.1", "0.9", "0.9"), ratio, ground=Ground(most=Decimal(1)))
    assert max(cut.width, cut.height) <= 16_383
    assert 0 < cut.width * cut.height <= 40_000_000
