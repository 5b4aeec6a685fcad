"""Cut and scale: one decoded original becomes the finished pixels of any number of crops, the finest first.

Scaling costs most of the time, so a crop is taken from the original reduced by 2, 4 or 8 where that keeps its
detail, and with the cheapest kernel that will do. Which of them depends on the crop alone, so a crop has
the same pixels whatever else is made of its photo. The limits below were found by measuring against one
Lanczos step from the original, on photographs with a sensor's noise (tests/bench/bench_photos.py): a crop
is at 40 dB PSNR and 0.99 SSIM or better.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

from PIL import Image

from listkit.model.photo import Cut
from listkit.picture.colour import from_linear, to_linear

Box = tuple[float, float, float, float]
Kernel = Image.Resampling

ENOUGH = ((8, 16.0), (4, 5.0), (2, 2.2))
"""By how much the original is reduced, and how many of its pixels one of a crop's must stand for to come from there."""
STRIP = 256  # finished rows that are scaled at once


def scaled(original: Image.Image, cuts: Sequence[Cut]) -> Iterator[tuple[int, Image.Image]]:
    """Yield the place of each cut and its pixels without padding, in the original's colours, finest first.

    The caller should hold no reference to `original`: it is let go as soon as a reduced one will do.
    """
    levels = {1: original}
    del original

    def sameness(at: int) -> tuple[float, Box, tuple[int, int]]:
        return _factor(cuts[at]), _box(cuts[at]), inner_size(cuts[at])

    for (factor, _, _), alike in groupby(sorted(range(len(cuts)), key=sameness), sameness):
        level, places = _level(factor), tuple(alike)
        while max(levels) < level:
            levels[2 * max(levels)] = levels[max(levels)].reduce(2)
        if factor > 2:  # the crops to come are no finer
            levels = {reduced: image for reduced, image in levels.items() if reduced >= level}
        image = _cut_out(levels[level], level, cuts[places[0]])
        for place in places:
            yield place, image


def scaled_in_linear_light(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    """Return an sRGB picture (RGB) scaled by one Lanczos step over amounts of light, 16 bits each.

    A checker of black and white halves to 188, the middle of the light, not to 128.
    """
    bands = []
    for band in image.split():
        light = band.point(to_linear(), "I").resize(size, Kernel.LANCZOS)
        bands.append(light.point(from_linear(), "L"))
    return Image.merge("RGB", bands)


def inner_size(cut: Cut) -> tuple[int, int]:
    """Return the finished size of a cut without its padding."""
    return cut.width - cut.pad[0] - cut.pad[2], cut.height - cut.pad[1] - cut.pad[3]


def _box(cut: Cut) -> Box:
    return cut.left, cut.top, cut.right, cut.bottom


def _factor(cut: Cut) -> float:
    """Return how many pixels of the original one of the crop's stands for, along the side where they are fewer."""
    wide, high = inner_size(cut)
    return min((cut.right - cut.left) / wide, (cut.bottom - cut.top) / high)


def _level(factor: float) -> int:
    """Return by how much the original is reduced before a crop of that factor is taken: 1, 2, 4 or 8."""
    if factor == 2:
        return 2  # the crop is the halved original itself
    return next((level for level, enough in ENOUGH if factor >= enough), 1)


def _kernel(factor: float, level: int) -> Kernel:
    """Return the cheapest kernel that stays near a single Lanczos step: the Hamming window reaches least far."""
    if level == 1:
        return Kernel.HAMMING if factor >= 1.4 else Kernel.BICUBIC
    if level == 2:
        return Kernel.HAMMING if 2.5 <= factor < 4.2 else Kernel.BICUBIC
    return Kernel.LANCZOS


def _cut_out(image: Image.Image, level: int, cut: Cut) -> Image.Image:
    """Return the cut's pixels from the original reduced by `level`."""
    size = inner_size(cut)
    left, top, right, bottom = (float(side) / level for side in _box(cut))
    if (right - left, bottom - top) == size and left.is_integer() and top.is_integer():
        return image.crop((int(left), int(top), int(right), int(bottom)))
    box = (left, top, min(right, image.width), min(bottom, image.height))
    return _in_strips(image, size, _kernel(_factor(cut), level), box)


def _in_strips(image: Image.Image, size: tuple[int, int], kernel: Kernel, box: Box) -> Image.Image:
    """Return the box scaled some rows at a time, so that what lies between its two passes stays small in memory."""
    wide, high = size
    if high <= STRIP:
        return image.resize(size, kernel, box)
    scaled_rows = Image.new(image.mode, size)
    for top in range(0, high, STRIP):
        rows = min(STRIP, high - top)
        start, end = (box[1] + (box[3] - box[1]) * row / high for row in (top, top + rows))
        scaled_rows.paste(image.resize((wide, rows), kernel, (box[0], start, box[2], min(end, box[3]))), (0, top))
    return scaled_rows
