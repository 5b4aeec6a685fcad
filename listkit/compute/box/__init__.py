"""Do these pieces go into this box, and how do they lie? What the searches place: blocks in whole units of any size.

`fit` asks in millimetres; `layout` turns pieces into blocks, asks `search` (exact) and `circles` (true round shapes),
and lays out what they find as a careful hand would. `searches` keeps what one command has asked, and ends it in time.
"""

from dataclasses import dataclass

Vector = tuple[int, ...]  # one whole number an axis: length, width, and height where there are three


@dataclass(frozen=True, slots=True)
class Block:
    """What has to be placed: the sizes it may take, the preferred first, and its rules.

    `margin` keeps it off both walls of each axis. On the last of three axes no `heavy` block may lie above a
    `fragile` one whose footprint it overlaps.
    """

    poses: tuple[Vector, ...]
    margin: Vector = ()
    fragile: bool = False
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one block lies: its corner nearest the origin and the size it takes there."""

    corner: Vector
    size: Vector


class SpentError(Exception):
    """An effort is used up, so that a question stays open."""


@dataclass(slots=True)
class Effort:
    """What searching may still cost, counted in looks at two blocks, so that every machine ends at the same place."""

    left: int

    def spend(self, looks: int) -> None:
        """Take off some looks.

        Raises:
            SpentError: there were not so many left; none are left now.
        """
        self.left -= looks
        if self.left < 0:
            self.left = 0
            raise SpentError


ENDLESS = 1 << 62
"""So many looks or steps that nobody will come to their end."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """The spots in block order, or None. Without spots, `sure` says that everything was tried."""

    spots: tuple[Spot, ...] | None
    sure: bool
