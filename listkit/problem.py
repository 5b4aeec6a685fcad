"""Problems: every complaint about an owner's file is a value with a place, a code and a remedy.

There are three kinds of trouble. A value is wrong: leaf code raises `FieldError`, which knows no files, and the reader
makes a `Problem` of it by adding the place. Something outside must be done first, as with a lock, a full disk or
a damaged ledger: `BlockedError`. Our own mistake: any other exception, which nobody catches.

What can be wrong is listed in check/rules.py, with the level of each code. What is found is quoted with the signs shown
that nobody sees: those that steer a screen, and those that turn the writing and never turn it back.
"""

import datetime
import errno
import os
import re
import shlex
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby
from typing import Final

KeyPath = tuple[str | int, ...]
FIRST_YEAR: Final = 1900
LAST_YEAR: Final = 2199  # days and seasons are counted years back and ahead, and a calendar ends with 9999
_CODE: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._/-]*[A-Za-z0-9])?")
_LONGEST: Final = 300
_SHOWN: Final = 60
_UNSEEN: Final = (
    "\u061c\u061c",
    "\u180e\u180e",
    "\u200b\u200b",
    "\u200e\u200f",
    "\u2028\u202e",
    "\u2060\u2069",
    "\ufeff\ufeff",
)
UNSEEN: Final = "".join(f"{first}-{last}" for first, last in _UNSEEN)
"""Signs of no width, other ends of lines, and what turns the order of writing, as a class of a regular expression."""
CONTROL: Final = {code: chr(0x2400 + code) for code in range(32)} | {
    127: "\u2421",
    **dict.fromkeys(range(128, 160), "\ufffd"),
    **{code: "\ufffd" for first, last in _UNSEEN for code in range(ord(first), ord(last) + 1)},
    **dict.fromkeys(range(0xD800, 0xE000), "\ufffd"),
}

# Names, cells and stories come from anybody. A sign that steers a terminal is shown in its place; marks of direction,
# and what a line turns and turns back itself, are how Hebrew and Arabic beside Latin are written, and stay.
_MARKS: Final = "\u061c\u200e\u200f"
_OVERRIDES: Final = "\u202d\u202e"
_POP, _POP_ISOLATE = "\u202c", "\u2069"
_ENDS: Final = dict.fromkeys("\u202a\u202b" + _OVERRIDES, _POP) | dict.fromkeys("\u2066\u2067\u2068", _POP_ISOLATE)
_TURNING: Final = "".join(_ENDS) + _POP + _POP_ISOLATE
_MOST_MARKS: Final = 8
_LINE_ENDS: Final = "\n\r\x1c\x1d\x1e\x85\u2029"  # class B of UAX 9, what parts paragraphs
_TURNS: Final = re.compile(f"[{_TURNING}{_LINE_ENDS}]")
_STEERING: Final = re.compile(rf"[\x00-\x1f\x7f-\x9f{UNSEEN}]")
_FORBIDDEN_RAW: Final = re.compile(rf"[\x7f-\x9f{UNSEEN}\ud800-\udfff]")


def is_code(text: str) -> bool:
    """Whether a text has the form of a code of ours, however long."""
    return _CODE.fullmatch(text) is not None


def one_line(text: str) -> str:
    """Return `text` on one line of bounded length, with control signs shown and not sent to a screen."""
    text = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return text.translate(CONTROL)


def quoted(text: str) -> str:
    """Return the value found as it stands in a message, shortened; in single quotes when it holds double ones."""
    text = text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
    mark = "'" if '"' in text else '"'
    return f"{mark}{text.translate(CONTROL)}{mark}"


NO_MEMORY: Final = "Close other programs, or give listkit more memory; then do the same again."


def remedy_of(fault: OSError, usual: str) -> str:
    """Return what to do where the system refuses a file: `usual`, but for what no room on a disk would mend.

    >>> remedy_of(OSError(errno.ENOSPC, ""), "Make room."), remedy_of(OSError(errno.ENOMEM, ""), "Make room.")
    ('Make room.', 'Close other programs, or give listkit more memory; then do the same again.')
    """
    if fault.errno in (errno.EMFILE, errno.ENFILE):
        return "Close other programs, or allow listkit more open files (ulimit -n); then do the same again."
    return NO_MEMORY if fault.errno == errno.ENOMEM else usual


def never_turned_back(text: str) -> Iterator[int]:
    """Yield where the writing is turned and stays so until its paragraph ends: embeddings, overrides and isolates.

    Unicode Standard Annex 9, BD8 to BD11 and X1 to X8: an embedding or an override ends with a U+202C within the same
    isolate, an isolate, and whatever is open in it, with a U+2069; all ends with the paragraph.

    >>> list(never_turned_back("a\u202eb")), list(never_turned_back("a \u2067b\u202ec\u2069 d"))
    ([1], [])
    """
    opened, isolates = list[int](), 0  # so counted, no sign looks through all that is open
    for match in _TURNS.finditer(text):
        at, sign = match.start(), match[0]
        if sign in _ENDS:
            opened.append(at)
            isolates += _ENDS[sign] == _POP_ISOLATE
        elif sign == _POP_ISOLATE and isolates:
            isolates -= 1
            while _ENDS[text[opened.pop()]] != sign:
                pass
        elif sign == _POP and opened and _ENDS[text[opened[-1]]] == sign:
            opened.pop()
        elif sign in _LINE_ENDS:
            yield from opened
            opened, isolates = [], 0
    yield from opened


_NO_LETTERS: Final = re.compile(r"[^\w\s!-~]{9,}")


def heap_of(text: str) -> str:
    """Return more than eight marks that stand upon one letter, over the lines around it, "" for none.

    No writing has as many: Hebrew and Vietnamese have up to four.

    >>> len(heap_of("cafe" + "\u0301" * 300 + " — — —")), heap_of("Liê\u0323n ————————————")
    (300, '')
    """
    for found in () if text.isascii() else _NO_LETTERS.finditer(text):
        for is_mark, marks in groupby(found[0], lambda sign: unicodedata.category(sign) in {"Mn", "Me", "Mc", "Cf"}):
            heap = "".join(marks)
            if is_mark and len(heap) > _MOST_MARKS:
                return heap
    return ""


def on_screen(text: str) -> str:
    """Return a part of a line in which control signs are shown and not sent.

    An override stays nowhere, even where it ends: it shows letters in another order than they have.
    """
    if text.isprintable():
        return text
    is_sound = not any(sign in text for sign in _OVERRIDES) and not any(True for _ in never_turned_back(text))
    kept = _MARKS + _TURNING if is_sound else _MARKS
    return _STEERING.sub(lambda sign: sign[0] if sign[0] in kept else sign[0].translate(CONTROL), text)


def escaped(json_text: str) -> str:
    r"""Return JSON in which no sign steers whoever looks at it: all of them as \u escapes, which mean the same.

    RFC 8259, section 7: any character may be escaped; those of C0 are already.
    """
    return _FORBIDDEN_RAW.sub(lambda sign: f"\\u{ord(sign[0]):04x}", json_text)


def times(count: int, noun: str, plural: str = "") -> str:
    """Return how many of something, in the plural where it is not one.

    >>> times(1, "set"), times(3, "set"), times(2, "box", "boxes")
    ('1 set', '3 sets', '2 boxes')
    """
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


class Level(StrEnum):
    """MUST_FIX stops the build of what it concerns (exit 1); LOOK_AT is a warning (exit 0)."""

    MUST_FIX = "Must fix"
    LOOK_AT = "Look at"


class FieldError(ValueError):
    """One value is wrong: what was found, and what to write instead. Knows nothing of files."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class InPartError(FieldError):
    """A file is whole and new, but for what is missing in it: `codes` are those of which it says nothing.

    `message` says what is missing and why, `why` the second alone.
    """

    def __init__(self, message: str, hint: str = "", codes: tuple[str, ...] = (), why: str = "") -> None:
        super().__init__(message, hint)
        self.codes = codes
        self.why = why or message


class BlockedError(FieldError):
    """No value is wrong, but something outside must be done first: a lock, a full disk, a damaged ledger.

    `message` and `hint` are whole sentences for the owner. It is a FieldError so that whoever prints one to the owner
    prints this too; code that tries a value and goes on without it calls nothing that raises a BlockedError.
    """


def year_meant(year: int) -> int:
    """Return a year that a shop can mean.

    Raises:
        FieldError: it cannot.

    >>> year_meant(9999)
    Traceback (most recent call last):
    listkit.problem.FieldError: the year 9999 cannot be meant.
    """
    if FIRST_YEAR <= year <= LAST_YEAR:
        return year
    raise FieldError(f"the year {year} cannot be meant.", f"Write one from {FIRST_YEAR} to {LAST_YEAR}.")


def in_our_time(day: datetime.date) -> datetime.date:
    """Return a day of a year that a shop can mean.

    Raises:
        FieldError: it is of another year.
    """
    year_meant(day.year)
    return day


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
        return ", ".join(parts).translate(CONTROL)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing for the owner to fix: the value found, and what to write instead."""

    place: Place
    code: str  # a row of check/rules.py: stable, documented, used by tests
    message: str
    hint: str = ""
    own_level: Level | None = None  # as the table of rules, the problem itself or the owner has it
    draft: bool = False  # whether it is there only because of sets that are not finished: still to do

    @property
    def level(self) -> Level:
        """MUST_FIX stops the build of what it concerns; a problem that nobody has given a level does."""
        return self.own_level or Level.MUST_FIX

    def __str__(self) -> str:
        return f"{self.level} · {self.place}: {self.message} {self.hint}".rstrip()


def must_fix(problems: tuple[Problem, ...] | list[Problem]) -> bool:
    """Whether anything among `problems` must be fixed before all of the shop can be built; drafts never hinder."""
    return any(problem.level is Level.MUST_FIX and not problem.draft for problem in problems)


_MONTHS: Final = "January|February|March|April|May|June|July|August|September|October|November|December"
_FIGURE: Final = re.compile(
    rf"(?<![\w-])(?:\d{{1,2}} (?:{_MONTHS}) \d{{4}}|(?:{_MONTHS}) \d{{1,2}}, \d{{4}}|\d[\d.,]*)"
)


def not_in(before: Iterable[Problem], now: Sequence[Problem]) -> tuple[Problem, ...]:
    """Return the problems that were not there before; one is the same whatever its line, and the figures in its words.

    A day is a figure. Of several that are the same, as many are known as there were; those whose words did not change
    go first.
    """
    exact, alike = Counter(_identity(problem) for problem in before), Counter[tuple[object, ...]]()
    rest = []
    for problem in now:
        identity = _identity(problem)
        if exact[identity] > 0:
            exact[identity] -= 1
        else:
            rest.append(problem)
    for identity, count in exact.items():
        alike[_without_figures(identity)] += count
    new = []
    for problem in rest:
        identity = _without_figures(_identity(problem))
        if alike[identity] > 0:
            alike[identity] -= 1
        else:
            new.append(problem)
    return tuple(new)


def as_typed(path: object) -> str:
    """Return a path as it is typed in a command: in quotes where a shell would part it or take its signs for orders.

    >>> as_typed("my_shop"), as_typed("my shop") in ("'my shop'", '"my shop"')
    ('my_shop', True)
    """
    text = str(path)
    return shlex.quote(text) if os.name != "nt" else f'"{text}"' if " " in text else text


def _identity(problem: Problem) -> tuple[object, ...]:
    place = replace(problem.place, line=0, key=())
    return problem.code, place, problem.level, problem.draft, problem.message


def _without_figures(identity: tuple[object, ...]) -> tuple[object, ...]:
    *rest, message = identity
    return (*rest, _FIGURE.sub("0", str(message)))
