"""Find the subject of a photo, so that a crop can be centred on it where no focus box is stated.

On a (nearly) plain ground the subject is what differs from the ground; otherwise it is the region
that holds most of the detail. The same pixels give the same box, with a sentence that says why.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from PIL import Image, ImageChops, ImageFilter, ImageStat

from listkit.model.photo import WHOLE, FocusBox

PLAIN = 16  # levels that a ground may wander and still be plain
AIR = 0.12  # left around what was found, as a share of its longer side


@dataclass(frozen=True, slots=True)
class Subject:
    """Where the subject is, why, and what lies behind it."""

    found: FocusBox
    how: str
    detail: FocusBox
    ground: str
    plain: bool


def find_subject(image: Image.Image) -> Subject:
    """Return the subject of an sRGB picture (mode RGB, some hundred pixels a side)."""
    ground = _ground(image)
    away = _away(image, ground)
    plain = _is_plain(away)
    detail = _box(_detail(image).getbbox(), image.size)
    name = "#{:02x}{:02x}{:02x}".format(*ground)
    if plain:
        found = _box(away.point(lambda level: 255 if level > PLAIN else 0).getbbox(), image.size)
        return Subject(found, f"all that stands out from the plain ground {name}", detail, name, True)
    return Subject(detail, "the region of most detail", detail, name, False)


def _ground(image: Image.Image) -> tuple[int, int, int]:
    """Return the median colour of the picture's edge, 2 % wide."""
    edge = max(1, min(image.size) // 50)
    frame = Image.new("L", image.size, 255)
    frame.paste(0, (edge, edge, max(edge, image.width - edge), max(edge, image.height - edge)))
    red, green, blue = ImageStat.Stat(image, frame).median
    return red, green, blue


def _away(image: Image.Image, ground: tuple[int, int, int]) -> Image.Image:
    bands = ImageChops.difference(image, Image.new("RGB", image.size, ground)).split()
    return ImageChops.lighter(ImageChops.lighter(bands[0], bands[1]), bands[2]).filter(ImageFilter.MedianFilter(5))


def _is_plain(away: Image.Image) -> bool:
    edge = max(1, min(away.size) // 50)
    frame = Image.new("L", away.size, 255)
    frame.paste(0, (edge, edge, max(edge, away.width - edge), max(edge, away.height - edge)))
    return ImageStat.Stat(away, frame).mean[0] <= PLAIN / 2


def _detail(image: Image.Image) -> Image.Image:
    grey = image.convert("L")
    edges = ImageChops.difference(grey, grey.filter(ImageFilter.BoxBlur(4))).filter(ImageFilter.BoxBlur(8))
    limit = ImageStat.Stat(edges).mean[0]
    return edges.point(lambda level: 255 if level > limit else 0)


def _box(pixels: tuple[int, int, int, int] | None, size: tuple[int, int]) -> FocusBox:
    if pixels is None:
        return WHOLE
    air = AIR * max(pixels[2] - pixels[0], pixels[3] - pixels[1])
    left, top = max(0.0, pixels[0] - air) / size[0], max(0.0, pixels[1] - air) / size[1]
    right, bottom = min(size[0], pixels[2] + air) / size[0], min(size[1], pixels[3] + air) / size[1]
    step = Decimal("0.0001")
    return FocusBox(*(Decimal(side).quantize(step, ROUND_HALF_UP) for side in (left, top, right, bottom)))
