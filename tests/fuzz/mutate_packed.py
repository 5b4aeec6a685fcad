"""Changes to files with an inner form: the parts of a workbook, the tree of a JSON file, the make of a picture."""

import io
import json
import zipfile
import zlib
from collections.abc import Callable, Sequence
from random import Random
from typing import Any, Final

import openpyxl
from PIL import Image

from tests.fuzz import nasty
from tests.fuzz.mutate import BYTES, TEXT, Mutation, mutated

_MODES: Final = ("1", "L", "LA", "P", "RGB", "RGBA", "CMYK", "I;16", "I", "F", "YCbCr", "HSV", "LAB")
_SIZES: Final = ((1, 1), (1, 3000), (3000, 1), (16, 16), (200, 150), (700, 500))
_MOST_PIXELS: Final = 4_000_000
_FORMATS: Final = ("JPEG", "PNG", "WEBP", "TIFF", "AVIF", "GIF", "BMP", "HEIF", "PPM", "ICO")
_ANY: Final[tuple[Any, ...]] = (None, True, 0, -1, 1e308, 10**400, "", [], {}, [[[[[]]]]], {"": {"": 0}}, "9" * 5000)


def part(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Change, drop or repeat a part of a ZIP of XML, as workbooks are."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError):
        return mutated(chance, content, others, BYTES)
    if not parts:
        return content
    name = chance.choice(sorted(parts))
    way = chance.randrange(8)
    if way == 0:
        del parts[name]
    elif way == 1:
        parts[chance.choice(nasty.PATHS)[:200] or "x"] = parts[name]
    elif way == 2:
        parts[name] = b"<a>" * 60_000
    else:
        parts[name] = mutated(chance, parts[name], (*others, *parts.values()), TEXT)
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for own, text in parts.items():
            archive.writestr(zipfile.ZipInfo(own), text)
    return target.getvalue()


def sheet_cell(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Put something nasty into a cell as a spreadsheet program would write it."""
    try:
        book = openpyxl.load_workbook(io.BytesIO(content))
        sheet = chance.choice(book.worksheets)
        for _ in range(chance.choice((1, 3, 20))):
            at = sheet.cell(chance.randint(1, sheet.max_row + 1), chance.randint(1, sheet.max_column + 1))
            at.value = chance.choice((*nasty.ALL, "=1/0", "#REF!", 1e300, -1, 0, True, 1.10, 44_000))[:30_000]  # type: ignore[index]
        target = io.BytesIO()
        book.save(target)
    except Exception:  # the writer refuses much of what it is given; that is not looked at here
        return part(chance, content, others)
    return target.getvalue()


def tree(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Put a value of another kind somewhere into a JSON file, or into a line of JSON lines."""
    lines = content.split(b"\n")
    at = chance.randrange(len(lines))
    try:
        whole = json.loads(content)
    except (ValueError, RecursionError):
        whole = None
    try:
        value = json.loads(lines[at]) if whole is None else whole
    except (ValueError, RecursionError):
        return mutated(chance, content, others, TEXT)
    value = _replanted(chance, value)
    text = json.dumps(value).encode("utf-8", "surrogatepass")
    return text if whole is not None else b"\n".join((*lines[:at], text, *lines[at + 1 :]))


def _replanted(chance: Random, value: Any, depth: int = 0) -> Any:
    """Return the value with one of its branches replaced, renamed or gone."""
    if not isinstance(value, dict | list) or not value or (depth and chance.random() < 0.15):
        new = chance.choice((*_ANY, *nasty.ALL, [value] * 3, {"x": value}))
        return new.encode("utf-8", "replace").decode() if isinstance(new, str) else new
    if isinstance(value, list):
        at = chance.randrange(len(value))
        return [*value[:at], _replanted(chance, value[at], depth + 1), *value[at + 1 :]]
    key = chance.choice(list(value))
    if chance.random() < 0.15:
        return {other: inner for other, inner in value.items() if other != key} | chance.choice(({}, {"new": 1}))
    return {**value, key: _replanted(chance, value[key], depth + 1)}


def picture(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Make another picture: of any mode, size and format, with odd tags and profiles, or several frames."""
    try:
        with Image.open(io.BytesIO(content)) as opened:
            if opened.width * opened.height > _MOST_PIXELS:  # its memory would be taken for the command's
                return mutated(chance, content, others, BYTES)
            made = opened.convert("RGB").resize(chance.choice(_SIZES))
        made = made.convert(chance.choice(_MODES))
        said: dict[str, Any] = {"icc_profile": chance.choice((b"", b"x", chance.randbytes(300)))}
        tags = Image.Exif()
        tags[0x0112] = chance.choice((0, 1, 3, 6, 8, 9, 65535))
        tags[0x010E] = chance.choice(nasty.ALL).encode("utf-8", "replace").decode()[:20_000]
        kind, frames = chance.choice(_FORMATS), chance.choice((1, 30)) if chance.random() < 0.3 else 0
        if frames and kind != "AVIF":  # which Pillow 13.0 does not survive, of several turned frames
            said |= {"save_all": True, "append_images": [made] * frames}
        target = io.BytesIO()
        made.save(target, kind, exif=tags, **said)
    except Exception:  # not every format takes every mode; that is not looked at here
        return mutated(chance, content, others, BYTES)
    return target.getvalue()


def claimed_size(chance: Random, content: bytes, others: Sequence[bytes]) -> bytes:
    """Let a picture's header claim other sides than it has: JPEG's frame, PNG's IHDR, or four bytes near the start."""
    start = next((content.find(mark) for mark in (b"\xff\xc0", b"\xff\xc2", b"IHDR") if mark in content), -1)
    at = start + (5 if content[start : start + 1] == b"\xff" else 4) if start >= 0 else chance.randrange(64)
    sides = chance.choice((b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff", chance.randbytes(4)))
    return content[:at] + sides + content[at + 4 :]


def png_bomb(chance: Random, _content: bytes, _others: Sequence[bytes]) -> bytes:
    """Return a small file that claims very many pixels, all of which it has."""
    side = chance.choice((3000, 8900, 9100, 30000))
    rows = zlib.compressobj(9)
    packed = b"".join(rows.compress(b"\0" * (side // 8 + 1)) for _ in range(side)) + rows.flush()
    head = side.to_bytes(4, "big") * 2 + bytes([1, 0, 0, 0, 0])
    return b"\x89PNG\r\n\x1a\n" + b"".join(map(_chunk, (b"IHDR", b"IDAT", b"IEND"), (head, packed, b"")))


def _chunk(kind: bytes, content: bytes) -> bytes:
    return len(content).to_bytes(4, "big") + kind + content + zlib.crc32(kind + content).to_bytes(4, "big")


WORKBOOK: Final[tuple[Mutation, ...]] = (*BYTES, part, part, part, sheet_cell, sheet_cell)
JSON: Final[tuple[Mutation, ...]] = (*TEXT, tree, tree, tree, tree)
PICTURE: Final[tuple[Mutation, ...]] = (*BYTES, *BYTES, picture, picture, claimed_size, png_bomb)
DATABASE: Final[tuple[Mutation, ...]] = BYTES
Kinds = Sequence[Callable[[Random, bytes, Sequence[bytes]], bytes]]
