"""Opens the owner's files: plain files of bounded size, never through a link, and decodes texts.

What goes wrong comes back as a Problem. A path is relative to the shop folder, with forward slashes.
"""

import codecs
import os
import re
import stat
import unicodedata
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.problem import FieldError, KeyPath, Place, Problem, never_turned_back, quoted

TOML_LIMIT: Final = bounds.TOML_BYTES
TEXT_LIMIT: Final = bounds.TEXT_BYTES
_FLAGS: Final = sum(getattr(os, name, 0) for name in ("O_RDONLY", "O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"))
_STEERING: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_UTF32: Final = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)
_AS_UTF8: Final = "Save it again as UTF-8."
UTF16: Final = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a document; `name` is the key that the message speaks of."""

    loc: KeyPath
    code: str
    message: str
    hint: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A text file of the shop folder: its relative path and what it says."""

    file: str
    text: str


def read_source(root: Path, file: str, *, limit: int = TEXT_LIMIT) -> Source | Problem:
    """Return the UTF-8 text of `file`, with or without a byte order mark."""
    content = read_bytes(root, file, limit=limit)
    return content if isinstance(content, Problem) else decoded(file, content)


def real_path(path: Path) -> Path:
    """Return where a file is that was named by itself, outside any shop; links to it are followed.

    Raises:
        FieldError: there is none.
    """
    try:
        return path.resolve(strict=True)
    except (OSError, RuntimeError, ValueError):
        raise FieldError(f"{path.name}: there is no such file.", "Look at the name, and where it lies.") from None


def read_bytes(root: Path, file: str, *, limit: int = TEXT_LIMIT) -> bytes | Problem:
    """Return the bytes of a plain file; a link, a device or a file over `limit` is a problem and is not read."""
    try:
        with open(root / file, "rb", opener=lambda path, _: os.open(path, _FLAGS)) as stream:
            if odd := _odd_kind(file, os.fstat(stream.fileno()).st_mode):
                return odd
            content = stream.read(limit + 1)
    except FileNotFoundError:
        return Problem(Place(file), "file-missing", "it is not there.", "Put it back.")
    except (OSError, ValueError) as fault:
        return _unreadable(root, file, fault)
    if len(content) > limit:
        most = f"{limit // 1_000_000} MB"
        return Problem(Place(file), "syntax", f"it is larger than {most}.", "Is it the right file?")
    return content


def _unreadable(root: Path, file: str, fault: OSError | ValueError) -> Problem:
    with suppress(OSError, ValueError):  # a folder or a socket cannot be opened at all
        if odd := _odd_kind(file, os.lstat(root / file).st_mode):
            return odd
    words = getattr(fault, "strerror", "") or "its name cannot be used"
    return Problem(Place(file), "file-missing", f"it cannot be read: {words}.", "Check its permissions.")


def _odd_kind(file: str, mode: int) -> Problem | None:
    """Return the problem of what is no plain file."""
    if stat.S_ISREG(mode):
        return None
    if stat.S_ISLNK(mode):
        return Problem(Place(file), "path-outside", "it is a link and is not followed.", "Put a copy in its place.")
    what = "it is a folder." if stat.S_ISDIR(mode) else "it is no plain file."
    return Problem(Place(file), "file-missing", what, "Put a plain file in its place.")


@dataclass(frozen=True, slots=True)
class Given:
    """A file that somebody hands over, wherever it lies: its name and its bytes."""

    name: str
    content: bytes


def given_file(path: Path) -> Given | Problem:
    """Return a file that is named by hand; what keeps it from being read is a problem.

    Raises:
        FieldError: there is no such file.
    """
    whole = real_path(path)
    content = read_bytes(whole.parent, whole.name)
    return content if isinstance(content, Problem) else Given(path.name, content)


def read_named(path: Path) -> Given:
    """Return a file that is named by hand.

    Raises:
        FieldError: there is no such file, or it cannot be read.
    """
    given = given_file(path)
    if isinstance(given, Problem):
        raise FieldError(f"{given.place.file}: {given.message}", given.hint)
    return given


def decoded(file: str, content: bytes) -> Source | Problem:
    """Return the text of a UTF-8 file, or the problem with the line of the first byte that is none."""
    if wide := _wide(content):
        return Problem(Place(file), "encoding", f"it is in {wide}.", _AS_UTF8)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        # utf-8-sig counts from behind the byte order mark
        at = fault.start + (3 if content.startswith(codecs.BOM_UTF8) else 0)
        start = content.rfind(b"\n", 0, at) + 1
        around = content[max(start, at - 12) : at + 12].partition(b"\n")[0]
        seen = quoted(around.decode("windows-1252", "replace").strip())
        place = Place(file, line=content.count(b"\n", 0, at) + 1)
        return Problem(place, "encoding", f"a letter is not in UTF-8, near {seen}.", "Save the file again as UTF-8.")
    return _sign_problem(file, text) or Source(file, text)


def _wide(content: bytes) -> str:
    """Return the name of the encoding that the byte order mark is of, "" of UTF-8 or none; see Unicode 2.6, 23.8."""
    if content.startswith(_UTF32):  # first: it begins as that of UTF-16
        return "UTF-32"
    return "UTF-16" if content.startswith(UTF16) else ""


def _sign_problem(file: str, text: str) -> Problem | None:
    """Return the problem of a text with a sign that no text has, or a second byte order mark before its first."""
    if text.startswith("\ufeff"):
        message = "it begins with two byte order marks, signs that nobody sees."
        return Problem(Place(file, line=1), "encoding", message, _AS_UTF8)
    return nul_problem(file, text)


def decoded_table(file: str, content: bytes) -> Source | Problem:
    """Return the text of a table: UTF-8, UTF-16 with a byte order mark, else Windows-1252."""
    wide = _wide(content)
    if wide == "UTF-32":
        return decoded(file, content)
    encodings = ["utf-16"] if wide else ["utf-8-sig", "windows-1252"]
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        return _sign_problem(file, text) or Source(file, text)
    if encodings[1:]:
        return decoded(file, content)
    return Problem(Place(file), "encoding", "it is in UTF-16 and breaks off.", _AS_UTF8)


def steering_fault(loc: KeyPath, text: str) -> Fault | None:
    """Return the fault of a value that holds a control sign, as escapes of TOML and cells can; lines and tabs are none.

    A sign of the C0 set of ISO/IEC 6429 that moves no text breaks XML, and steers a terminal that shows it. One that
    turns the writing and never turns it back lets all that follows on a page, a label or in a feed be read backwards.
    """
    if text.isprintable():
        return None
    if sign := _STEERING.search(text):
        return Fault(loc, "bad-value", f"it holds U+{ord(sign[0]):04X}, a sign that steers machines.", "Take it out.")
    message, hint = turned_words(text)
    return Fault(loc, "bad-value", message, hint) if message else None


def turned_words(text: str) -> tuple[str, str]:
    """Return what is wrong with a text that turns the writing and never turns it back, and what to do; or ""."""
    at = None if text.isprintable() else next(never_turned_back(text), None)
    if at is None:
        return "", ""
    sign = f"U+{ord(text[at]):04X}, {unicodedata.name(text[at]).lower()}"
    message = f"a sign that nobody sees ({sign}) turns the writing and never turns it back."
    return message, "Take it out: what follows would be read backwards."


def turned_problem(source: Source) -> Problem | None:
    """Return the problem of a text, such as a story, that turns the writing and never turns it back."""
    message, hint = turned_words(source.text)
    if not message:
        return None
    line = source.text.count("\n", 0, next(never_turned_back(source.text))) + 1
    return Problem(Place(source.file, line=line), "bad-value", message, hint)


def nul_problem(file: str, text: str) -> Problem | None:
    """Return the problem of a text that holds the sign NUL, as no text does."""
    at = text.find("\0")
    if at < 0:
        return None
    place = Place(file, line=text.count("\n", 0, at) + 1)
    return Problem(place, "encoding", "it holds the sign NUL, which no text has.", _AS_UTF8)
