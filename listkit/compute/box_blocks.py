"""What the box searches speak of, in whole units: blocks that may be turned, and the spots where they lie."""

from dataclasses import dataclass

Size = tuple[int, ...]  # one whole number an axis: length, width, and height where there are three


@dataclass(frozen=True, slots=True)
class Block:
    """What has to be placed: the sizes it may take, the preferred first, and its rules.

    `margin` keeps it off both walls of each axis. On the last of three axes no `heavy` block may lie above a
    `fragile` one whose footprint it overlaps.
    """

    poses: tuple[Size, ...]
    margin: Size = ()
    fragile: bool = False
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one block lies: its corner nearest the origin and the size it takes there."""

    corner: Size
    size: Size


@dataclass(frozen=True, slots=True)
class Outcome:
    """The spots in block order, or None. Without spots, `sure` says that everything was tried."""

    spots: tuple[Spot, ...] | None
    sure: bool
