"""A small upright picture of a photo, as an address that carries its own bytes (RFC 2397): pages without network."""

import base64
from io import BytesIO
from pathlib import Path

from PIL import Image

from listkit.picture.colour import colours_of, on_page
from listkit.picture.open import read_measured, read_picture

QUALITY = 70


def fitted(size: tuple[int, int], longest: int) -> tuple[int, int]:
    """Return `size` so scaled that its longer side is `longest`, never larger than it was."""
    wide, high = size
    share = min(1.0, longest / max(size))
    return max(1, round(wide * share)), max(1, round(high * share))


def thumbnail(photo: Path, longest: int, sha256: str) -> str:
    """Return a JPEG of the photo as a data: address; `sha256` is the photo's when it was measured.

    Raises:
        FieldError: it is no picture that can be used, or not the one that was measured.
    """
    original = read_picture(photo, read_measured(photo, sha256), at_least=longest)
    image = original.image.resize(fitted(original.size, longest), Image.Resampling.BOX)
    upright = on_page(colours_of(image.mode, original.profile).srgb(image), "#ffffff")
    out = BytesIO()
    upright.save(out, "JPEG", quality=QUALITY, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode("ascii")
