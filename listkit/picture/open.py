"""Open a picture safely: its size is checked before decoding, it is turned upright and brought to 8 bits.

Whatever is wrong with a file comes out as `FieldError` in the owner's words; no exception and no
warning of the picture library gets out. Orientation follows the EXIF tag 0x0112 (CIPA DC-008).
Of an animated picture, or one with several frames, the first is taken.
"""

import ctypes
import hashlib
import re
import struct
import threading
import warnings
import zlib
from array import array
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageChops, ImageCms, ImageFile, ImageMath, ImageStat, UnidentifiedImageError

from listkit import bounds
from listkit.picture.structure import AGAIN, refuse_costly, refuse_costly_tags
from listkit.problem import FieldError

try:
    import pillow_heif
except ImportError:  # an extra: without it a HEIC file is told as one that cannot be opened here
    HEIC_READABLE = False
else:
    pillow_heif.register_heif_opener()
    HEIC_READABLE = True

PIXEL_LIMIT = bounds.PICTURE_PIXELS
BYTE_LIMIT = bounds.PICTURE_BYTES
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "AVIF", *(("HEIF",) if HEIC_READABLE else ()))
STARTS = (b"\xff\xd8\xff", b"\x89PNG\r\n", b"RIFF", b"II*\0", b"MM\0*")
STARTS_LATER = (b"ftypavif", b"ftypheic", b"ftypmif1")  # after the four bytes of a length
_DRAWING = re.compile(rb"<(?:[A-Za-z][\w.-]*:)?svg[\s>/]")  # SVG 2, 5.1.2, with the prefix of a namespace or without
_HEAD = 4096  # bytes; a drawing is known by its beginning and never read

BROKEN = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, AttributeError, ArithmeticError,
    MemoryError, RuntimeError, struct.error, zlib.error, Image.DecompressionBombError,
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
    """An opened picture: `image` (L, RGB, RGBA or CMYK) is decoded and upright, still in its own colours.

    `size` is the whole upright size, even where `image` was decoded smaller. `profile` is the embedded ICC
    profile, b"" without one.
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
        raise _damaged() from None


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


def read_measured(path: Path, sha256: str) -> bytes:
    """Return the file's bytes as they were measured, so that no file is remembered as made of what it was not.

    Raises:
        FieldError: the file is gone, or was changed since.
    """
    content = read_bytes(path)
    if hashlib.sha256(content).hexdigest() != sha256:
        raise FieldError(f"{path.name} was changed while listkit was at work.", "Build again.")
    return content


def identified(path: Path, content: bytes) -> ImageFile.ImageFile:
    """Return the picture with its header read and nothing decoded; `path` only words the messages."""
    refuse_costly(content)
    with told(), quiet():
        try:
            return Image.open(BytesIO(content), formats=FORMATS)
        except UnidentifiedImageError:
            pass
    if path.suffix.lower() in {".heic", ".heif"} and not HEIC_READABLE:
        raise FieldError("HEIC pictures cannot be opened here.", "Export it as JPEG, or install pillow-heif.")
    if content.startswith(STARTS) or content[4:12] in STARTS_LATER:
        raise _damaged()
    if _DRAWING.search(content[:_HEAD]) or path.suffix.lower() in {".svg", ".svgz"}:
        hint = "Export it as PNG, at least 1200 pixels wide; a transparent background is fine."
        raise FieldError("this is an SVG drawing, which cannot be printed here.", hint)
    named = f", though its name ends in {path.suffix}" if path.suffix else ""
    raise FieldError(f"this is not a picture that can be opened{named}.", AGAIN)


@contextmanager
def read_picture(path: Path, content: bytes, *, at_least: int = 0) -> Iterator[Original]:
    """Yield the picture in `content`, decoded and upright, once there is room for it beside those of other threads.

    With `at_least` a JPEG may be decoded at a half, quarter or eighth, so long as its short side keeps that many.
    A thread that has a picture open waits for no other one.
    """
    picture = identified(path, content)
    size = _checked_size(picture)
    by = 1
    if at_least and picture.format in {"JPEG", "MPO"}:
        by = next((by for by in (8, 4, 2) if min(size) // by >= at_least), 1)
    with _room(len(content) + _bytes_of(picture, by)):
        yield _decoded(picture, by)


def _decoded(picture: ImageFile.ImageFile, by: int) -> Original:
    size = picture.size
    with told(), picture:
        with quiet():
            orientation = _orientation(picture)
            frames = getattr(picture, "n_frames", 1) if picture.format != "MPO" else 1
        profile = picture.info.get("icc_profile") or b""
        if by > 1:
            picture.draft(None, (size[0] // by, size[1] // by))
        picture.load()
        with quiet():
            turn = _orientation(picture)  # some decoders have turned the pixels themselves
        image = _eight_bits(picture)
        image = image.transpose(UPRIGHT[turn]) if turn in UPRIGHT else image
        image.info = {}
    size = (size[1], size[0]) if turn >= 5 else size
    kind = "jpeg" if picture.format == "MPO" else str(picture.format).lower()
    return Original(image, size, orientation, format=kind, frames=frames, profile=profile)


def _bytes_of(picture: ImageFile.ImageFile, by: int) -> int:
    """Return how much memory a picture takes while it is worked on: twice its pixels, for it may be turned."""
    pixels = picture.width * picture.height
    coefficients = 6 * pixels if "progressive" in picture.info else 0  # two bytes each, kept until the last scan
    each = 1 if picture.mode in {"1", "L", "P"} else 4  # as the library keeps them
    return coefficients + 2 * each * pixels // by**2


_free = threading.Condition()
_taken = 0
_LARGE = 100_000_000  # bytes that are worth giving back


@contextmanager
def _room(needed: int) -> Iterator[None]:
    """Take so many bytes of PICTURES_AT_ONCE, when others leave them; what needs more than all comes alone."""
    global _taken  # noqa: PLW0603 - of the process, as its memory is
    with _free:
        _free.wait_for(lambda: not _taken or _taken + needed <= bounds.PICTURES_AT_ONCE)
        _taken += needed
    if needed > _LARGE:
        with suppress(OSError, AttributeError, TypeError):  # another library of C: it keeps memory in its own way
            ctypes.CDLL(None).malloc_trim(0)  # what a thread has freed stays with it in glibc, so each kept a picture
    try:
        yield
    finally:
        with _free:
            _taken -= needed
            _free.notify_all()


def _checked_size(picture: ImageFile.ImageFile) -> tuple[int, int]:
    """Return the size as stored, before anything is decoded; FieldError where it cannot be borne or used."""
    wide, high = picture.size
    if wide < 1 or high < 1:
        raise FieldError(f"the picture has no pixels ({wide} × {high}).", AGAIN)
    if wide * high > PIXEL_LIMIT:
        raise _too_many(f" ({wide} × {high})")
    if picture.mode == "CMYK" and not picture.info.get("icc_profile"):
        raise FieldError("the picture is in printing colours (CMYK) without a colour profile.", "Export it as sRGB.")
    if picture.mode in {"F", "LAB", "HSV"}:
        raise FieldError(f"the picture stores its colours as {picture.mode}.", "Export it as sRGB with 8 bits.")
    return wide, high


def _damaged() -> FieldError:
    return FieldError("the picture is damaged or breaks off before its end.", AGAIN)


def _too_many(size: str) -> FieldError:
    return FieldError(f"the picture has more than {PIXEL_LIMIT // 1_000_000} million pixels{size}.", "Save it smaller.")


def exif_of(picture: ImageFile.ImageFile) -> Image.Exif:
    """Return the picture's EXIF tags; raises one of BROKEN, which FieldError is too, where they cannot be read."""
    if isinstance(raw := picture.info.get("Raw profile type exif"), str):  # in a text of a PNG, packed, as digits
        refuse_costly_tags(bytes.fromhex("".join(raw.split("\n")[3:])))
    return picture.getexif()


def _orientation(picture: ImageFile.ImageFile) -> int:
    try:
        value = exif_of(picture).get(ORIENTATION, 1)
    except BROKEN:  # a broken tag block says nothing about the pixels
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Return L, RGB, RGBA or CMYK with 8 bits a channel; a grey of 16 bits v becomes v ÷ 257, rounded."""
    if picture.mode.startswith("I"):
        return picture.convert("I").point([(level + 128) // 257 for level in range(65536)], "L")
    if picture.mode == "RGBA" and "transparency" not in picture.info:
        return picture
    if picture.mode in {"LA", "La", "PA", "RGBA", "RGBa"} or "transparency" in picture.info:
        return picture.convert("RGBA")
    if picture.mode in {"L", "RGB", "CMYK"}:
        return picture
    return picture.convert("L" if picture.mode == "1" else "RGB")


# Colours: from whatever a picture is stored in to sRGB (IEC 61966-2-1) through its embedded profile.
#
# A picture without a profile is taken as sRGB and the name "untagged" says so. A profile that moves no
# colour by more than one level of 255 is sRGB, whatever it calls itself, and nothing is converted.

_STEPS = (0, 32, 64, 96, 128, 160, 192, 224, 255)
_PROBE = bytes(level for red in _STEPS for green in _STEPS for blue in _STEPS for level in (red, green, blue))


@dataclass(frozen=True, slots=True)
class Colours:
    """How one photo's colours become sRGB: the profile's name, and the transform where one is needed."""

    name: str
    transform: ImageCms.ImageCmsTransform | None = None

    def srgb(self, image: Image.Image) -> Image.Image:
        """Return the picture in sRGB, mode RGB, or RGBA where it has alpha."""
        mode = _target(image.mode)
        if self.transform is not None:
            turned = ImageCms.applyTransform(image, self.transform)
            image = image if turned is None else turned
        return image if image.mode == mode else image.convert(mode)


def colours_of(mode: str, profile: bytes) -> Colours:
    """Return how a picture of `mode` (L, RGB, RGBA or CMYK) with this ICC profile becomes sRGB.

    The name is "untagged" without a profile, "unreadable" where it does not fit the picture: both are taken as sRGB.

    Raises:
        FieldError: a CMYK picture has no usable profile, so its colours cannot be known.
    """
    if not profile and mode != "CMYK":
        return Colours("untagged")
    try:
        if len(profile) > bounds.PICTURE_PROFILE:
            raise ValueError("a profile larger than any")
        name, moves = _judged(profile, "RGB" if mode == "RGBA" else mode)
        return Colours(name, _transform(profile, mode) if moves else None)
    except (ImageCms.PyCMSError, *BROKEN):
        if mode != "CMYK":
            return Colours("unreadable")
    raise FieldError("the profile of the picture's printing colours (CMYK) cannot be read.", "Export it as sRGB.")


@lru_cache(maxsize=32)
def _judged(profile: bytes, mode: str) -> tuple[str, bool]:
    """Return a profile's name and whether it moves any colour of a 9 × 9 × 9 grid by more than one level."""
    transform = _transform(profile, mode)
    if mode == "RGB":
        before = Image.frombytes(mode, (len(_STEPS) ** 3, 1), _PROBE)
        after = ImageCms.applyTransform(before, transform)
        moved = ImageStat.Stat(ImageChops.difference(before, before if after is None else after)).extrema
        if all(most <= 1 for _, most in moved):
            return "sRGB", False
    name = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(BytesIO(profile)))
    return " ".join(name.split()) or "unnamed", True


def _transform(profile: bytes, mode: str) -> ImageCms.ImageCmsTransform:
    return ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(BytesIO(profile)),
        ImageCms.createProfile("sRGB"),
        inMode=mode,
        outMode=_target(mode),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )


def _target(mode: str) -> str:
    return "RGBA" if mode == "RGBA" else "RGB"


def on_page(image: Image.Image, background: str) -> Image.Image:
    """Return an sRGB picture without alpha, as it looks on a page of that colour."""
    if image.mode != "RGBA":
        return image
    return Image.alpha_composite(Image.new("RGBA", image.size, background), image).convert("RGB")


def _linear(encoded: int) -> float:
    """IEC 61966-2-1: an encoded level from 0 to 255 as linear light from 0 to 1."""
    share = encoded / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def _encoded(linear: float) -> float:
    """IEC 61966-2-1: linear light from 0 to 1 as an encoded share from 0 to 1."""
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055


@cache
def to_linear() -> list[int]:
    """Return the linear light, 0 to 65535, of each 8 bit sRGB level."""
    return [round(_linear(level) * 65535) for level in range(256)]


@cache
def from_linear() -> list[int]:
    """Return the 8 bit sRGB level of each linear light from 0 to 65535."""
    return [round(_encoded(light / 65535) * 255) for light in range(65536)]


@cache
def _lightness_of_light() -> list[int]:
    """Return the CIE 1976 lightness L* (CIE 15, 8.2.1), 0 to 255 for 0 to 100, of each linear light from 0 to 65535."""
    shares = (light / 65535 for light in range(65536))
    return [round(2.55 * (116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3)) for y in shares]


def mean_lightness(image: Image.Image) -> float:
    """Return the mean CIE lightness L* ÷ 100 of an sRGB picture: 18 % grey gives 0.495.

    The luminance Y is 0.2126 R + 0.7152 G + 0.0722 B of linear light (Rec. ITU-R BT.709).
    """
    red, green, blue = (band.point(to_linear(), "I") for band in image.split())
    light: Image.Image = ImageMath.lambda_eval(
        lambda given: given["convert"](given["red"] * 0.2126 + given["green"] * 0.7152 + given["blue"] * 0.0722, "I"),
        red=red.convert("F"), green=green.convert("F"), blue=blue.convert("F"),
    )  # fmt: skip
    # Looked up here, for the library goes through a table of 65536 anew for each picture, and this one is small.
    lightness, levels = _lightness_of_light(), array("i", light.tobytes())
    return sum(lightness[level] for level in levels) / len(levels) / 255
