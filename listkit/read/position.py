"""Places in a text: key path -> line and column, or the span of its value, in TOML; a passage -> line in Markdown.

Nothing here raises or judges: a text that breaks the rules gives the places found so far. Lines and
columns count from 1; (0, 0) says that nothing of the path was found.
"""

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.problem import KeyPath

Positions = dict[KeyPath, tuple[int, int]]

_SPACE: Final = re.compile(r"[ \t]*")
_BLANK: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_REST_OF_LINE: Final = re.compile(r"[^\n]*\n?")
_KEY: Final = re.compile(r"[A-Za-z0-9_-]+|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|' r"'''.*?'{3,5}|" r'"(?:[^"\\\n]|\\.)*"|' r"'[^'\n]*'", re.DOTALL
)
_MOST_PARTS: Final = 1_000  # of one key; texts with more are refused before they are read
_SCALAR: Final = re.compile(r"[^,\]}\n#]*")


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the parts of a TOML text begin and end, as offsets.

    `values` are the spans of all values, those within lists and braces too; `statements` where the line of a key and
    its value begins, by the whole path; `headers` the paths of tables, where each begins and ends, in their order;
    `keys` the paths that end with a part of a key, wherever one is written, and where that part begins and ends.
    """

    values: dict[KeyPath, tuple[int, int]]
    statements: dict[KeyPath, int]
    headers: tuple[tuple[KeyPath, int, int], ...]
    keys: tuple[tuple[KeyPath, int, int], ...]


def layout(text: str) -> Layout:
    """Return where everything stands in a TOML text."""
    scanner = _Scanner(text)
    with suppress(RecursionError):
        scanner.document()
    return Layout(scanner.values, scanner.statements, tuple(scanner.headers), tuple(scanner.keys))


def locate(text: str, key_path: KeyPath) -> tuple[int, int]:
    """Return line and column of the key, or of the nearest table around it; ("box", 1, "fill") counts from 0."""
    found = positions(text)
    for length in range(len(key_path), 0, -1):
        if key_path[:length] in found:
            return found[key_path[:length]]
    return 0, 0


def locate_words(text: str, passage: str) -> int:
    """Return the line on which the words of `passage` begin, however they are wrapped; 0 when they are not there."""
    pattern = r"\s+".join(re.escape(word) for word in passage.split())
    match = re.search(pattern, text) if pattern else None
    return text.count("\n", 0, match.start()) + 1 if match else 0


@lru_cache(maxsize=64)
def positions(text: str) -> Positions:
    """Return line and column of every key of a TOML text, of every table header and element of a list."""
    scanner = _Scanner(text)
    with suppress(RecursionError):  # lists within lists beyond all measure: what was found so far will do
        scanner.document()
    starts = [0, *(match.end() for match in re.finditer(r"\n", text))]
    found: Positions = {}
    for path, offset in scanner.found.items():
        line = bisect_right(starts, offset)
        found[path] = line, offset - starts[line - 1] + 1
    return found


class _Scanner:
    """Walks once through a TOML text and notes the offset at which each key path first stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[KeyPath, int] = {}
        self.values: dict[KeyPath, tuple[int, int]] = {}
        self.statements: dict[KeyPath, int] = {}
        self.headers: list[tuple[KeyPath, int, int]] = []
        self.keys: list[tuple[KeyPath, int, int]] = []
        self._last: dict[KeyPath, int] = {}  # index of the last [[table]] of each array of tables

    def document(self) -> None:
        table: KeyPath = ()
        while self._skip(_BLANK) < len(self.text):
            if self.text.startswith("[", self.at):
                table = self._header()
            else:
                self._pair(table)
            self._skip(_REST_OF_LINE)

    def _skip(self, pattern: re.Pattern[str]) -> int:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at

    def _note(self, path: KeyPath, offset: int) -> KeyPath:
        self.found.setdefault(path, offset)
        return path

    def _header(self) -> KeyPath:
        """Read [a.b] or [[a.b]]; a table under an array of tables belongs to its last element."""
        start, many = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        parts = self._key()
        path: KeyPath = ()
        for number, (part, begin, end) in enumerate(parts, 1):
            path = self._note((*path, part), start)
            self.keys.append((path, begin, end))
            if many and number == len(parts):
                self._last[path] = self._last.get(path, -1) + 1
            if path in self._last:
                path = self._note((*path, self._last[path]), start)
        self.headers.append((path, start, self.at + (2 if many else 1)))
        return path

    def _key(self) -> list[tuple[str, int, int]]:
        """Read a dotted key: its parts, and where each begins and ends."""
        parts: list[tuple[str, int, int]] = []
        while True:
            self._skip(_SPACE)
            match = _KEY.match(self.text, self.at)
            if match is None:
                return parts
            parts.append((_unquoted(match[0]), *match.span()))
            self.at = match.end()
            self._skip(_SPACE)
            if not self.text.startswith(".", self.at) or len(parts) == _MOST_PARTS:
                return parts
            self.at += 1

    def _pair(self, path: KeyPath) -> bool:
        """Read key = value; False when there is none."""
        parts = self._key()
        if not parts or not self.text.startswith("=", self.at):
            return False
        self.at += 1
        for part, begin, end in parts:
            path = self._note((*path, part), begin)
            self.keys.append((path, begin, end))
        self.statements.setdefault(path, parts[0][1])
        self._skip(_SPACE)
        self._value(path)
        return True

    def _value(self, path: KeyPath) -> None:
        start = self.at
        self._any(path)
        end = start + len(self.text[start : self.at].rstrip())
        self.values.setdefault(path, (start, end))

    def _any(self, path: KeyPath) -> None:
        sign = self.text[self.at : self.at + 1]
        if sign == "[":
            self._list(path)
        elif sign == "{":
            self._braces(path)
        else:
            self._skip(_STRING if sign in {'"', "'"} else _SCALAR)

    def _list(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        while self._skip(_BLANK) < len(self.text) and self.text[self.at] != "]":
            start = self.at
            self._value(self._note((*path, index), start))
            self._skip(_BLANK)
            index += 1
            self.at += self.text.startswith(",", self.at)
            if self.at == start:
                return
        self.at += 1

    def _braces(self, path: KeyPath) -> None:
        self.at += 1
        while self._skip(_BLANK) < len(self.text) and self.text[self.at] != "}":
            if not self._pair(path):
                return
            self._skip(_BLANK)
            self.at += self.text.startswith(",", self.at)
        self.at += 1


def _unquoted(key: str) -> str:
    if not key.startswith('"'):
        return key.strip("'")
    try:
        return str(tomllib.loads(f"key = {key}")["key"])
    except ValueError:
        return key[1:-1]
