"""What every writer is told beside the listings (here, because beside WRITERS it would make a cycle)."""

from dataclasses import dataclass

from listkit.compute.wholesale import PreviousSheet


@dataclass(frozen=True, slots=True)
class WriteContext:
    """`version` is listkit's own: it is part of every key, so a new version makes every file again.

    `previous` is the line sheet that was given out before this one, where one is known.
    """

    version: str
    previous: PreviousSheet | None = None
