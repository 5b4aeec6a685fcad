"""What is measured in a photo, once: size, profile, ground, where the subject is, sharpness, brightness, likeness.

A file that is no usable picture raises `FieldError` in the owner's words. Every figure is the
same on every run. Measuring decodes a JPEG at a fraction of its size, so it costs little.
"""

import hashlib
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

from PIL import Image, ImageChops, ImageCms, ImageFilter, ImageStat

from listkit.model.photo import PhotoFacts
from listkit.picture.find import find_subject
from listkit.picture.open import read_bytes, read_picture, to_srgb

SHORT_SIDE = 480  # of the picture that is measured; a JPEG is decoded no smaller
MODES = {"L": "grey", "1": "grey", "CMYK": "CMYK"}


def measure(path: Path) -> PhotoFacts:
    """Return the facts of the picture at `path`.

    Raises:
        FieldError: the file is missing, empty, no picture, damaged, larger than the limits of
            `picture.open`, or in printing colours without a profile. An animated picture gives its first frame.
    """
    content = read_bytes(path)
    original = read_picture(path, content, at_least=SHORT_SIDE)
    small = _small(original.image)
    colour, profile = to_srgb(small, original.profile)
    seen = on_white(colour)
    subject = find_subject(seen)
    grey = seen.convert("L")
    return PhotoFacts(
        width=original.size[0],
        height=original.size[1],
        sha256=hashlib.sha256(content).hexdigest(),
        format=original.format,
        mode=MODES.get(original.image.mode, "colour"),
        profile=profile,
        orientation=original.orientation,
        frames=original.frames,
        ground=subject.ground,
        plain=subject.plain,
        found=subject.found,
        how_found=subject.how,
        detail=subject.detail,
        sharpness=_share(_sharpness(grey)),
        brightness=_share(_lightness(seen)),
        likeness=_likeness(grey),
    )


def on_white(image: Image.Image) -> Image.Image:
    """Return the picture without alpha, as it looks on a white page."""
    if image.mode != "RGBA":
        return image
    ground = Image.new("RGBA", image.size, (255, 255, 255, 255))
    return Image.alpha_composite(ground, image).convert("RGB")


def _small(image: Image.Image) -> Image.Image:
    scale = SHORT_SIDE / min(image.size)
    if scale >= 1:
        return image
    size = max(1, round(image.width * scale)), max(1, round(image.height * scale))
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)


def _share(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("0.001"), ROUND_HALF_UP)


def _sharpness(grey: Image.Image) -> float:
    """Return 1 minus the blur of Crete et al., "The blur effect", SPIE 6492 (2007): 0 blurred to 1 sharp.

    What a further blur of nine pixels takes from the differences between neighbours was sharp.
    """
    kept = []
    for radius, step in (((5, 0), (1, 0)), ((0, 5), (0, 1))):
        if grey.width <= step[0] or grey.height <= step[1]:
            return 0.0
        before = _differences(grey, step)
        after = _differences(grey.filter(ImageFilter.BoxBlur(radius)), step)
        total = ImageStat.Stat(before).sum[0]
        lost = ImageStat.Stat(ImageChops.subtract(before, after)).sum[0]
        kept.append(lost / total if total else 0.0)
    return min(kept)


def _differences(grey: Image.Image, step: tuple[int, int]) -> Image.Image:
    wide, high = grey.width - step[0], grey.height - step[1]
    return ImageChops.difference(grey.crop((0, 0, wide, high)), grey.crop((*step, grey.width, grey.height)))


def _lightness(image: Image.Image) -> float:
    """Return the mean CIE 1976 lightness L* ÷ 100; 18 % grey gives 0.50."""
    lab = ImageCms.applyTransform(
        image.resize((64, 64), Image.Resampling.BOX),
        ImageCms.buildTransform(ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"),
    )
    return ImageStat.Stat(lab).mean[0] / 255 if lab is not None else 0.0


def _likeness(grey: Image.Image) -> int:
    """Return 256 bits: whether each of 16 × 16 fields is darker than its right neighbour."""
    fields = grey.resize((17, 16), Image.Resampling.BOX).tobytes()
    bits = 0
    for row in range(16):
        for column in range(16):
            at = row * 17 + column
            bits = bits << 1 | (fields[at] < fields[at + 1])
    return bits
