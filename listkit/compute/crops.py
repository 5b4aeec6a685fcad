"""Where one crop is cut: whole-pixel arithmetic, no picture is opened.

The box is the largest of its ratio that the upright picture holds, centred on the focus box as far as
the picture's edges allow. A finished crop is never larger than the original gives, and its height
is always its width × the ratio, rounded down.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from listkit.model.photo import WHOLE, Cut, FocusBox

PixelBox = tuple[int, int, int, int]


def crop_box(
    size: tuple[int, int],
    focus: FocusBox | None,
    ratio: tuple[int, int],
    *,
    width: int | None = None,
    if_tight: str = "pad",
) -> Cut:
    """Return where to cut a picture of `size` (upright pixels) to `ratio` (wide, high).

    Args:
        size: width and height of the upright picture, at least 1 × 1.
        focus: what must stay whole; None centres the crop in the picture.
        ratio: whole numbers of at least 1, (4, 5) is a portrait.
        width: the finished width wanted; None gives all the original has.
        if_tight: "pad" adds ground on the short sides where the ratio cannot hold `focus`;
            "problem" cuts the largest box all the same and marks it tight; "centre", for a focus that
            was only guessed, centres on it and says nothing.

    Raises:
        ValueError: a size, ratio or width below 1, or another word for `if_tight`.
    """
    if min(*size, *ratio, 1 if width is None else width) < 1 or if_tight not in {"pad", "problem", "centre"}:
        raise ValueError(f"cannot cut {size} to {ratio}, width {width}, if tight {if_tight!r}")
    kept = focus_pixels(size, focus or WHOLE)
    box = _largest(size, ratio)
    holds = focus is None or (kept[2] - kept[0] <= box[0] and kept[3] - kept[1] <= box[1])
    if not holds and if_tight == "pad":
        return _padded(size, kept, ratio, width)
    left = _start(kept[0], kept[2], box[0], size[0])
    top = _start(kept[1], kept[3], box[1], size[1])
    finished = box[0] if width is None else min(width, box[0])
    high = min(box[1], max(1, finished * ratio[1] // ratio[0]))
    tight = not holds and if_tight == "problem"
    return Cut(left, top, left + box[0], top + box[1], width=finished, height=high, tight=tight)


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


def _padded(size: tuple[int, int], kept: PixelBox, ratio: tuple[int, int], width: int | None) -> Cut:
    """Return the focus with all the picture gives beside it, and ground added on the two short sides."""
    wide, high = kept[2] - kept[0], kept[3] - kept[1]
    canvas = max(wide, -(-high * ratio[0] // ratio[1]))
    canvas_high = canvas * ratio[1] // ratio[0]
    take = min(size[0], canvas), min(size[1], max(high, canvas_high))
    left = _start(kept[0], kept[2], take[0], size[0])
    top = _start(kept[1], kept[3], take[1], size[1])
    finished = canvas if width is None else min(width, canvas)
    finished_high = max(1, finished * ratio[1] // ratio[0])
    inner_wide = min(finished, max(1, _half_up(take[0] * finished, canvas)))
    inner_high = min(finished_high, max(1, _half_up(take[1] * finished, canvas)))
    if take[0] >= canvas:
        inner_wide = finished
    if take[1] >= canvas_high:
        inner_high = finished_high
    spare_wide, spare_high = finished - inner_wide, finished_high - inner_high
    pad = (spare_wide // 2, spare_high // 2, spare_wide - spare_wide // 2, spare_high - spare_high // 2)
    return Cut(left, top, left + take[0], top + take[1], width=finished, height=finished_high, pad=pad)


def _half_up(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)
