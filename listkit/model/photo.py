"""Photos: what is measured in a picture once, and where one crop of it is cut.

Frozen values of the standard library only, so that every layer can hold them. Shares run
from 0 to 1 over the upright picture, left to right and top to bottom; nothing here opens a file.
"""

from dataclasses import dataclass
from decimal import Decimal

NEAR_LIKENESS = 20
"""Two pictures whose likeness differs in at most so many of 256 bits look the same to a buyer."""


@dataclass(frozen=True, slots=True)
class FocusBox:
    """The part of the upright picture that is never cut: shares from 0 to 1."""

    left: Decimal
    top: Decimal
    right: Decimal
    bottom: Decimal

    @property
    def area(self) -> Decimal:
        """The share of the picture that the box takes."""
        return (self.right - self.left) * (self.bottom - self.top)

    def covered_by(self, other: "FocusBox") -> Decimal:
        """Return the share of this box that lies inside `other`, 0 for a box without area."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        if self.area <= 0 or wide <= 0 or high <= 0:
            return Decimal(0)
        return wide * high / self.area


WHOLE = FocusBox(Decimal(0), Decimal(0), Decimal(1), Decimal(1))


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What is measured in one photo file, once.

    `width` and `height` are upright pixels, `orientation` the EXIF value found (1 upright). `profile` is
    "sRGB", "untagged" (taken as sRGB), "unreadable" (likewise) or the profile's own description. `mode` is
    "colour", "grey" or "CMYK". `ground` is the colour at the picture's edge, `plain` whether that ground is
    (nearly) one colour. `found` is where the subject is, `how_found` why; `detail` holds most of the detail.
    `sharpness` runs from 0 blurred to 1 sharp, `brightness` is the mean CIE lightness from 0 to 1, and
    `likeness` holds 256 bits of which few differ between pictures that look alike.
    """

    width: int
    height: int
    sha256: str
    format: str
    mode: str
    profile: str
    orientation: int
    frames: int
    ground: str
    plain: bool
    found: FocusBox
    how_found: str
    detail: FocusBox
    sharpness: Decimal
    brightness: Decimal
    likeness: int


def likeness_distance(one: int, other: int) -> int:
    """Return how many of the 256 likeness bits differ; at most NEAR_LIKENESS looks the same."""
    return (one ^ other).bit_count()


@dataclass(frozen=True, slots=True)
class Cut:
    """One crop of one photo in whole pixels: what is taken from the upright original, and its finished size.

    `pad` is added ground left, top, right, bottom in finished pixels, already counted in `width` and `height`.
    `tight` says that the ratio could not hold the focus box and no ground was added.
    """

    left: int
    top: int
    right: int
    bottom: int
    width: int
    height: int
    pad: tuple[int, int, int, int] = (0, 0, 0, 0)
    tight: bool = False
