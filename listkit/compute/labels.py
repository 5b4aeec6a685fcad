"""Where labels or cards lie on a sheet or roll, and why they cannot lie as they are asked to. Millimetres, exact."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from listkit.model.fields import Shape
from listkit.model.labels import PAPERS, Face, Laid
from listkit.problem import quoted
from listkit.units.length import MM_PER_INCH, Size
from listkit.units.shown import Measures

EDGE: Final = Decimal(5)  # what many printers leave white at a sheet's edge; common practice, no source
_NONE: Final = Decimal(0)


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A sheet: its size, and the labels on it: how many, where the first lies, and how far the next is."""

    sheet: Face
    label: Face
    columns: int
    rows: int
    left: Decimal
    top: Decimal
    across: Decimal
    down: Decimal

    @property
    def places(self) -> tuple[tuple[Decimal, Decimal], ...]:
        """Left and top edge of each label, row by row."""
        return tuple(
            (self.left + column * self.across, self.top + row * self.down)
            for row in range(self.rows)
            for column in range(self.columns)
        )

    @property
    def right(self) -> Decimal:
        """Where the last column ends."""
        return self.left + (self.columns - 1) * self.across + self.label.width

    @property
    def bottom(self) -> Decimal:
        """Where the last row ends."""
        return self.top + (self.rows - 1) * self.down + self.label.height


@dataclass(frozen=True, slots=True)
class Misfit:
    """Why labels cannot lie so: the key to mend, what is wrong, what to write."""

    key: str
    message: str
    hint: str


@dataclass(frozen=True, slots=True)
class _Way:
    """One direction: the sheet (None for a roll), one label, and what the owner states."""

    sheet: Decimal | None
    label: Decimal
    count: int | None
    margin: Decimal | None
    pitch: Decimal | None

    @property
    def step(self) -> Decimal:
        return self.label if self.pitch is None else self.pitch

    def most(self, room: Decimal) -> int:
        """Return how many go into `room`: the last one needs no pitch."""
        if room < self.label or not self.step:
            return 0
        return int(((room - self.label) / self.step).to_integral_value(ROUND_FLOOR)) + 1

    def counted(self) -> int:
        if self.count is not None:
            return self.count
        if self.sheet is None:
            return 1
        room = self.sheet - 2 * EDGE if self.margin is None else self.sheet - self.margin
        return max(1, self.most(room))

    def first(self, count: int) -> Decimal:
        if self.margin is not None:
            return self.margin
        return _NONE if self.sheet is None else (self.sheet - (count - 1) * self.step - self.label) / 2

    def length(self, count: int) -> Decimal:
        return 2 * self.first(count) + (count - 1) * self.step + self.label if self.sheet is None else self.sheet


def sheet_plan(laid: Laid) -> SheetPlan:
    """Return how labels lie; what is left out is as many as fit, in the middle, edge to edge.

    Where the owner says no more than which sheet it is, and cuts by marks, it lies the way on which more labels fit.
    """
    across, down = _ways(laid)
    columns, rows = across.counted(), down.counted()
    return SheetPlan(
        sheet=Face(across.length(columns), down.length(rows)),
        label=laid.size,
        columns=columns,
        rows=rows,
        left=across.first(columns),
        top=down.first(rows),
        across=across.step,
        down=down.step,
    )


def _face(laid: Laid) -> Face | None:
    """Return the sheet as it is printed: turned where nothing is stated that depends on how it lies, and more fit so.

    A sheet of a size of its own is left as it is: it may be what a printer takes in one way alone.
    """
    face = laid.sheet.face
    stated = (laid.columns, laid.rows, laid.margin_left, laid.margin_top, laid.pitch_across, laid.pitch_down)
    if face is None or laid.sheet.name not in PAPERS or not laid.crop_marks or any(each is not None for each in stated):
        return face
    if not _held(face, laid.size):  # which is told, with the side that is too long
        return face
    return max((face, Face(face.height, face.width)), key=lambda way: _held(way, laid.size))


def _held(sheet: Face, label: Face) -> int:
    """Return how many labels fit on a sheet edge to edge, off what printers leave white."""
    across, down = (
        _Way(side, of_label, None, None, None).most(side - 2 * EDGE)
        for side, of_label in ((sheet.width, label.width), (sheet.height, label.height))
    )
    return across * down


def _ways(laid: Laid) -> tuple[_Way, _Way]:
    face, size = _face(laid), laid.size
    margins = [None if margin is None else margin.mm for margin in (laid.margin_left, laid.margin_top)]
    pitches = [None if pitch is None else pitch.mm for pitch in (laid.pitch_across, laid.pitch_down)]
    return (
        _Way(face.width if face else None, size.width, laid.columns, margins[0], pitches[0]),
        _Way(face.height if face else None, size.height, laid.rows, margins[1], pitches[1]),
    )


def misfits(laid: Laid, what: str, measures: Measures) -> Iterator[Misfit]:
    """Yield what keeps labels from lying beside each other on their sheet; `what` is "labels" or "cards"."""
    across, down = _ways(laid)
    yield from _misfits(across, what, measures, pitch="pitch_across", counts="columns", way_of="wide")
    yield from _misfits(down, what, measures, pitch="pitch_down", counts="rows", way_of="high")


def _misfits(way: _Way, what: str, measures: Measures, *, pitch: str, counts: str, way_of: str) -> Iterator[Misfit]:
    """Yield the misfits of one direction; `pitch` and `counts` are the keys to mend, `way_of` is "wide" or "high"."""
    length = measures.length
    count, first = way.counted(), way.first(way.counted())
    if way.step < way.label and (count > 1 or way.step == 0):
        message = f"{what} {length(way.label)} {way_of} lie {length(way.step)} apart, "
        message += f"{length(way.label - way.step)} of them upon the next."
        yield Misfit(pitch, message, f"Write {quoted(measures.at_least(way.label))} at least.")
        return
    if way.sheet is None:
        return
    end = first + (count - 1) * way.step + way.label
    if first < 0 or end > way.sheet:
        over = end - way.sheet if first >= 0 else -2 * first
        room = way.sheet - (way.margin or _NONE)
        message = f"{count} {counts} of {what}" if count > 1 else what
        message += f" {length(way.label)} {way_of} need {length(over)} more than the sheet of {length(way.sheet)} has."
        most = way.most(room)
        fits = f"{what.capitalize()} at most {measures.at_most(max(room, _NONE))} {way_of} fit."
        hint = f"Write {counts} = {most}, or smaller {what}." if most else fits
        yield Misfit(counts if count > 1 else "size", message, hint)


# How large the type of a label must be at least: by the area of the panel it stands on, or by what is inside.
#
# Heights are millimetres of what the rule measures: in words of small letters the letter "o" or its equal, so
# without ascenders; of a quantity's figures the figures themselves. The rules in force where one sells decide, not
# this module.

PI: Final = Decimal("3.14159265358979323846")
SQUARE_INCH: Final = MM_PER_INCH**2  # in mm²
# 21 CFR 701.13(i) and 16 CFR 500.21(a), from memory: panels up to so many square inches, the height in inches. The last
# step is 16 CFR 500.21 alone.
_PANEL: Final = (
    (Decimal(5), Decimal("0.0625")),
    (Decimal(25), Decimal("0.125")),
    (Decimal(100), Decimal("0.1875")),
    (Decimal(400), Decimal("0.25")),
)
_LARGEST: Final = Decimal("0.5")
# Directive 76/211/EEC, Annex I, 3.1: up to so many grams or millilitres, the figures' height in mm. From memory.
_QUANTITY: Final = ((Decimal(50), Decimal(2)), (Decimal(200), Decimal(3)), (Decimal(1000), Decimal(4)))
_LARGEST_QUANTITY: Final = Decimal(6)
# 21 CFR 701.3(b) for ingredients and, from memory, 740.2(b) for warnings: a sixteenth of an inch.
SMALL_IN_US: Final = MM_PER_INCH / 16
# Regulation (EU) No 1169/2011, article 13(2), from memory, of food: the nearest published for what must be legible.
SMALL_ELSEWHERE: Final = Decimal("1.2")


@dataclass(frozen=True, slots=True)
class TypeHeights:
    """The least heights on one label, in mm.

    `letters` of the declared contents (their small letters), `figures` of its figures, `small` of everything else
    that must be read (its small letters). Zero where a rule asks for none.
    """

    letters: Decimal
    figures: Decimal
    small: Decimal


def panel_area(outside: Size, shape: Shape = Shape.BOX) -> Decimal:
    """Return the area of the principal display panel in mm², as 21 CFR 701.13(e) measures it (from memory).

    Of a box its largest side; of a cylinder that stands 40 % of height by circumference; of any other shape 40 % of
    the whole surface. A lying cylinder is taken as it stands, its height being its third side.
    """
    length, width, height = outside.sides
    if shape is Shape.CYLINDER:
        return Decimal("0.4") * height * PI * length
    if shape is Shape.BALL:
        return Decimal("0.4") * PI * length**2
    return max(length * width, length * height, width * height)


def panel_of(outside: Size, shape: Shape, label: Face) -> Decimal:
    """Return the area in mm² of the panel that declared contents stand on: what a label goes on, or the label itself.

    A label may go round what it lies on, which makes its panel no larger; one that is larger than the whole surface is
    a card or tag, and what a buyer sees is its own face (21 CFR 701.10, from memory).
    """
    length, width, height = outside.sides
    if shape is Shape.BALL:
        surface = PI * length**2
    elif shape is Shape.CYLINDER:
        surface = PI * length * (height + length / 2)
    else:
        surface = 2 * (length * width + length * height + width * height)
    face = label.width * label.height
    return face if face > surface else panel_area(outside, shape)


def panel_height(area: Decimal) -> Decimal:
    """Return the least height of declared contents on a panel of `area` mm², in mm; its bounds belong below them."""
    inches = area / SQUARE_INCH
    height = next((height for most, height in _PANEL if inches <= most), _LARGEST)
    return height * MM_PER_INCH


def quantity_height(amount: Decimal) -> Decimal:
    """Return the least height of the figures of a quantity in grams or millilitres, in mm."""
    return next((height for most, height in _QUANTITY if amount <= most), _LARGEST_QUANTITY)


def small_height(country: str) -> Decimal:
    """Return the least height of ingredients and cautions in a country, in mm."""
    return SMALL_IN_US if country == "US" else SMALL_ELSEWHERE


def type_heights(area: Decimal, amount: Decimal, country: str, *, rule: str | None = None) -> TypeHeights:
    """Return the least heights on a label.

    Args:
        area: of the panel, in mm².
        amount: the largest single quantity that is declared, in grams or millilitres; 0 where there is none.
        country: where the shop is; outside the United States figures go by the quantity as well.
        rule: "panel area", or "quantity", which leaves the panel aside; None is the country's own, the panel's in the
            United States alone.
    """
    rule = rule or ("panel area" if country == "US" else "quantity")
    letters = panel_height(area) if rule == "panel area" else Decimal(0)
    figures = quantity_height(amount) if amount and (country != "US" or rule == "quantity") else Decimal(0)
    small = small_height(country)
    return TypeHeights(max(letters, small), figures, small)
