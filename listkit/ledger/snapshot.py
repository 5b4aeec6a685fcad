"""What a channel shows at one time, and what that follows from: the matter of a record.

Everything is a line a code: a JSON object in canonical form, so that equal facts are equal text.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

Lines = Iterable[tuple[str, str]]
"""Codes, each once, and their lines; read once, so that a large feed need not be held."""
SECTIONS: Final = ("rows", "items", "sets", "rules", "files")


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All that is recorded of a channel.

    `rows` are the lines of record.jsonl by sku. `items` and `sets` say what the owner's files say of those in the
    rows, `rules` what else prices, weights and texts follow from, `files` what was made, by path.
    """

    rows: Lines
    items: Lines = ()
    sets: Lines = ()
    rules: Lines = ()
    files: Lines = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """Lines by code: of a snapshot, those that differ from another's."""

    rows: Mapping[str, str] = field(default_factory=dict)
    items: Mapping[str, str] = field(default_factory=dict)
    sets: Mapping[str, str] = field(default_factory=dict)
    rules: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
