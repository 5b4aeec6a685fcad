"""What is measured in a photo, once: size, profile, ground, the subject's place, sharpness, brightness, likeness.

A file that is no usable picture raises `FieldError` in the owner's words. Every figure is the
same on every run. Measuring decodes a JPEG at a fraction of its size, so it costs little.
"""

import hashlib
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

from PIL import Image, ImageChops, ImageFilter, ImageStat

from listkit.model.photo import PhotoFacts
from listkit.picture.colour import colours_of, mean_lightness, on_page
from listkit.picture.find import find_subject
from listkit.picture.open import read_bytes, read_picture

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
    original = read_picture(path, content, at_least=SHORT_SIDE)
    colours = colours_of(original.image.mode, original.profile)
    seen = on_page(colours.srgb(_within(original.image, SHORT_SIDE / min(original.image.size))), "#ffffff")
    subject = find_subject(_within(seen, LONG_SIDE / max(seen.size)))
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
    )


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
    one, other = (grey.filter(ImageFilter.Kernel((3, 3), weights, scale=2)) for weights in (rising, falling))
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
