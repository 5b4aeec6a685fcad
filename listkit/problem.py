"""Problems: every complaint about an owner's file is a value with a place, a code and a remedy.

Nothing here raises past the reader: `FieldError` is what leaf code throws when one
value is wrong, and the reader turns it into a `Problem` by adding the place.
`CODES` is the closed list of what can be wrong; the code decides the level.
"""

from dataclasses import dataclass
from enum import StrEnum

KeyPath = tuple[str | int, ...]


class Level(StrEnum):
    """MUST_FIX stops the build (exit 1); LOOK_AT is a warning (exit 0)."""

    MUST_FIX = "Must fix"
    LOOK_AT = "Look at"


class FieldError(ValueError):
    """One value is wrong: what was found, and what to write instead. Knows nothing of files."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where the owner mends it.

    `file` is relative to the shop folder, with forward slashes. `line` counts from 1 (in a workbook
    it is the row); 0 means not known yet, and the report finds it from `key` on demand.
    `row` names a table row by its code, `column` by the heading as the owner wrote it.
    """

    file: str
    line: int = 0
    row: str = ""
    column: str = ""
    key: KeyPath = ()

    def __str__(self) -> str:
        parts = [self.file]
        if self.row:
            parts.append(f"row {self.row}")
        elif self.line:
            parts.append(f"line {self.line}")
        if self.column:
            parts.append(f"column {self.column}")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of problem: its level and the rule in the owner's words."""

    level: Level
    rule: str


def _must(rule: str) -> Code:
    return Code(Level.MUST_FIX, rule)


def _look(rule: str) -> Code:
    return Code(Level.LOOK_AT, rule)


CODES: dict[str, Code] = {
    # reading
    "file-missing": _must("A file or folder that the shop needs is not there."),
    "encoding": _must("A text file is in UTF-8 (tables may also be in Windows-1252)."),
    "syntax": _must("A file follows the rules of its format: quotes, brackets and signs in pairs."),
    "unknown-key": _must("Only keys that listkit knows stand in a file, so that a typing slip is not passed over."),
    "missing-key": _must("What listkit cannot do without is stated."),
    "bad-value": _must("A value has the form that its key asks for."),
    "unknown-code": _must("A code that is used names something that is there."),
    "code-twice": _must("A code names one thing only."),
    "unknown-column": _look("A heading within two letters of one of ours is probably a typing slip."),
    "path-outside": _must("Every path stays inside the shop folder."),
    "not-a-picture": _must("A file in a photos folder is a picture that can be opened."),
    "template-fault": _must("A text with placeholders uses only names and filters that exist, within the bounds."),
}


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing for the owner to fix: the value found, and what to write instead."""

    place: Place
    code: str  # a key of CODES: stable, documented, used by tests
    message: str
    hint: str = ""

    @property
    def level(self) -> Level:
        """MUST_FIX stops the build, LOOK_AT does not; the code decides."""
        return CODES[self.code].level

    def __str__(self) -> str:
        return f"{self.level} · {self.place}: {self.message} {self.hint}".rstrip()


def must_fix(problems: tuple[Problem, ...] | list[Problem]) -> bool:
    """Whether anything among `problems` stops the build."""
    return any(problem.level is Level.MUST_FIX for problem in problems)
