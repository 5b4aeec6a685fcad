"""Photos: what is measured in a picture once, and where one crop of it is cut.

Frozen values of the standard library only, so that every layer can hold them. Shares run
from 0 to 1 over the upright picture, left to right and top to bottom; nothing here opens a file.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal, InvalidOperation
from math import isqrt

NEAR_LIKENESS = 20
"""Two pictures whose likeness lies at most so far apart look the same to a buyer (see `likeness_distance`)."""

BLURRED_BELOW = Decimal("0.5")
"""A photo of less sharpness looks blurred: found by blurring the demo shop's photos, no source."""

DARK_BELOW = Decimal("0.35")
"""A photo of less brightness looks dark: found by dimming the demo shop's photos, no source."""


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


WHOLE = FocusBox(Decimal(0), Decimal(0), Decimal(1), Decimal(1))


@dataclass(frozen=True, slots=True)
class Edges:
    """By how many levels of 255 a strip along each edge of the upright picture differs from an even ground.

    The level that 95 % of the strip stay within; a backdrop has 0 to 5, a hand or a box that the edge cuts 20 and more.
    """

    left: int = 0
    top: int = 0
    right: int = 0
    bottom: int = 0


EVEN = Edges()
CALM_AT_MOST = 12
"""An edge so uneven at most can be continued and passes for ground: found on the demo shop's photos, no source."""


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What is measured in one photo file, once.

    `width` and `height` are upright pixels, `orientation` the EXIF value found (1 upright). `profile` is "sRGB",
    "untagged" (taken as sRGB), "unreadable" (likewise) or the profile's own description. `mode` is "colour", "grey"
    or "CMYK". `ground` is the colour at the picture's edge, `plain` whether that ground is (nearly) one colour,
    `edges` how even each side of it is. `found` is where the subject is, `how_found` why; `detail` holds most of the
    detail. `sharpness` runs from 0 blurred to 1 sharp, `brightness` is the mean CIE lightness from 0 to 1, and
    `likeness` is compared by `likeness_distance`.
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
    edges: Edges = EVEN


UNMEASURED = PhotoFacts(
    width=3000,
    height=2250,
    sha256="",
    format="jpeg",
    mode="colour",
    profile="sRGB",
    orientation=1,
    frames=1,
    ground="#ffffff",
    plain=False,
    found=WHOLE,
    how_found="not looked at yet",
    detail=WHOLE,
    sharpness=Decimal(1),
    brightness=Decimal("0.5"),
    likeness=0,
)
"""Stand-in facts of a photo that nobody has opened yet, told by its empty `sha256`; nothing is published of it."""


def likeness_distance(first: int, second: int) -> int:
    """Return how far two pictures lie apart in the field where they differ most, in levels of 255.

    Copies in another size, weight or exposure differ little anywhere; another label on the same jar differs much in
    a few fields. At most NEAR_LIKENESS looks the same.
    """
    most = 0
    while first or second:
        apart = [((first >> shift) & 63) - ((second >> shift) & 63) for shift in (0, 6, 12)]
        most = max(most, sum(16 * step * step for step in apart))
        first, second = first >> 18, second >> 18
    return isqrt(most)


@dataclass(frozen=True, slots=True)
class Cut:
    """One crop of one photo in whole pixels: what is taken from the upright original, and its finished size.

    `pad` is continued ground left, top, right, bottom in finished pixels, already counted in `width` and `height`.
    `tight` says that the focus box is cut, `rough` that the ground continued is not even enough to pass.
    """

    left: int
    top: int
    right: int
    bottom: int
    width: int
    height: int
    pad: tuple[int, int, int, int] = (0, 0, 0, 0)
    tight: bool = False
    rough: bool = False

    @property
    def ground_share(self) -> Decimal:
        """The share of the finished picture that is continued ground."""
        left, top, right, bottom = self.pad
        inner = (self.width - left - right) * (self.height - top - bottom)
        return 1 - Decimal(inner) / (self.width * self.height)


def facts_as_json(facts: PhotoFacts) -> dict[str, str | int | bool]:
    """Return the facts as one flat JSON object, so that a build can remember them."""
    row: dict[str, str | int | bool] = {}
    for field in fields(PhotoFacts):
        value = getattr(facts, field.name)
        if isinstance(value, FocusBox | Edges):
            row[field.name] = f"{value.left} {value.top} {value.right} {value.bottom}"
        else:
            row[field.name] = str(value) if isinstance(value, Decimal) else value
    return row


def facts_from_json(row: Mapping[str, object]) -> PhotoFacts | None:
    """Return what `facts_as_json` gave; None when the object is not as it writes it today, and is to be measured."""
    try:
        values = {field.name: _read_back(field.type, row[field.name]) for field in fields(PhotoFacts)}
        facts = PhotoFacts(**values)  # type: ignore[arg-type]  # each was read as its field's type
        return facts if _is_possible(facts) else None
    except (KeyError, ValueError, TypeError, InvalidOperation):
        return None


def _is_possible(facts: PhotoFacts) -> bool:
    """Whether a picture can have these figures; a file that remembers them may be anybody's."""
    boxes = all(
        0 <= box.left < box.right <= 1 and 0 <= box.top < box.bottom <= 1 for box in (facts.found, facts.detail)
    )
    edges = (facts.edges.left, facts.edges.top, facts.edges.right, facts.edges.bottom)
    shares = all(0 <= share <= 1 for share in (facts.sharpness, facts.brightness))
    colour = re.fullmatch(r"#[0-9a-f]{6}", facts.ground) is not None
    return (
        boxes
        and shares
        and colour
        and min(facts.width, facts.height, facts.frames) >= 1
        and min(facts.likeness, *edges) >= 0
    )


def _read_back(kind: object, value: object) -> object:
    if kind is FocusBox and isinstance(value, str):
        return FocusBox(*(Decimal(side) for side in value.split()))
    if kind is Edges and isinstance(value, str):
        return Edges(*(int(side) for side in value.split()))
    if kind is Decimal and isinstance(value, str):
        return Decimal(value)
    if type(value) is not kind:
        raise TypeError(f"{value!r} is no {kind}")
    return value
