"""What is to be made of one photo: frozen values that a job carries to whichever process makes the crops."""

from dataclasses import dataclass

from listkit.model.photo import Cut

ENDINGS = {"jpeg": ".jpg", "webp": ".webp", "avif": ".avif", "png": ".png"}
"""The formats a crop can be written in, and the ending of its file name."""


@dataclass(frozen=True, slots=True)
class CropJob:
    """One finished crop: where it is cut and how it is written.

    `format` is a key of ENDINGS. `quality` runs from 1 to 95, a ceiling where `largest_kb` (of 1000 bytes) is stated.
    `chroma` is "4:2:0" or "4:4:4". `background` goes under transparent parts, `ground` beside a padded cut.
    `linear` scales amounts of light instead of encoded levels.
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
    linear: bool = False


@dataclass(frozen=True, slots=True)
class CropPlan:
    """All crops of one photo, in the order of the files they make; `sha256` is the photo's when it was measured."""

    crops: tuple[CropJob, ...]
    sha256: str = ""
