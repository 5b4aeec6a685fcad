"""What every writer is told beside the listings (here, because beside WRITERS it would make a cycle)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WriteContext:
    """`version` is listkit's own: it is part of every key, so a new version makes every file again."""

    version: str
