"""Finished crops: one photo is opened once and every crop of it written, for all channels.

The recipe of the photo jobs. A crop is upright, in sRGB with the profile embedded, and carries no metadata
but its alternative text and who made it. The same photo and crop give the same bytes, whatever else is made of
the photo: every setting of an encoder is stated, one thread each, and no time is written.
"""

import base64
import hashlib
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby, pairwise
from math import log
from pathlib import Path
from typing import Final

import PIL
from PIL import Image, ImageChops, ImageCms, ImageFilter, PngImagePlugin

from listkit.model.photo import Cut
from listkit.picture.credit import packet, read_credit
from listkit.picture.open import (
    colours_of,
    from_linear,
    on_page,
    read_bytes,
    read_measured,
    read_picture,
    to_linear,
    told,
)
from listkit.problem import FieldError

# What is to be made of one photo: frozen values that a job carries to whichever process makes the crops.

ENDINGS = {"jpeg": ".jpg", "webp": ".webp", "avif": ".avif", "png": ".png"}
"""The formats a crop can be written in, and the ending of its file name."""


@dataclass(frozen=True, slots=True)
class CropJob:
    """One finished crop: where it is cut and how it is written.

    `format` is a key of ENDINGS. `quality` runs from 1 to 95, a ceiling where `largest_kb` (of 1000 bytes) is stated.
    `chroma` is "4:2:0" or "4:4:4". `background` goes under transparent parts; beside a padded cut the picture's own
    ground is continued. `linear` scales amounts of light instead of encoded levels.
    """

    name: str
    cut: Cut
    format: str = "jpeg"
    quality: int = 85
    largest_kb: int | None = None
    chroma: str = "4:2:0"
    background: str = "#ffffff"
    alt: str = ""
    linear: bool = False


@dataclass(frozen=True, slots=True)
class CropPlan:
    """All crops of one photo, in the order of the files they make; `sha256` is the photo's when it was measured."""

    crops: tuple[CropJob, ...]
    sha256: str = ""


# The quality that brings a picture under a weight, found with the fewest encodings.
#
# The first guess is the quality wanted, so a crop that is light enough is encoded once. The next ones follow how the
# weight of photographs usually runs with quality, bent to what was found so far; most end at the second or third.

LOWEST_QUALITY = 40  # below it edges show blocks; a crop that is still too heavy is told when it is verified
NEAR_ENOUGH = 0.92  # a crop that uses this share of the weight allowed is not tried again
MOST_TRIES = 5

TYPICAL = (
    (30, 0.354), (40, 0.422), (50, 0.49), (60, 0.56), (70, 0.671), (80, 0.846), (85, 1.0), (90, 1.275), (95, 1.886),
)  # fmt: skip
"""Quality and weight of a photograph as JPEG, 1 at quality 85: the geometric mean over the demo shop's photos."""


def best_within(write: Callable[[int], bytes], ceiling: int, limit: int) -> bytes:
    """Return what `write` gives for about the best quality from LOWEST_QUALITY to `ceiling` within `limit` bytes.

    Where even the lowest quality is too heavy its bytes are returned: whoever verifies them says so.
    """
    floor = min(LOWEST_QUALITY, ceiling)
    tried = {ceiling: write(ceiling)}
    fits, heavy = floor - 1, ceiling  # the best known to fit, or hoped to, and the least known not to
    while len(tried[heavy]) > limit and heavy - fits > 1 and len(tried) < MOST_TRIES:
        leap = fits < floor and len(tried) > 1  # the guess went wrong before: noise makes weights jump
        least = (fits + heavy) // 2 if leap else fits + 1
        quality = min(heavy - 1, max(least, _guess({q: len(content) for q, content in tried.items()}, limit)))
        tried[quality] = write(quality)
        if len(tried[quality]) > limit:
            heavy = quality
        elif len(tried[quality]) >= limit * NEAR_ENOUGH:
            return tried[quality]
        else:
            fits = quality
    light = [quality for quality, content in tried.items() if len(content) <= limit]
    if light:
        return tried[max(light)]
    return tried[floor] if floor in tried else write(floor)


def _guess(weights: dict[int, int], limit: int) -> int:
    """Return the quality whose weight should be just under `limit`.

    The usual course of weights is bent to go through the tries on both sides of the limit, or the nearest one.
    """
    aim = log(limit * (1 + NEAR_ENOUGH) / 2)
    beyond = {quality: log(weight) - log(_typical(quality)) for quality, weight in weights.items()}
    light = max((quality for quality, weight in weights.items() if weight <= limit), default=min(weights))
    heavy = min((quality for quality in weights if quality > light), default=light)
    tilt = (beyond[heavy] - beyond[light]) / (heavy - light) if heavy > light else 0.0
    expected = {q: log(_typical(q)) + beyond[light] + tilt * (q - light) for q in range(1, heavy)}
    return max((quality for quality, weight in expected.items() if weight <= aim), default=1)


def _typical(quality: int) -> float:
    """Return the typical weight on straight lines between the measured points, and beyond them as at the ends."""
    for (low, light), (high, heavy) in pairwise(TYPICAL):
        if low <= quality <= high:
            return light + (heavy - light) * (quality - low) / (high - low)
    return TYPICAL[0][1] if quality < TYPICAL[0][0] else TYPICAL[-1][1]


# Cut and scale: one decoded original becomes the finished pixels of any number of crops, the finest first.
#
# Scaling costs most of the time, so a crop is taken from the original reduced by 2, 4 or 8 where that keeps its
# detail, and with the cheapest kernel that will do. Which of them depends on the crop alone, so a crop has
# the same pixels whatever else is made of its photo. The limits below were found by measuring against one
# Lanczos step from the original, on photographs with a sensor's noise (tests/bench/bench_photos.py): a crop
# is at 40 dB PSNR and 0.99 SSIM or better.

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
        return Kernel.HAMMING if factor >= 1.05 else Kernel.BICUBIC
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


__all__ = ["ENCODERS", "ENDINGS", "SRGB", "CropJob", "CropPlan", "continued", "make_crops", "verify_picture"]

ENCODERS = f"crops 3, pillow {PIL.__version__}"
"""Part of a photo job's key: what the bytes of a crop depend on besides photo and plan."""

# The same megabytes serve picture after picture: fetching fresh ones from the system took a fifth of the time
# (the library's page "Block Allocator").
Image.core.set_block_size(1 << 20)  # type: ignore[attr-defined]
Image.core.set_blocks_max(16)  # type: ignore[attr-defined]


def make_crops(photo: Path, plan: CropPlan, paths: tuple[Path, ...]) -> None:
    """Write each crop of `plan` to the path in its place; the format is the crop's, whatever the path ends in.

    Raises:
        FieldError: the photo is gone or no longer the picture that was measured.
    """
    if len(paths) != len(plan.crops):
        raise ValueError(f"{len(plan.crops)} crops, but {len(paths)} paths")
    content = read_measured(photo, plan.sha256) if plan.sha256 else read_bytes(photo)
    credit = read_credit(photo, content)
    with closing(_finished(photo, content, plan)) as finished:
        for place, image in finished:
            crop = plan.crops[place]
            paths[place].write_bytes(encoded(image, crop, packet(credit, crop.alt)))


def _finished(photo: Path, content: bytes, plan: CropPlan) -> Generator[tuple[int, Image.Image]]:
    """Yield the place of each crop and its pixels, RGB in sRGB; the picture is decoded once."""
    with read_picture(photo, content) as original:
        if any(crop.cut.right > original.size[0] or crop.cut.bottom > original.size[1] for crop in plan.crops):
            raise FieldError("the picture was replaced by a smaller one meanwhile.", "Build again.")
        colours = colours_of(original.image.mode, original.profile)
        plain = [place for place, crop in enumerate(plan.crops) if not crop.linear]
        for place, crop in enumerate(plan.crops):
            if crop.linear:
                cut = crop.cut
                part = original.image.crop((cut.left, cut.top, cut.right, cut.bottom))
                image = on_page(colours.srgb(part), crop.background)
                yield place, continued(scaled_in_linear_light(image, inner_size(cut)), cut.pad)
        images = scaled(original.image, [plan.crops[place].cut for place in plain])
        del original
        for at, image in images:
            crop = plan.crops[plain[at]]
            yield plain[at], continued(on_page(colours.srgb(image), crop.background), crop.cut.pad)


# Ground continued beside a crop: a strip along the picture's own edge, mirrored, stretched over what lacks and strongly
# blurred, so that its light runs on and nothing on it can be made out; then the strip's own grain is laid over it, and
# the join is a slope rather than a line.

STRIP_SHARE = 0.05  # of the picture, what is stretched: the strip whose evenness is measured
SLOPE_SHARE = 0.4  # of the strip, over which picture and ground pass into each other
STRONG, ALONG = 0.6, 0.12  # radius of the blur as a share of the strip, away from the edge and along it
BLURRED_AT = 4  # how many pixels a side become one before the blur, which leaves nothing finer
GRAIN_OF_RESIDUE = 1.4  # deviation of white noise ÷ mean of what a 3 × 3 blur takes from it, 1 ÷ (√(8/9) × √(2/π))
UNIFORM_SPREAD = (256**2 - 1) ** 0.5 / 12**0.5  # deviation of bytes that are all as likely
MOST_GRAIN = 8  # levels: what differs more from its neighbours is no grain


_TURNS: Final = (None, Image.Transpose.ROTATE_90, Image.Transpose.ROTATE_180, Image.Transpose.ROTATE_270)
"""What brings the left, top, right and bottom side of a picture to the left."""


def continued(image: Image.Image, pad: tuple[int, int, int, int]) -> Image.Image:
    """Return an RGB picture with its ground continued by `pad` pixels left, top, right and bottom."""
    for side, spare in enumerate(pad):
        if spare:
            image = _continued(image, side, spare)
    return image


def _continued(image: Image.Image, side: int, spare: int) -> Image.Image:
    """Return the picture with so many lines of its ground beside one side; only the strip along it is turned."""
    wide, high = image.size
    across = high if side % 2 else wide
    strip_wide = min(across, max(2, round(across * STRIP_SHARE)))
    left, top = ((0, 0), (0, 0), (wide - strip_wide, 0), (0, high - strip_wide))[side]
    strip = image.crop((left, top, *((wide, top + strip_wide) if side % 2 else (left + strip_wide, high))))
    turn, back = _TURNS[side], _TURNS[-side]
    grown = _continued_left(strip.transpose(turn) if turn is not None else strip, spare)
    canvas = Image.new("RGB", (wide, high + spare) if side % 2 else (wide + spare, high), None)
    canvas.paste(image, ((spare, 0), (0, spare), (0, 0), (0, 0))[side])
    canvas.paste(grown.transpose(back) if back is not None else grown, (left, top))
    return canvas


def _continued_left(strip: Image.Image, spare: int) -> Image.Image:
    """Return the strip along the left side of a picture with so many columns of its ground before it."""
    strip_wide, high = strip.size
    slope = max(1, round(strip_wide * SLOPE_SHARE))
    mirrored = strip.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    ground = Image.new("RGB", (spare + strip_wide, high), None)
    ground.paste(mirrored.resize((spare, high), Kernel.BICUBIC), (0, 0))
    ground.paste(strip, (spare, 0))
    shown = spare + slope, high
    radii = strip_wide * STRONG / BLURRED_AT, strip_wide * ALONG / BLURRED_AT
    small = ground.reduce(BLURRED_AT).filter(ImageFilter.GaussianBlur(radii))
    blurred = small.resize(shown, Kernel.BILINEAR, (0, 0, shown[0] / BLURRED_AT, high / BLURRED_AT))
    grain = _grain(ground.size, _grain_of(strip)).crop((0, 0, *shown))
    blurred = ImageChops.add(blurred, Image.merge("RGB", (grain, grain, grain)), 1, -128)
    mask = Image.new("L", (shown[0], 1), 255)
    for column in range(slope):
        mask.putpixel((spare + column, 0), round(255 * (slope - column) / (slope + 1)))
    ground.paste(blurred, (0, 0), mask.resize(shown, Kernel.NEAREST))
    return ground


def _grain_of(strip: Image.Image) -> float:
    """Return the deviation of a strip's noise in levels, from how far pixels lie from the mean of their neighbours."""
    grey = strip.convert("L")
    residue = ImageChops.difference(grey, grey.filter(ImageFilter.BoxBlur(1))).histogram()[:MOST_GRAIN]
    return GRAIN_OF_RESIDUE * sum(level * many for level, many in enumerate(residue)) / max(1, sum(residue))


def _grain(size: tuple[int, int], deviation: float) -> Image.Image:
    """Return noise about 128, the same for a size on every machine: bytes of SHAKE-128 (FIPS 202), all as likely."""
    levels = hashlib.shake_128(f"{size[0]} x {size[1]}".encode()).digest(size[0] * size[1])
    shifts = [round(128 + (level - 127.5) * deviation / UNIFORM_SPREAD) for level in range(256)]
    return Image.frombytes("L", size, levels).point(shifts)


def encoded(image: Image.Image, crop: CropJob, xmp: bytes) -> bytes:
    """Return the file's bytes at the best quality up to the crop's that `largest_kb` allows."""
    if crop.largest_kb is None or crop.format == "png":
        return _written(image, crop, crop.quality, xmp)
    return best_within(lambda quality: _written(image, crop, quality, xmp), crop.quality, crop.largest_kb * 1000)


def _written(image: Image.Image, crop: CropJob, quality: int, xmp: bytes) -> bytes:
    out = BytesIO()
    chroma, common = crop.chroma, {"icc_profile": SRGB, "xmp": xmp}
    if crop.format == "jpeg":
        image.save(out, "JPEG", quality=quality, subsampling=chroma, optimize=True, progressive=False, **common)
    elif crop.format == "webp":  # its lossy form knows 4:2:0 alone
        image.save(out, "WEBP", quality=quality, method=4, lossless=False, **common)
    elif crop.format == "avif":
        image.save(out, "AVIF", quality=quality, subsampling=chroma, speed=6, max_threads=1, **common)
    elif crop.format == "png":
        chunks = PngImagePlugin.PngInfo()
        if xmp:
            chunks.add_itxt("XML:com.adobe.xmp", xmp.decode())
        image.save(out, "PNG", compress_level=6, pnginfo=chunks, icc_profile=SRGB)
    else:
        raise ValueError(f"no picture format {crop.format!r}")
    return out.getvalue()


def _srgb() -> bytes:
    """Return the sRGB profile (IEC 61966-2-1) with a fixed date, since the library writes today's."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes.fromhex("07cf000a0012000000000000")  # 1999-10-18; ICC.1:2010 7.2.8, dateTimeNumber
    return bytes(profile)


SRGB = _srgb()


def verify_picture(path: Path, recipe: object, arguments: tuple[object, ...], *, number: int | None = None) -> str:
    """Return "" when the file is a whole crop of the job, else what is wrong with it.

    `arguments` are the job's (photo, plan). With `number` (bind it by functools.partial) the file must be that
    crop; without, any crop of the plan. The file is opened afresh and read to its end; of a JPEG's pixels an
    eighth a side is computed, which notices the same damage.
    """
    plan = next(argument for argument in arguments if isinstance(argument, CropPlan))
    wanted = plan.crops if number is None else (plan.crops[number],)
    try:
        content = read_bytes(path)
        with told(), Image.open(BytesIO(content)) as shown:
            found, profile = ((shown.format or "").lower(), *shown.size), shown.info.get("icc_profile")
            shown.draft("L", (1, 1))  # of a JPEG an eighth of its pixels: its data is read to the end all the same
            shown.load()
    except FieldError as fault:
        return str(fault)
    alike = [crop for crop in wanted if found == (crop.format, crop.cut.width, crop.cut.height)]
    if not alike:
        return f"the crop is {found[0]} of {found[1]} × {found[2]}, which was not asked for."
    if profile != SRGB:
        return "the crop does not carry the sRGB profile."
    limits = [crop.largest_kb for crop in alike if crop.largest_kb is not None]
    if len(limits) == len(alike) and len(content) > max(limits) * 1000:
        return f"the crop {alike[0].name} weighs {len(content) / 1000:.0f} kB and cannot be brought to {max(limits)}."
    return ""


# A small upright picture of a photo, as an address that carries its own bytes (RFC 2397): pages without network.

QUALITY = 70


def fitted(size: tuple[int, int], longest: int) -> tuple[int, int]:
    """Return `size` so scaled that its longer side is `longest`, never larger than it was."""
    wide, high = size
    share = min(1.0, longest / max(size))
    return max(1, round(wide * share)), max(1, round(high * share))


def thumbnail(photo: Path, longest: int, content: bytes) -> str:
    """Return a JPEG of the photo with this content as a data: address.

    Raises:
        FieldError: it is no picture that can be used.
    """
    with read_picture(photo, content, at_least=longest) as original:
        image = original.image.resize(fitted(original.size, longest), Image.Resampling.BOX)
        upright = on_page(colours_of(image.mode, original.profile).srgb(image), "#ffffff")
    out = BytesIO()
    upright.save(out, "JPEG", quality=QUALITY, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode("ascii")
