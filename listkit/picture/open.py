"""Open a picture safely: size checked before decoding, turned upright, brought to sRGB.

Whatever is wrong with a file comes out as `FieldError` in the owner's words; no exception and
no warning of the picture library gets out. Colours obey the embedded profile; a picture
without one is taken as sRGB. Orientation follows the EXIF tag 0x0112 (CIPA DC-008).
"""

import struct
import threading
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageCms, ImageFile, UnidentifiedImageError

from listkit.problem import FieldError

try:
    import pillow_heif
except ImportError:  # an optional extra: without it a HEIC file is told as one that cannot be opened
    HEIC_READABLE = False
else:
    pillow_heif.register_heif_opener()
    HEIC_READABLE = True

PIXEL_LIMIT = 80_000_000
BYTE_LIMIT = 500_000_000
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "AVIF", *(("HEIF",) if HEIC_READABLE else ()))
AGAIN = "Export or copy the picture again, as JPEG or PNG."

BROKEN = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, AttributeError, ArithmeticError,
    MemoryError, RuntimeError, NotImplementedError, struct.error, zlib.error, Image.DecompressionBombError,
)  # fmt: skip
"""All that the decoders raise on damaged or hostile bytes."""

UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""EXIF orientation to what turns the stored pixels upright."""

ORIENTATION = 0x0112
_quiet = threading.RLock()  # catch_warnings swaps a list that all threads share


@dataclass(frozen=True, slots=True)
class Original:
    """An opened picture: `image` decoded and upright, still in its own colours (see `to_srgb`).

    `size` is upright and whole even where `image` was decoded smaller. `profile` is the embedded ICC profile.
    """

    image: Image.Image
    size: tuple[int, int]
    orientation: int
    format: str
    frames: int
    profile: bytes


@contextmanager
def quiet() -> Iterator[None]:
    """Keep the picture library's warnings silent: what it warns of in headers is checked here."""
    with _quiet, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


@contextmanager
def told() -> Iterator[None]:
    """Turn what the picture library raises into a FieldError."""
    try:
        yield
    except FieldError:
        raise
    except Image.DecompressionBombError:
        raise _too_many("") from None
    except BROKEN:
        raise FieldError("the picture is damaged or breaks off before its end.", AGAIN) from None


def read_bytes(path: Path) -> bytes:
    """Return the file's bytes; FieldError when it is gone, unreadable, empty or beyond BYTE_LIMIT."""
    try:
        if path.stat().st_size > BYTE_LIMIT:
            raise FieldError(f"the file is larger than {BYTE_LIMIT // 1_000_000} MB.", "Export it as JPEG.")
        content = path.read_bytes()
    except FileNotFoundError:
        raise FieldError("the file is no longer there.", "Put it back, or take its entry out.") from None
    except OSError as fault:
        raise FieldError(f"the file cannot be read: {fault.strerror}.", "Check its permissions.") from None
    if not content:
        raise FieldError("the file is empty.", AGAIN)
    return content


def read_picture(path: Path, content: bytes, *, at_least: int = 0) -> Original:
    """Return the picture in `content`, decoded and upright; `path` only words the messages.

    `at_least` lets a JPEG be decoded at a half, quarter or eighth as long as both sides keep that many pixels.
    """
    picture = identified(path, content)
    with told(), picture:
        with quiet():
            size, orientation = _check(picture)
            frames = getattr(picture, "n_frames", 1) if picture.format != "MPO" else 1
        profile = picture.info.get("icc_profile") or b""
        if at_least and picture.format == "JPEG":
            picture.draft(None, (at_least, at_least))
        picture.load()
        with quiet():
            left_to_do = _orientation(picture)  # some decoders have turned the pixels themselves
        image = _eight_bits(picture)
        if left_to_do in UPRIGHT:
            image = image.transpose(UPRIGHT[left_to_do])
        image.info = {}
    if left_to_do >= 5:
        size = size[1], size[0]
    kind = "jpeg" if picture.format == "MPO" else str(picture.format).lower()
    return Original(image, size, orientation, kind, frames, profile)


def identified(path: Path, content: bytes) -> ImageFile.ImageFile:
    """Return the picture with its header read and nothing decoded."""
    with told(), quiet():
        try:
            return Image.open(BytesIO(content), formats=FORMATS)
        except UnidentifiedImageError:
            pass
    if path.suffix.lower() in {".heic", ".heif"} and not HEIC_READABLE:
        raise FieldError("HEIC pictures cannot be opened here.", "Export it as JPEG, or install listkit[heic].")
    named = f", though its name ends in {path.suffix}" if path.suffix else ""
    raise FieldError(f"this is not a picture that can be opened{named}.", AGAIN)


def _check(picture: ImageFile.ImageFile) -> tuple[tuple[int, int], int]:
    """Return size and orientation as stored, before anything is decoded."""
    wide, high = picture.size
    if wide < 1 or high < 1:
        raise FieldError(f"the picture has no pixels ({wide} × {high}).", AGAIN)
    if wide * high > PIXEL_LIMIT:
        raise _too_many(f" ({wide} × {high})")
    if picture.mode == "CMYK" and not picture.info.get("icc_profile"):
        raise FieldError("the picture is in printing colours (CMYK) without a colour profile.", "Export it as sRGB.")
    if picture.mode in {"F", "LAB", "HSV"}:
        raise FieldError(f"the picture stores its colours as {picture.mode}.", "Export it as sRGB with 8 bits.")
    return (wide, high), _orientation(picture)


def _too_many(size: str) -> FieldError:
    limit = PIXEL_LIMIT // 1_000_000
    return FieldError(f"the picture has more than {limit} million pixels{size}.", "Save it with fewer.")


def _orientation(picture: ImageFile.ImageFile) -> int:
    try:
        value = picture.getexif().get(ORIENTATION, 1)
    except BROKEN:  # a broken tag block says nothing about the pixels
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Return L, RGB, RGBA or CMYK with 8 bits a channel; 16 bits v become ⌊v ÷ 257⌉."""
    if picture.mode.startswith("I"):
        wide = picture.convert("I") if picture.mode != "I;16" else picture
        return wide.point([(v + 128) // 257 for v in range(65536)], "L")
    if picture.mode in {"L", "RGB", "RGBA", "CMYK"} and "transparency" not in picture.info:
        return picture
    alpha = picture.mode in {"LA", "La", "PA", "RGBA", "RGBa"} or "transparency" in picture.info
    if alpha:
        return picture.convert("RGBA")
    return picture.convert("L" if picture.mode == "1" else "RGB")


def to_srgb(image: Image.Image, profile: bytes) -> tuple[Image.Image, str]:
    """Return the picture in sRGB (RGB, or RGBA where it has alpha) and the name of the profile that was obeyed.

    The name is "untagged" without a profile and "unreadable" where the profile does not fit the picture:
    both are taken as sRGB. A profile that moves no colour by more than one level is "sRGB" and moves none.
    """
    mode = "RGBA" if image.mode == "RGBA" else "RGB"
    if not profile:
        return _plain(image, mode), "untagged"
    with told():
        try:
            transform, name, changes = _transform(profile, image.mode, mode)
        except (ImageCms.PyCMSError, *BROKEN):
            if image.mode == "CMYK":
                raise FieldError("the picture's colour profile cannot be read.", "Export it as sRGB.") from None
            return _plain(image, mode), "unreadable"
    if not changes:
        return _plain(image, mode), "sRGB"
    turned = ImageCms.applyTransform(image, transform)
    return (_plain(image, mode) if turned is None else turned), name


def _plain(image: Image.Image, mode: str) -> Image.Image:
    return image if image.mode == mode else image.convert(mode)


def _transform(profile: bytes, source: str, target: str) -> tuple[ImageCms.ImageCmsTransform, str, bool]:
    """Return the transform to sRGB, its source's name, and whether it changes any colour by more than a level."""
    embedded = ImageCms.ImageCmsProfile(BytesIO(profile))
    name = ImageCms.getProfileDescription(embedded).strip() or "unnamed"
    transform = ImageCms.buildTransform(
        embedded,
        ImageCms.createProfile("sRGB"),
        source,
        target,
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )
    if source not in {"RGB", "RGBA"}:
        return transform, name, True
    probe = Image.new(source, (17 * 17, 17))
    steps = [min(255, step * 16) for step in range(17)]
    colours = [(r, g, b) for r in steps for g in steps for b in steps]
    probe.putdata([(*c, 255) for c in colours] if source == "RGBA" else colours)
    shown = ImageCms.applyTransform(probe, transform)
    if shown is None:
        return transform, name, True
    before, after = probe.tobytes(), shown.tobytes()
    return transform, name, max(abs(a - b) for a, b in zip(before, after, strict=True)) > 1
