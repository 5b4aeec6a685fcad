"""Where one crop is cut: whole-pixel arithmetic, no picture is opened.

The box is the largest of its ratio that the upright picture holds, centred on the focus box as far as
the picture's edges allow. Where that cuts the focus, or leaves it no air though the picture goes on, the picture's own
ground is continued on the two short sides, as far as it is even enough and no more than a stated share.
A finished crop is never larger than the original gives, and its height is always its width × the ratio, rounded down.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import isqrt
from typing import Final

from listkit.model.photo import CALM_AT_MOST, EVEN, WHOLE, Cut, Edges, FocusBox

_LONGEST: Final = 16_383
"""The longest side that all kinds of picture file may have; of WebP, RFC 9649, section 2.6 (from memory)."""
_MOST_PIXELS: Final = 40_000_000
"""Of a picture with continued ground: far above what places take, and borne in the memory that there is."""
PixelBox = tuple[int, int, int, int]
AIR: Final = Decimal("0.05")
"""Left around the focus, as a share of its longer side, where the picture goes on: common practice, no source."""
MOST_GROUND: Final = Decimal("0.3")
"""The share of a crop that may be continued ground where no other is stated."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What may be continued: how even each edge of the picture is, and the share of a crop that may be ground."""

    edges: Edges = EVEN
    most: Decimal = MOST_GROUND


PLAIN: Final = Ground()


def crop_box(
    size: tuple[int, int],
    focus: FocusBox | None,
    ratio: tuple[int, int],
    *,
    width: int | None = None,
    if_tight: str = "pad",
    ground: Ground = PLAIN,
) -> Cut:
    """Return where to cut a picture of `size` (upright pixels) to `ratio` (wide, high).

    Args:
        size: width and height of the upright picture, at least 1 × 1.
        focus: what must stay whole; None centres the crop in the picture.
        ratio: whole numbers of at least 1, (4, 5) is a portrait.
        width: the finished width wanted; None gives all the original has.
        if_tight: "pad" continues the ground where the ratio cannot hold `focus` and its air, and marks the cut rough
            where no edge is even enough, tight where `ground.most` does not suffice; "problem" cuts the largest box
            all the same and marks it tight; "centre", for a focus that was only guessed, centres on it and no more.
        ground: what may be continued.

    Raises:
        ValueError: a size, ratio or width below 1, or another word for `if_tight`.
    """
    if min(*size, *ratio, 1 if width is None else width) < 1 or if_tight not in {"pad", "problem", "centre"}:
        raise ValueError(f"cannot cut {size} to {ratio}, width {width}, if tight {if_tight!r}")
    kept = focus_pixels(size, focus or WHOLE)
    box = _largest(size, ratio)
    airy = kept if focus is None or if_tight != "pad" else _with_air(size, kept)
    holds = focus is None or _fits(kept, box)
    if focus is None or if_tight != "pad" or _fits(airy, box):
        return _within(size, airy, ratio, width, tight=not holds and if_tight == "problem")
    for whole in (airy, kept):
        cut, share = _padded(size, whole, ratio, width, edges=ground.edges)
        if share <= ground.most and not cut.rough:
            return cut
    if holds:
        return _within(size, kept, ratio, width)
    if share <= ground.most:
        return cut
    if cut.rough:
        return _within(size, kept, ratio, width, tight=True)
    return _padded(size, _shortened(size, kept, ratio, ground.most), ratio, width, edges=ground.edges, tight=True)[0]


def close_up(size: tuple[int, int], focus: FocusBox, ratio: tuple[int, int], *, width: int) -> Cut:
    """Return the closest cut of a ratio that holds the focus whole, with air as far as there is picture.

    It is `width` wide, or what the picture gives, and never leaves the picture; where the picture itself is too narrow
    for that, the focus is cut.
    """
    kept = focus_pixels(size, focus)
    airy = _with_air(size, kept)
    largest = _largest(size, ratio)
    wide = min(largest[0], max(airy[2] - airy[0], -(-(airy[3] - airy[1]) * ratio[0] // ratio[1])))
    high = min(largest[1], max(1, wide * ratio[1] // ratio[0]))
    left, top = _start(kept[0], kept[2], wide, size[0]), _start(kept[1], kept[3], high, size[1])
    finished = min(width, wide)
    return Cut(left, top, left + wide, top + high, width=finished, height=max(1, finished * ratio[1] // ratio[0]))


def focus_pixels(size: tuple[int, int], focus: FocusBox) -> PixelBox:
    """Return the focus box in whole pixels of the upright picture, rounded outwards and at least one pixel."""
    left, right = _span(focus.left, focus.right, size[0])
    top, bottom = _span(focus.top, focus.bottom, size[1])
    return left, top, right, bottom


def _span(low: Decimal, high: Decimal, length: int) -> tuple[int, int]:
    start = min(max(int((low * length).to_integral_value(ROUND_FLOOR)), 0), length - 1)
    end = min(max(int((high * length).to_integral_value(ROUND_CEILING)), start + 1), length)
    return start, end


def _largest(size: tuple[int, int], ratio: tuple[int, int]) -> tuple[int, int]:
    """Return the widest box with ⌊width × high ÷ wide⌋ rows that `size` holds; never less than one pixel."""
    widest = ((size[1] + 1) * ratio[0] - 1) // ratio[1]
    wide = max(1, min(size[0], widest))
    return wide, min(size[1], max(1, wide * ratio[1] // ratio[0]))


def _start(low: int, high: int, length: int, whole: int) -> int:
    """Return where a stretch of `length` begins that is centred on low to high and stays inside `whole`."""
    return min(max((low + high - length) // 2, 0), whole - length)


def _fits(kept: PixelBox, box: tuple[int, int]) -> bool:
    return kept[2] - kept[0] <= box[0] and kept[3] - kept[1] <= box[1]


def _with_air(size: tuple[int, int], kept: PixelBox) -> PixelBox:
    """Return the box with air on every side, as far as there is picture."""
    air = int((AIR * max(kept[2] - kept[0], kept[3] - kept[1])).to_integral_value(ROUND_CEILING))
    return max(0, kept[0] - air), max(0, kept[1] - air), min(size[0], kept[2] + air), min(size[1], kept[3] + air)


def _within(
    size: tuple[int, int], kept: PixelBox, ratio: tuple[int, int], width: int | None, *, tight: bool = False
) -> Cut:
    """Return the largest box of the ratio in the picture, centred on what is kept."""
    box = _largest(size, ratio)
    left = _start(kept[0], kept[2], box[0], size[0])
    top = _start(kept[1], kept[3], box[1], size[1])
    finished = box[0] if width is None else min(width, box[0])
    high = min(box[1], max(1, finished * ratio[1] // ratio[0]))
    return Cut(left, top, left + box[0], top + box[1], width=finished, height=high, tight=tight)


def _shortened(size: tuple[int, int], kept: PixelBox, ratio: tuple[int, int], most: Decimal) -> PixelBox:
    """Return the middle of the box along its long side, so that at most that share of the crop is ground."""
    held = 1 - most
    wide, high = size[0] / held, size[1] / held
    largest = int(wide), int(wide * ratio[1] / ratio[0])
    if wide * ratio[1] / ratio[0] > size[1]:  # the ground goes above and below
        largest = int(high * ratio[0] / ratio[1]), int(high)
    left, top, right, bottom = kept
    spare_wide, spare_high = max(0, right - left - max(1, largest[0])), max(0, bottom - top - max(1, largest[1]))
    return left + spare_wide // 2, top + spare_high // 2, right - (spare_wide + 1) // 2, bottom - (spare_high + 1) // 2


def _padded(
    size: tuple[int, int],
    kept: PixelBox,
    ratio: tuple[int, int],
    width: int | None,
    *,
    edges: Edges,
    tight: bool = False,
) -> tuple[Cut, Decimal]:
    """Return the focus with all the picture gives beside it and ground on the short sides, and the ground's share.

    The ground is shared by both sides, or lies on the one that is even enough.
    """
    wide, high = kept[2] - kept[0], kept[3] - kept[1]
    canvas = max(wide, -(-high * ratio[0] // ratio[1]))
    canvas_high = canvas * ratio[1] // ratio[0]
    take = min(size[0], canvas), min(size[1], max(high, canvas_high))
    left = _start(kept[0], kept[2], take[0], size[0])
    top = _start(kept[1], kept[3], take[1], size[1])
    finished = _bearable(canvas if width is None else min(width, canvas), ratio)
    finished_high = max(1, finished * ratio[1] // ratio[0])
    inner_wide = min(finished, max(1, _half_up(take[0] * finished, canvas)))
    inner_high = min(finished_high, max(1, _half_up(take[1] * finished, canvas)))
    if take[0] >= canvas:
        inner_wide = finished
    if take[1] >= canvas_high:
        inner_high = finished_high
    before, after = _sides(finished - inner_wide, edges.left, edges.right)
    above, below = _sides(finished_high - inner_high, edges.top, edges.bottom)
    across, down = canvas > size[0], canvas_high > size[1]
    rough = (across and min(edges.left, edges.right) > CALM_AT_MOST) or (
        down and min(edges.top, edges.bottom) > CALM_AT_MOST
    )
    cut = Cut(
        left, top, left + take[0], top + take[1], width=finished, height=finished_high,
        pad=(before, above, after, below), tight=tight, rough=rough,
    )  # fmt: skip
    return cut, 1 - Decimal(min(size[0], canvas) * min(size[1], canvas_high)) / (canvas * max(1, canvas_high))


def _bearable(width: int, ratio: tuple[int, int]) -> int:
    """Return the width, or the widest at which a picture of the ratio can still be made: ground has no end of its own.

    >>> _bearable(3000, (4, 5)), _bearable(1600, (1, 9999))
    (3000, 1)
    """
    by_sides = min(_LONGEST, _LONGEST * ratio[0] // ratio[1])
    return max(1, min(width, by_sides, isqrt(_MOST_PIXELS * ratio[0] // ratio[1])))


def _sides(spare: int, first: int, last: int) -> tuple[int, int]:
    """Return how much of the ground goes before and how much behind: half each, or all to the side that is even."""
    if first <= CALM_AT_MOST < last:
        return spare, 0
    if last <= CALM_AT_MOST < first:
        return 0, spare
    return spare // 2, spare - spare // 2


def _half_up(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)
