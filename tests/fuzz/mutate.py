"""Changes to the bytes of a file, each drawn from a seeded chance: of bytes, of words, and of the file's own structure.

Every function takes the chance, the content and other files' contents to borrow from, and returns other content.
None of them raises for any content.
"""

import re
from collections.abc import Callable, Sequence
from random import Random
from typing import Final

from tests.fuzz import nasty

Mutation = Callable[[Random, bytes, Sequence[bytes]], bytes]
WORD: Final = re.compile(rb'"[^"\n]*"|[\w.%-]+|[^\s\w]', re.DOTALL)
_TABLE: Final = re.compile(rb"(?m)^(?=\[)")
_SEPARATORS: Final = (b",", b";", b"\t", b"|", b"")
_MOST: Final = 3_000_000  # bytes of a file after all changes


def flip(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Change a few single bytes."""
    changed = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 8, 64)) if changed else 0):
        changed[chance.randrange(len(changed))] = chance.choice((0, 10, 34, 0x80, 255, chance.randrange(256)))
    return bytes(changed)


def cut(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Take a stretch out, or all behind a place."""
    start = chance.randrange(len(content) + 1)
    length = chance.choice((1, 2, 16, 200, len(content)))
    return content[:start] + content[start + length :]


def double(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Put a stretch in again, once or very often."""
    start = chance.randrange(len(content) + 1)
    stretch = content[start : start + chance.choice((1, 8, 100, 1000))]
    return content[:start] + stretch * chance.choice((2, 2, 3, 50, 1000)) + content[start:]


def borrow(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Put a stretch of another file in."""
    other = chance.choice(others)
    start, at = chance.randrange(len(other) + 1), chance.randrange(len(content) + 1)
    return content[:at] + other[start : start + chance.choice((4, 40, 400, 4000))] + content[at:]


def encode(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Write the same letters in another encoding, or with other ends of lines."""
    text = content.decode("utf-8", "replace")
    ways = (
        lambda: text.encode("utf-16"),
        lambda: text.encode("utf-16-be"),
        lambda: text.encode("windows-1252", "replace"),
        lambda: b"\xef\xbb\xbf" + content,
        lambda: b"\xff\xfe" + content,
        lambda: content.replace(b"\n", b"\r\n"),
        lambda: content.replace(b"\n", b"\r"),
        lambda: content.replace(b"\n", "\u2028".encode()),
        content.upper,
        lambda: b"",
    )
    return chance.choice(ways)()


def word(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Put something nasty in a word's place, within its quotes where it has any."""
    found = _a_word(chance, content)
    if found is None:
        return chance.choice(nasty.ALL).encode("utf-8", "surrogatepass")
    new = chance.choice(nasty.ALL).encode("utf-8", "surrogatepass")
    if found[0].startswith(b'"') and chance.random() < 0.8:
        new = b'"' + new.replace(b"\\", b"\\\\").replace(b'"', b'\\"').replace(b"\n", b"\\n") + b'"'
    return content[: found.start()] + new + content[found.end() :]


def swap(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Put one word in the place of another, or add something nasty to it."""
    one, other = _a_word(chance, content), _a_word(chance, content)
    if one is None or other is None:
        return content
    new = chance.choice((other[0], one[0] + other[0], other[0][:-1], one[0] * 40))
    return content[: one.start()] + new + content[one.end() :]


def within(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Put something nasty into the middle of a word, which often stays valid."""
    found = _a_word(chance, content)
    at = found.start() + len(found[0]) // 2 if found else 0
    return content[:at] + chance.choice(nasty.ALL).encode("utf-8", "surrogatepass") + content[at:]


def line(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Take a line out, repeat it, move it, or put another file's in."""
    lines = content.split(b"\n")
    at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
    way = chance.randrange(5)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines[to:to] = [lines[at]] * chance.choice((1, 1, 2, 300))
    elif way == 2:
        lines[at], lines[to] = lines[to], lines[at]
    elif way == 3:
        lines.insert(to, chance.choice(chance.choice(others).split(b"\n"))[:5000])
    else:
        chance.shuffle(lines)
    return b"\n".join(lines)


def tables(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Repeat, drop, shuffle or borrow whole tables of a TOML file."""
    parts = _TABLE.split(content)
    other = _TABLE.split(chance.choice(others))
    way = chance.randrange(4)
    if way == 0:
        parts.append(chance.choice(parts) * chance.choice((1, 2, 400)))
    elif way == 1 and len(parts) > 1:
        del parts[chance.randrange(len(parts))]
    elif way == 2:
        chance.shuffle(parts)
    else:
        parts.append(chance.choice(other))
    return b"\n".join(parts)


def value(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Give a key of a TOML file a value of another kind, or a key another's name."""
    lines = content.split(b"\n")
    keyed = [at for at, text in enumerate(lines) if b" = " in text]
    if not keyed:
        return content
    at = chance.choice(keyed)
    key, old = lines[at].split(b" = ", 1)
    other_key, other = lines[chance.choice(keyed)].split(b" = ", 1)
    nest = b"[" * 300 + b"]" * 300
    kinds = (other, b"[" + old + b"]", b"{ x = " + old + b" }", b"[]", b"{}", b"true", b"-1", b"1e400", nest, b'""')
    pair = chance.choice(((key, chance.choice(kinds)), (other_key, old), (key + b"." + other_key, old)))
    lines[at] = b" = ".join(pair)
    return b"\n".join(lines)


def columns(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Repeat, drop or reorder the columns of a table, change its separator, leave rows short or make them many."""
    mark = max(_SEPARATORS[:-1], key=content[:2000].count)
    rows = [text.split(mark) for text in content.split(b"\n")]
    way, width = chance.randrange(7), max(map(len, rows))
    at, to = chance.randrange(width), chance.randrange(width)
    if way == 0:
        rows = [row[:at] + row[at + 1 :] for row in rows]
    elif way == 1:
        rows = [row + row[at : at + 1] for row in rows]
    elif way == 2:
        rows = [[row[to], *row[1:]] if to < len(row) else row for row in rows]
    elif way == 3:
        rows = [row[: chance.randrange(width + 1)] if chance.random() < 0.3 else row for row in rows]
    elif way == 4:
        mark = chance.choice(_SEPARATORS)
    elif way == 5:
        rows += [chance.choice(rows)] * chance.choice((1, 3000))
    else:
        rows[0], rows[-1] = rows[-1], rows[0]
    return b"\n".join(mark.join(row) for row in rows)


def cell(chance: Random, content: bytes, _others: Sequence[bytes]) -> bytes:
    """Put something nasty into a cell of a table, quoted as it must be."""
    rows = [text.split(b",") for text in content.split(b"\n")]
    row = chance.choice(rows[: chance.choice((1, len(rows)))])
    new = chance.choice(nasty.ALL).encode("utf-8", "surrogatepass")
    row[chance.randrange(len(row))] = b'"' + new.replace(b'"', b'""') + b'"'
    return b"\n".join(b",".join(row) for row in rows)


def _a_word(chance: Random, content: bytes) -> re.Match[bytes] | None:
    """Return a word from somewhere; found from a place on, so that large files cost no more than small ones."""
    start = chance.randrange(len(content) + 1)
    return WORD.search(content, start) or WORD.search(content)


BYTES: Final[tuple[Mutation, ...]] = (flip, cut, double, borrow)
TEXT: Final[tuple[Mutation, ...]] = (*BYTES, encode, word, word, swap, within, line)
TOML: Final[tuple[Mutation, ...]] = (*TEXT, word, word, tables, value, value)
CSV: Final[tuple[Mutation, ...]] = (*TEXT, cell, cell, cell, columns, columns)


def mutated(chance: Random, content: bytes, others: Sequence[bytes], kinds: Sequence[Mutation]) -> bytes:
    """Return the content after one to four changes of these kinds."""
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 4))):
        content = chance.choice(kinds)(chance, content, others)[:_MOST]
    return content
