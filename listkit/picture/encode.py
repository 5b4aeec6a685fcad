"""Finished crops: one photo is opened once and every crop of it written, for all channels.

The recipe of the photo jobs. A crop is upright, in sRGB with the profile embedded, and carries no metadata
but its alternative text and who made it. The same photo and plan give the same bytes: every
setting of an encoder is stated, one thread each, no time is written.
"""

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageCms, PngImagePlugin

from listkit.model.photo import Cut
from listkit.picture.credit import packet, read_credit
from listkit.picture.open import read_bytes, read_picture
from listkit.picture.scale import finished
from listkit.problem import FieldError

LOWEST_QUALITY = 40  # below it edges show blocks; a crop that is still too heavy is told by `verify_picture`
ENDINGS = {"jpeg": ".jpg", "webp": ".webp", "avif": ".avif", "png": ".png"}


@dataclass(frozen=True, slots=True)
class CropJob:
    """One finished crop: where it is cut and how it is written.

    `format` is a key of ENDINGS; `quality` runs from 1 to 95 and is a ceiling where `largest_kb` (1000 bytes each) is
    stated. `chroma` "4:2:0" or "4:4:4". `background` goes under transparent parts, `ground` beside a padded cut.
    """

    name: str
    cut: Cut
    format: str = "jpeg"
    quality: int = 85
    largest_kb: int | None = None
    chroma: str = "4:2:0"
    background: str = "#ffffff"
    ground: str = "#ffffff"
    alt: str = ""


@dataclass(frozen=True, slots=True)
class CropPlan:
    """All crops of one photo, in the order of the files they make."""

    crops: tuple[CropJob, ...]


def make_crops(photo: Path, plan: CropPlan, paths: tuple[Path, ...]) -> None:
    """Write each crop of `plan` to the path in its place; the format is the crop's, whatever the path ends in.

    Raises:
        FieldError: the photo can no longer be opened as it could when it was measured.
    """
    content = read_bytes(photo)
    credit = read_credit(photo, content)
    original = read_picture(photo, content)
    for crop, path in zip(plan.crops, paths, strict=True):
        image = finished(
            original.image, original.profile, crop.cut, background=crop.background, ground=crop.ground
        )
        path.write_bytes(encoded(image, crop, packet(credit, crop.alt)))


def encoded(image: Image.Image, crop: CropJob, xmp: bytes) -> bytes:
    """Return the file's bytes at the best quality that `largest_kb` allows."""
    quality, content = crop.quality, _written(image, crop, crop.quality, xmp)
    while crop.largest_kb and len(content) > crop.largest_kb * 1000 and quality > LOWEST_QUALITY:
        quality = max(LOWEST_QUALITY, quality - 5)
        content = _written(image, crop, quality, xmp)
    return content


def _written(image: Image.Image, crop: CropJob, quality: int, xmp: bytes) -> bytes:
    out = BytesIO()
    common = {"icc_profile": SRGB, "xmp": xmp}
    match crop.format:
        case "jpeg":
            chroma = {"subsampling": crop.chroma, "optimize": True, "progressive": False}
            image.save(out, "JPEG", quality=quality, **chroma, **common)
        case "webp":
            image.save(out, "WEBP", quality=quality, method=4, lossless=False, **common)
        case "avif":
            image.save(out, "AVIF", quality=quality, subsampling=crop.chroma, speed=6, max_threads=1, **common)
        case "png":
            chunks = PngImagePlugin.PngInfo()
            if xmp:
                chunks.add_itxt("XML:com.adobe.xmp", xmp.decode())
            image.save(out, "PNG", compress_level=6, pnginfo=chunks, icc_profile=SRGB)
        case other:
            raise ValueError(f"no picture format {other!r}")
    return out.getvalue()


def _srgb() -> bytes:
    """Return the sRGB profile (IEC 61966-2-1) with a fixed date, since the library writes today's."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes.fromhex("07cf000a0012000000000000")  # 1999-10-18, ICC.1:2010 7.2.8 dateTimeNumber
    return bytes(profile)


SRGB = _srgb()


def verify_picture(path: Path, recipe: object, arguments: tuple[object, ...], *, number: int | None = None) -> str:
    """Return "" when the file is a whole crop of the job, else what is wrong with it.

    `arguments` are the job's (photo, plan). With `number` (bind it by functools.partial) the file must be that
    crop; without, any crop of the plan.
    """
    plan = next(argument for argument in arguments if isinstance(argument, CropPlan))
    wanted = plan.crops if number is None else (plan.crops[number],)
    try:
        content = read_bytes(path)
        shown = read_picture(path, content)
    except FieldError as fault:
        return str(fault)
    kinds = {(crop.format, crop.cut.width, crop.cut.height) for crop in wanted}
    if (shown.format, *shown.size) not in kinds:
        return f"the crop is {shown.format} of {shown.size[0]} × {shown.size[1]}, which was not asked for."
    if shown.profile != SRGB:
        return "the crop does not carry the sRGB profile."
    return ""
