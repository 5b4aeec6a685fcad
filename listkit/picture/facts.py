"""What is measured in a photo, once: size, profile, ground, the subject's place, sharpness, brightness, likeness.

A file that is no usable picture raises `FieldError` in the owner's words. Every figure is the
same on every run. Measuring decodes a JPEG at a fraction of its size, so it costs little.
"""

import hashlib
from array import array
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import reduce
from math import exp
from pathlib import Path

from PIL import Image, ImageChops, ImageFilter, ImageMath, ImageStat

from listkit.model.photo import WHOLE, Edges, FocusBox, PhotoFacts
from listkit.picture.open import colours_of, mean_lightness, on_page, read_bytes, read_picture

# Find the subject of a photo, so that a crop can be centred on it where no focus box is stated.
#
# On a plain ground the subject is what stands out from the ground; otherwise it is the region that holds
# nearly all of the detail and colour contrast, the middle of the picture counting more. Air is
# left around it. The same pixels give the same box, with a sentence that says why.

STANDS_OUT = 16  # levels of 255 by which a pixel differs from the ground behind it
PLAIN = 10  # levels by which 95 % of the picture's edge may differ from a plain ground
AIR = 0.12  # left around what was found, as a share of its longer side: 12–15 % is common practice, no source
HELD = 0.975  # the share of all detail, along each side, that the region of most detail holds
CONTRAST = 0.3  # how much colour contrast counts beside detail

Pixels = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Subject:
    """Where the subject is and why, where the detail is, and the ground behind: its colour, whether it is plain."""

    found: FocusBox
    how: str
    detail: FocusBox
    ground: str
    plain: bool


def find_subject(image: Image.Image) -> Subject:
    """Return the subject of an sRGB picture (mode RGB, about 360 pixels on its long side)."""
    away = median(_apart(image, _smooth_ground(image)))
    frame = _frame(image.size)
    red, green, blue = ImageStat.Stat(image, frame).median
    ground = f"#{red:02x}{green:02x}{blue:02x}"
    detail = _with_air(_region_of_most(_detail(image)), image.size)
    if _percentile(away.histogram(frame), 0.95) > PLAIN:
        return Subject(detail, "the region of most detail and contrast: the ground is not plain", detail, ground, False)
    outline = away.point(lambda level: 255 if level > STANDS_OUT else 0).getbbox()
    if outline is None:
        return Subject(WHOLE, f"the whole picture: nothing stands out from {ground}", detail, ground, True)
    found = _with_air(outline, image.size)
    return Subject(found, f"what stands out from the plain ground {ground}, with air around it", detail, ground, True)


def _frame(size: tuple[int, int]) -> Image.Image:
    """Return a mask of the picture's edge, 2 % wide."""
    edge = max(1, min(size) // 50)
    mask = Image.new("L", size, 255)
    if min(size) > 2 * edge:
        mask.paste(0, (edge, edge, size[0] - edge, size[1] - edge))
    return mask


def _smooth_ground(image: Image.Image) -> Image.Image:
    """Return what the ground would look like if it ran evenly from corner to corner, as a backdrop's light does."""
    wide, high = image.size
    patch = max(1, min(wide, high) // 16)
    corners = Image.new("RGB", (2, 2))
    for across in (0, 1):
        for down in (0, 1):
            left, top = across * (wide - patch), down * (high - patch)
            red, green, blue = ImageStat.Stat(image.crop((left, top, left + patch, top + patch))).median
            corners.putpixel((across, down), (red, green, blue))
    return corners.resize(image.size, Image.Resampling.BILINEAR, (0.5, 0.5, 1.5, 1.5))


def _apart(first: Image.Image, second: Image.Image) -> Image.Image:
    """Return by how many levels two RGB pictures differ, in the channel where they differ most."""
    red, green, blue = ImageChops.difference(first, second).split()
    return ImageChops.lighter(ImageChops.lighter(red, green), blue)


def median(image: Image.Image) -> Image.Image:
    """Return each pixel as the median of the nine around it; beyond an edge the edge itself counts.

    The library's own filter sorts nine pixels at a time. Here each column of three is sorted once for its three
    neighbours: the middle of the greatest least one, the middle one of the middle and the least greatest one is the
    median of all nine. The pixels are the same, in a sixth of the time.
    """
    wide, high = image.size
    grown = Image.new(image.mode, (wide + 2, high + 2))
    grown.paste(image, (1, 1))
    for source, target in (((0, 0, 1, high), (0, 1)), ((wide - 1, 0, wide, high), (wide + 1, 1))):
        grown.paste(image.crop(source), target)
    for source, target in (((0, 1, wide + 2, 2), (0, 0)), ((0, high, wide + 2, high + 1), (0, high + 1))):
        grown.paste(grown.crop(source), target)
    rows = [grown.crop((0, down, wide + 2, down + high)) for down in (0, 1, 2)]
    least, middle, most = (reduce(ImageChops.darker, rows), _middle(*rows), reduce(ImageChops.lighter, rows))

    def beside(sorted_rows: Image.Image) -> list[Image.Image]:
        return [sorted_rows.crop((across, 0, across + wide, high)) for across in (0, 1, 2)]

    return _middle(
        reduce(ImageChops.lighter, beside(least)), _middle(*beside(middle)), reduce(ImageChops.darker, beside(most))
    )


def _middle(first: Image.Image, second: Image.Image, third: Image.Image) -> Image.Image:
    """Return the middle one of three pictures, pixel by pixel."""
    below, above = ImageChops.darker(first, second), ImageChops.lighter(first, second)
    return ImageChops.lighter(below, ImageChops.darker(above, third))


def _percentile(histogram: list[int], share: float) -> int:
    left = sum(histogram) * share
    for level, count in enumerate(histogram):
        left -= count
        if left <= 0:
            return level
    return 255


def _detail(image: Image.Image) -> Image.Image:
    """Return a picture of numbers (mode F): how much detail and colour contrast lies around each pixel."""
    wide, high = image.size
    across, down = Image.new("F", (wide, 1)), Image.new("F", (1, high))
    across.putdata(_bell(wide))
    down.putdata(_bell(high))
    detail: Image.Image = ImageMath.lambda_eval(
        lambda given: (given["fine"] + given["broad"] * CONTRAST) * given["across"] * given["down"],
        fine=_around(_apart(image, image.filter(ImageFilter.BoxBlur(3)))),
        broad=_around(_apart(image, image.filter(ImageFilter.BoxBlur(12)))),
        across=across.resize(image.size, Image.Resampling.NEAREST),
        down=down.resize(image.size, Image.Resampling.NEAREST),
    )
    return detail


def _bell(length: int) -> list[float]:
    """Return how much each place along a side counts: 1 in the middle, 0.37 at the ends."""
    return [exp(-((2 * (place + 0.5) / length - 1) ** 2)) for place in range(length)]


def _around(levels: Image.Image) -> Image.Image:
    """Return by how much each neighbourhood lies above the mean of all, where 1 is the mean of that (mode F)."""
    spread = levels.point([min(255, 2 * level) for level in range(256)]).filter(ImageFilter.BoxBlur(8))
    count = spread.histogram()
    mean = sum(level * many for level, many in enumerate(count)) / sum(count)
    above = [max(0.0, level - mean) for level in range(256)]
    unit = sum(amount * many for amount, many in zip(above, count, strict=True)) / sum(count) or 1.0
    return spread.point([round(1000 * amount / unit) for amount in above], "I").convert("F")


def _region_of_most(detail: Image.Image) -> Pixels:
    """Return the box that leaves out an equal small share of the detail on each side."""
    across = detail.resize((detail.width, 1), Image.Resampling.BOX)
    down = detail.resize((1, detail.height), Image.Resampling.BOX)
    left, right = _held(array("f", across.tobytes()))
    top, bottom = _held(array("f", down.tobytes()))
    return left, top, right, bottom


def _held(amounts: "array[float]") -> tuple[int, int]:
    spare = sum(amounts) * (1 - HELD) / 2
    start, end = 0, len(amounts)
    passed = amounts[0]
    while passed < spare and start < len(amounts) - 1:
        start += 1
        passed += amounts[start]
    passed = amounts[-1]
    while passed < spare and end > start + 1:
        end -= 1
        passed += amounts[end - 1]
    return start, end


def _with_air(box: Pixels, size: tuple[int, int]) -> FocusBox:
    air = AIR * max(box[2] - box[0], box[3] - box[1])
    sides = (
        max(0.0, box[0] - air) / size[0],
        max(0.0, box[1] - air) / size[1],
        min(float(size[0]), box[2] + air) / size[0],
        min(float(size[1]), box[3] + air) / size[1],
    )
    return FocusBox(*(Decimal(side).quantize(Decimal("0.0001"), ROUND_HALF_UP) for side in sides))


SHORT_SIDE = 480  # of the picture whose sharpness is measured; a JPEG is decoded no smaller
LONG_SIDE = 360  # of the picture in which the subject is sought
GRID = 12  # fields a side that a likeness keeps
MODES = {"L": "grey", "CMYK": "CMYK"}


def measure(path: Path) -> PhotoFacts:
    """Return the facts of the picture at `path`.

    Raises:
        FieldError: the file is missing, empty, no picture, damaged, larger than the limits of
            `picture.open`, or in printing colours without a profile. An animated picture gives its first frame.
    """
    content = read_bytes(path)
    with read_picture(path, content, at_least=SHORT_SIDE) as original:
        colours = colours_of(original.image.mode, original.profile)
        seen = on_page(colours.srgb(_within(original.image, SHORT_SIDE / min(original.image.size))), "#ffffff")
        small = _within(seen, LONG_SIDE / max(seen.size))
        subject = find_subject(small)
        return PhotoFacts(
            width=original.size[0],
            height=original.size[1],
            sha256=hashlib.sha256(content).hexdigest(),
            format=original.format,
            mode=MODES.get(original.image.mode, "colour"),
            profile=colours.name,
            orientation=original.orientation,
            frames=original.frames,
            ground=subject.ground,
            plain=subject.plain,
            found=subject.found,
            how_found=subject.how,
            detail=subject.detail,
            sharpness=_share(_sharpness(seen.convert("L"))),
            brightness=_share(mean_lightness(_within(seen, 64 / max(seen.size)))),
            likeness=_likeness(seen),
            edges=_edges(small),
        )


def _edges(image: Image.Image) -> Edges:
    """Return how uneven each side is: a strip along it, a twentieth of the picture, held against itself blurred."""
    turns = (None, Image.Transpose.ROTATE_90, Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.ROTATE_270)
    levels = []
    for turn in turns:
        turned = image.transpose(turn) if turn is not None else image
        wide = max(2, turned.width // 20)
        strip = median(turned.crop((0, 0, wide, turned.height)))
        soft = strip.filter(ImageFilter.GaussianBlur((wide, turned.height * 0.03)))
        levels.append(_percentile(_apart(strip, soft).histogram(), 0.95))
    left, top, right, bottom = levels
    return Edges(left, top, right, bottom)


def _within(image: Image.Image, scale: float) -> Image.Image:
    if scale >= 1:
        return image
    size = max(1, round(image.width * scale)), max(1, round(image.height * scale))
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)


def _share(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("0.001"), ROUND_HALF_UP)


def _sharpness(grey: Image.Image) -> float:
    """Return 1 minus the blur of Crete et al., "The blur effect", SPIE 6492 (2007): 0 blurred to 1 sharp.

    What a further blur of eleven pixels takes from the slopes was sharp. Slopes are Sobel's, which noise disturbs less.
    """
    kept = []
    for radius, across in (((5, 0), True), ((0, 5), False)):
        before = _slopes(grey, across=across)
        after = _slopes(grey.filter(ImageFilter.BoxBlur(radius)), across=across)
        total = ImageStat.Stat(before).sum[0]
        kept.append(ImageStat.Stat(ImageChops.subtract(before, after)).sum[0] / total if total else 0.0)
    return min(kept)


def _slopes(grey: Image.Image, *, across: bool) -> Image.Image:
    """Return the amount of Sobel's slope along one side, halved so that it fits 8 bits but at the hardest edges."""
    rising = (-1, 0, 1, -2, 0, 2, -1, 0, 1) if across else (-1, -2, -1, 0, 0, 0, 1, 2, 1)
    falling = tuple(-weight for weight in rising)
    wide = grey.convert("I")  # the library goes through whole numbers ten times as fast as through bytes
    kernels = (ImageFilter.Kernel((3, 3), weights, scale=2) for weights in (rising, falling))
    one, other = (wide.filter(kernel).convert("L") for kernel in kernels)
    edge = min(1, (min(grey.size) - 1) // 2)  # where the kernel does not fit, the library leaves the picture itself
    return ImageChops.lighter(one, other).crop((edge, edge, grey.width - edge, grey.height - edge))


def _likeness(image: Image.Image) -> int:
    """Return 12 × 12 fields of three values of 6 bits: lightness brought to one mean and contrast, and two colours."""
    fields = image.resize((GRID, GRID), Image.Resampling.BOX).convert("YCbCr").tobytes()
    light = fields[0::3]
    mean = sum(light) / len(light)
    spread = max(8.0, (sum((level - mean) ** 2 for level in light) / len(light)) ** 0.5)
    bits = 0
    for level, blue, red in zip(light, fields[1::3], fields[2::3], strict=True):
        for value in (128 + 40 * (level - mean) / spread, 2 * blue - 128, 2 * red - 128):
            bits = bits << 6 | min(63, max(0, int(value) >> 2))
    return bits
