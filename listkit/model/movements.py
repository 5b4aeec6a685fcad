"""Movements: what came and went of the goods, a line of movements.csv each; and the stock that follows from them.

A quantity is positive, its kind gives the sign. What takes a line back is a line of its own, its kind with "not "
before it. A set's movement is a line for each of its pieces and packs, so that later changes of it change nothing past.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from listkit.problem import Place

MoveKind = Literal["counted", "made", "sold", "came back", "given", "broken", "ordered", "sent", "taken", "poured"]
MOVE_KINDS: Final[tuple[MoveKind, ...]] = get_args(MoveKind)
SIGNS: Final[dict[MoveKind, int]] = {
    "made": 1, "came back": 1, "sold": -1, "given": -1, "broken": -1, "sent": -1, "taken": -1,
}  # fmt: skip
"""What a kind does to the pieces on hand; `counted` is the number itself, `ordered` and `poured` change nothing yet."""
RESERVES: Final[dict[MoveKind, int]] = {"ordered": 1, "sent": -1}
TAKES_BACK: Final = "not "
MOVE_COLUMNS: Final = ("day", "kind", "code", "quantity", "place", "set", "note", "batch")
MESSAGE_CARD: Final = "message card"
"""The code of the card in movements: no code of the shop holds a space."""


def pack_code(part: Literal["box", "fill", "card"], box: str) -> str:
    """Return what movements call a box, its fill or the card.

    >>> pack_code("box", "S"), pack_code("card", "")
    ('box S', 'message card')
    """
    return MESSAGE_CARD if part == "card" else f"{part} {box}"


@dataclass(frozen=True, slots=True)
class StockMove:
    """One line: so many pieces of one code moved on a day.

    `place` is a channel's key or whatever the owner calls it, `set` the code of the variant that the piece lay in, ""
    for a single piece. `batch` names the file that it came from. `takes_back` reverses an equal line before it.
    """

    day: datetime.date
    kind: MoveKind
    code: str
    quantity: int
    place: str = ""
    set: str = ""
    note: str = ""
    batch: str = ""
    takes_back: bool = False
    line: int = field(default=0, compare=False)

    @property
    def change(self) -> int:
        """What it adds to the pieces on hand, less than zero where it takes away; nothing for a count."""
        signed = SIGNS.get(self.kind, 0) * self.quantity
        return -signed if self.takes_back else signed

    @property
    def reserves(self) -> int:
        """What it adds to the pieces that are promised."""
        signed = RESERVES.get(self.kind, 0) * self.quantity
        return -signed if self.takes_back else signed

    @property
    def kind_text(self) -> str:
        """The kind as it is written: "sold", "not sold"."""
        return f"{TAKES_BACK}{self.kind}" if self.takes_back else self.kind


@dataclass(frozen=True, slots=True)
class StockFigure:
    """The stock of one code that was counted: the last count, and what came after.

    `sums` are the net quantities by kind over all days, counts left out, in the order of the kinds. `sheet` is what the
    owner's sheet says, None where it says nothing.
    """

    code: str
    counted: int
    counted_on: datetime.date
    on_hand: int
    reserved: int
    sums: tuple[tuple[MoveKind, int], ...] = ()
    sheet: int | None = None

    @property
    def free(self) -> int:
        """What is not promised to anybody."""
        return self.on_hand - self.reserved


@dataclass(frozen=True, slots=True)
class CountVariance:
    """A count that differs from the books: `book` pieces should have been there on the evening of the day."""

    code: str
    day: datetime.date
    book: int
    counted: int

    @property
    def difference(self) -> int:
        """Counted less book: less than zero is missing."""
        return self.counted - self.book


@dataclass(frozen=True, slots=True)
class BatchState:
    """The lines of a batch that stand: less than its `size` where adding or taking it back was cut off."""

    batch: str
    standing: tuple[StockMove, ...]
    size: int | None

    @property
    def is_whole(self) -> bool:
        """Whether none of its lines is missing."""
        return self.size is None or len(self.standing) % self.size == 0


@dataclass(frozen=True, slots=True)
class Stock:
    """All that follows from the movements.

    `uncounted` are codes that moved and were never counted: they go by the sheet. `late` are lines that were added
    after a count of a later day, or of the same, and so change nothing. `ordered` is who reserves what.
    """

    figures: Mapping[str, StockFigure] = field(default_factory=dict)
    uncounted: tuple[str, ...] = ()
    late: tuple[StockMove, ...] = ()
    variances: tuple[CountVariance, ...] = ()

    def free(self, code: str) -> int | None:
        """Return what is free of a code, None where it was never counted."""
        figure = self.figures.get(code)
        return None if figure is None else figure.free


@dataclass(frozen=True, slots=True)
class MovesRead:
    """The lines of movements.csv in their order; `file` is "" where there is none.

    `in_part` says that some of what is there cannot be read, so that what follows from the lines may be wrong.
    """

    file: str = ""
    moves: tuple[StockMove, ...] = ()
    in_part: bool = False

    def place(self, line: int = 0) -> Place:
        """Return the place of a line."""
        return Place(self.file, line)


NO_MOVES: Final = MovesRead()


def sums_by_kind(moves: Iterable[StockMove]) -> dict[MoveKind, int]:
    """Return the net quantities by kind, counts left out; kinds in their order, those without any left out."""
    totals = dict.fromkeys(MOVE_KINDS, 0)
    for move in moves:
        totals[move.kind] += -move.quantity if move.takes_back else move.quantity
    return {kind: total for kind, total in totals.items() if total and kind != "counted"}
