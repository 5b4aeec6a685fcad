"""Open a picture safely: its size is checked before decoding, it is turned upright and brought to 8 bits.

Whatever is wrong with a file comes out as `FieldError` in the owner's words; no exception and no
warning of the picture library gets out. Orientation follows the EXIF tag 0x0112 (CIPA DC-008).
Of an animated picture, or one with several frames, the first is taken.
"""

import hashlib
import struct
import threading
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageFile, UnidentifiedImageError

from listkit.problem import FieldError

try:
    import pillow_heif
except ImportError:  # an extra: without it a HEIC file is told as one that cannot be opened here
    HEIC_READABLE = False
else:
    pillow_heif.register_heif_opener()
    HEIC_READABLE = True

PIXEL_LIMIT = 80_000_000
BYTE_LIMIT = 500_000_000
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "AVIF", *(("HEIF",) if HEIC_READABLE else ()))
STARTS = (b"\xff\xd8\xff", b"\x89PNG\r\n", b"RIFF", b"II*\0", b"MM\0*")
STARTS_LATER = (b"ftypavif", b"ftypheic", b"ftypmif1")  # after the four bytes of a length
AGAIN = "Export or copy the picture again, as JPEG or PNG."

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
    with told(), quiet():
        try:
            return Image.open(BytesIO(content), formats=FORMATS)
        except UnidentifiedImageError:
            pass
    if path.suffix.lower() in {".heic", ".heif"} and not HEIC_READABLE:
        raise FieldError("HEIC pictures cannot be opened here.", "Export it as JPEG, or install pillow-heif.")
    if content.startswith(STARTS) or content[4:12] in STARTS_LATER:
        raise _damaged()
    named = f", though its name ends in {path.suffix}" if path.suffix else ""
    raise FieldError(f"this is not a picture that can be opened{named}.", AGAIN)


def read_picture(path: Path, content: bytes, *, at_least: int = 0) -> Original:
    """Return the picture in `content`, decoded and upright.

    With `at_least` a JPEG may be decoded at a half, quarter or eighth, so long as its short side keeps that many.
    """
    picture = identified(path, content)
    with told(), picture:
        with quiet():
            size, orientation = _check(picture)
            frames = getattr(picture, "n_frames", 1) if picture.format != "MPO" else 1
        profile = picture.info.get("icc_profile") or b""
        if at_least and picture.format in {"JPEG", "MPO"}:
            by = next((by for by in (8, 4, 2) if min(size) // by >= at_least), 1)
            picture.draft(None, (size[0] // by, size[1] // by))
        picture.load()
        with quiet():
            turn = _orientation(picture)  # some decoders have turned the pixels themselves
        image = _eight_bits(picture)
        image = image.transpose(UPRIGHT[turn]) if turn in UPRIGHT else image
        image.info = {}
    size = (size[1], size[0]) if turn >= 5 else size
    kind = "jpeg" if picture.format == "MPO" else str(picture.format).lower()
    return Original(image, size, orientation, kind, frames, profile)


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


def _damaged() -> FieldError:
    return FieldError("the picture is damaged or breaks off before its end.", AGAIN)


def _too_many(size: str) -> FieldError:
    return FieldError(f"the picture has more than {PIXEL_LIMIT // 1_000_000} million pixels{size}.", "Save it smaller.")


def _orientation(picture: ImageFile.ImageFile) -> int:
    try:
        value = picture.getexif().get(ORIENTATION, 1)
    except BROKEN:  # a broken tag block says nothing about the pixels
        return 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Return L, RGB, RGBA or CMYK with 8 bits a channel; a grey of 16 bits v becomes v ÷ 257, rounded."""
    if picture.mode.startswith("I"):
        return picture.convert("I").point([(level + 128) // 257 for level in range(65536)], "L")
    if picture.mode in {"LA", "La", "PA", "RGBA", "RGBa"} or "transparency" in picture.info:
        return picture.convert("RGBA")
    if picture.mode in {"L", "RGB", "CMYK"}:
        return picture
    return picture.convert("L" if picture.mode == "1" else "RGB")
