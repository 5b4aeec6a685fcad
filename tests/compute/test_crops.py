"""Tests of where a crop is cut."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.crops import crop_box, focus_pixels
from listkit.model.photo import Cut, FocusBox

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


def test_a_ratio_that_cannot_hold_the_focus_is_padded_or_told() -> None:
    tall = focus("0.2", "0.05", "0.8", "0.95")
    padded = crop_box((2000, 2000), tall, (16, 9), width=1600)
    assert padded == Cut(0, 100, 2000, 1900, 1600, 900, pad=(300, 0, 300, 0))
    told = crop_box((2000, 2000), tall, (16, 9), width=1600, if_tight="problem")
    assert told.tight
    assert told.pad == (0, 0, 0, 0)
    assert (told.right - told.left, told.bottom - told.top) == (2000, 1125)


def test_a_guessed_focus_only_centres() -> None:
    cut = crop_box((2000, 2000), focus("0", "0", "1", "1"), (16, 9), if_tight="centre")
    assert cut.pad == (0, 0, 0, 0)
    assert not cut.tight


@pytest.mark.parametrize(("size", "ratio", "width"), [((0, 5), (1, 1), 10), ((5, 5), (0, 1), 10), ((5, 5), (1, 1), 0)])
def test_sizes_below_one_are_refused(size: tuple[int, int], ratio: tuple[int, int], width: int) -> None:
    with pytest.raises(ValueError, match="cannot cut"):
        crop_box(size, None, ratio, width=width)


@given(size=st.tuples(sides, sides), box=boxes(), ratio=ratios, width=st.none() | st.integers(1, 4000))
def test_the_focus_is_whole_in_every_padded_crop_and_nothing_is_enlarged(
    size: tuple[int, int], box: FocusBox, ratio: tuple[int, int], width: int | None
) -> None:
    cut = crop_box(size, box, ratio, width=width)
    kept = focus_pixels(size, box)
    assert 0 <= cut.left <= kept[0] < kept[2] <= cut.right <= size[0]
    assert 0 <= cut.top <= kept[1] < kept[3] <= cut.bottom <= size[1]
    inner = cut.width - cut.pad[0] - cut.pad[2], cut.height - cut.pad[1] - cut.pad[3]
    assert 1 <= inner[0] <= cut.right - cut.left
    assert 1 <= inner[1] <= cut.bottom - cut.top
    assert width is None or cut.width <= width


@given(size=st.tuples(st.integers(50, 5000), st.integers(50, 5000)), ratio=ratios, width=st.integers(10, 4000))
def test_the_height_is_the_width_by_the_ratio_rounded_down(
    size: tuple[int, int], ratio: tuple[int, int], width: int
) -> None:
    cut = crop_box(size, None, ratio, width=width)
    assert cut.height == cut.width * ratio[1] // ratio[0]
    widest = cut.right - cut.left + 1
    assert widest > size[0] or widest * ratio[1] // ratio[0] > size[1]
