"""Finished crops: one photo is opened once and every crop of it written, for all channels.

The recipe of the photo jobs. A crop is upright, in sRGB with the profile embedded, and carries no metadata
but its alternative text and who made it. The same photo and crop give the same bytes, whatever else is made of
the photo: every setting of an encoder is stated, one thread each, and no time is written.
"""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import PIL
from PIL import Image, ImageCms, PngImagePlugin

from listkit.picture.colour import colours_of, on_page
from listkit.picture.credit import packet, read_credit
from listkit.picture.open import Original, read_bytes, read_measured, read_picture, told
from listkit.picture.plan import ENDINGS, CropJob, CropPlan
from listkit.picture.scale import inner_size, scaled, scaled_in_linear_light
from listkit.picture.weight import best_within
from listkit.problem import FieldError

__all__ = ["ENCODERS", "ENDINGS", "SRGB", "CropJob", "CropPlan", "make_crops", "verify_picture"]

ENCODERS = f"crops 1, pillow {PIL.__version__}"
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
    for place, image in _finished(photo, content, plan):
        crop = plan.crops[place]
        paths[place].write_bytes(encoded(image, crop, packet(credit, crop.alt)))


def _finished(photo: Path, content: bytes, plan: CropPlan) -> Iterator[tuple[int, Image.Image]]:
    """Yield the place of each crop and its pixels, RGB in sRGB; the picture is decoded once."""
    original = _fitting(photo, content, plan)
    colours = colours_of(original.image.mode, original.profile)
    plain = [place for place, crop in enumerate(plan.crops) if not crop.linear]
    for place, crop in enumerate(plan.crops):
        if crop.linear:
            cut = crop.cut
            part = original.image.crop((cut.left, cut.top, cut.right, cut.bottom))
            image = on_page(colours.srgb(part), crop.background)
            yield place, _padded(scaled_in_linear_light(image, inner_size(cut)), crop)
    images = scaled(original.image, [plan.crops[place].cut for place in plain])
    del original
    for at, image in images:
        crop = plan.crops[plain[at]]
        yield plain[at], _padded(on_page(colours.srgb(image), crop.background), crop)


def _fitting(photo: Path, content: bytes, plan: CropPlan) -> Original:
    """Return the photo decoded; FieldError when the plan was made for a larger picture."""
    original = read_picture(photo, content)
    if any(crop.cut.right > original.size[0] or crop.cut.bottom > original.size[1] for crop in plan.crops):
        raise FieldError("the picture was replaced by a smaller one meanwhile.", "Build again.")
    return original


def _padded(image: Image.Image, crop: CropJob) -> Image.Image:
    if not any(crop.cut.pad):
        return image
    canvas = Image.new("RGB", (crop.cut.width, crop.cut.height), crop.ground)
    canvas.paste(image, crop.cut.pad[:2])
    return canvas


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
    crop; without, any crop of the plan. The file is opened afresh and every pixel decoded.
    """
    plan = next(argument for argument in arguments if isinstance(argument, CropPlan))
    wanted = plan.crops if number is None else (plan.crops[number],)
    try:
        content = read_bytes(path)
        with told(), Image.open(BytesIO(content)) as shown:
            shown.load()
            found, profile = ((shown.format or "").lower(), *shown.size), shown.info.get("icc_profile")
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
