"""Where labels or cards lie on a sheet or roll, and why they cannot lie as they are asked to. Millimetres, exact."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from listkit.model.printed import Face, Laid

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
    """Why labels cannot lie so: the key to mend, what was found, what to write."""

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
    """Return how labels lie; what is left out is as many as fit, in the middle, edge to edge."""
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


def _ways(laid: Laid) -> tuple[_Way, _Way]:
    face, size = laid.sheet.face, laid.size
    margins = [None if margin is None else margin.mm for margin in (laid.margin_left, laid.margin_top)]
    pitches = [None if pitch is None else pitch.mm for pitch in (laid.pitch_across, laid.pitch_down)]
    return (
        _Way(face.width if face else None, size.width, laid.columns, margins[0], pitches[0]),
        _Way(face.height if face else None, size.height, laid.rows, margins[1], pitches[1]),
    )


def misfits(laid: Laid, what: str) -> Iterator[Misfit]:
    """Yield what keeps labels from lying beside each other on their sheet; `what` is "labels" or "cards"."""
    across, down = _ways(laid)
    yield from _misfits(across, ("pitch_across", "columns", "wide"), what)
    yield from _misfits(down, ("pitch_down", "rows", "high"), what)


def _misfits(way: _Way, words: tuple[str, str, str], what: str) -> Iterator[Misfit]:
    pitch, counts, measure = words
    count, first = way.counted(), way.first(way.counted())
    if way.step < way.label and (count > 1 or way.step == 0):
        message = f"{what} {_mm(way.label)} {measure} lie {_mm(way.step)} apart, {_mm(way.label - way.step)} of them "
        yield Misfit(pitch, f"{message}upon the next.", f'Write "{_mm(way.label)}" at least.')
        return
    if way.sheet is None:
        return
    end = first + (count - 1) * way.step + way.label
    if first < 0 or end > way.sheet:
        over = end - way.sheet if first >= 0 else -2 * first
        room = way.sheet - (way.margin or _NONE)
        message = f"{count} {counts} of {what}" if count > 1 else what
        message += f" {_mm(way.label)} {measure} need {_mm(over)} more than the sheet of {_mm(way.sheet)} has."
        most = way.most(room)
        fits = f"{what.capitalize()} at most {_mm(max(room, _NONE))} {measure} fit."
        hint = f"Write {counts} = {most}, or smaller {what}." if most else fits
        yield Misfit(counts if count > 1 else "size", message, hint)


def _mm(length: Decimal) -> str:
    return f"{length.normalize():f} mm"
