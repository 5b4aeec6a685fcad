"""How a picture's file is built, walked through before any library opens it: its parts, passes, frames and notes.

The size of a picture bounds its pixels alone. A JPEG may be stored in any number of passes, each of which goes through
the whole picture for a handful of bytes; a PNG or TIFF may be millions of parts; thousands of EXIF tags may each name
the same megabytes. All that is counted here from lengths and markers, without looking into the pixels.
"""

import re
import struct
from collections.abc import Iterator
from typing import Final

from listkit import bounds
from listkit.problem import FieldError

AGAIN = "Export or copy the picture again, as JPEG or PNG."

# ITU-T T.81, B.1.1: a marker is FF and a code, with any number of FF before it. FF 00 is a byte of the pixels' data,
# and RST0 to RST7 (D0 to D7) stand within it.
_MARKER: Final = re.compile(rb"\xff+[^\x00\x01\xd0-\xd7\xff]")
_SOI, _EOI, _SOS, _APP1 = 0xD8, 0xD9, 0xDA, 0xE1
_NOTES: Final = frozenset((*range(0xE0, 0xF0), 0xFE))  # APP0 to APP15, and COM
_EXIF: Final = b"Exif\0\0"

# TIFF 6.0 section 2, and BigTIFF: bytes of one value of each type.
_SIZES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
_TIFF: Final = re.compile(rb"II\*\0|MM\0\*|II\+\0|MM\0\+")
_TILE: Final = (322, 323)  # TileWidth and TileLength
_SHORT: Final = 3


class _Cost:
    """What was counted so far; raises FieldError as soon as it is beyond what any picture needs."""

    def __init__(self) -> None:
        self._parts = self._notes = 0

    def add(self, notes: int = 0, parts: int = 1) -> None:
        self._parts += parts
        self._notes += notes
        if self._parts > bounds.PICTURE_PARTS:
            raise FieldError(f"the picture's file is in more than {bounds.PICTURE_PARTS} parts.", AGAIN)
        if self._notes > bounds.PICTURE_NOTES:
            most = bounds.PICTURE_NOTES // 1_000_000
            raise FieldError(
                f"the picture carries more than {most} MB of notes beside its pixels (metadata).",
                "Export it again, without its metadata.",
            )


def refuse_costly(content: bytes) -> None:
    """Raise FieldError where opening these bytes would cost more than any picture does; know nothing of the rest."""
    cost = _Cost()
    if content.startswith(b"\xff\xd8\xff"):
        _jpeg(content, cost)
    elif content.startswith(b"\x89PNG\r\n"):
        for kind, start, length in _chunks(content):
            cost.add(0 if kind in {b"IDAT", b"fdAT"} else length)
            if kind == b"eXIf":
                _tags(content[start : start + length], cost)
    elif content.startswith(b"RIFF"):
        for kind, start, length in _riff_chunks(content):
            cost.add(length if kind in {b"ICCP", b"XMP ", b"EXIF"} else 0)
            if kind == b"EXIF":
                _tags(content[start : start + length].removeprefix(_EXIF), cost)
    elif _TIFF.match(content):
        _frames(content, cost)
    else:  # of boxes (ISO/IEC 14496-12): wherever EXIF begins
        whole = memoryview(content)
        for found in _TIFF.finditer(content):
            _tags(whole[found.start() :], cost)


def refuse_costly_tags(exif: bytes) -> None:
    """Raise FieldError where an EXIF block, however it was stored, names more than any picture says."""
    _tags(exif.removeprefix(_EXIF), _Cost())


def exif_chunk(content: bytes) -> bytes:
    """Return the EXIF block of a PNG, wherever it stands; b"" without one."""
    return next((content[at : at + length] for kind, at, length in _chunks(content) if kind == b"eXIf"), b"")


def _jpeg(content: bytes, cost: _Cost) -> None:
    if len(content) > bounds.JPEG_BYTES:
        raise FieldError(f"the JPEG is larger than {bounds.JPEG_BYTES // 1_000_000} MB.", "Save it smaller.")
    exif: list[bytes] = []
    at, scans = 2, 0
    while (marker := _MARKER.search(content, at)) and scans <= bounds.JPEG_SCANS:
        code, at = content[marker.end() - 1], marker.end()
        if code == _EOI:
            break
        length = 0 if code == _SOI else int.from_bytes(content[at : at + 2], "big")
        cost.add(length if code in _NOTES else 0, len(marker[0]) - 1)
        if code == _APP1 and content.startswith(_EXIF, at + 2):
            exif.append(content[at + 2 + len(_EXIF) : at + length])
        at += length
        scans += code == _SOS
        if scans == 1 and content.count(b"\xff\xda", at) < bounds.JPEG_SCANS:
            break  # as nearly all do, at once: there cannot be more
    if scans > bounds.JPEG_SCANS:
        raise FieldError(f"the JPEG is stored in more than {bounds.JPEG_SCANS} passes (scans).", AGAIN)
    _tags(b"".join(exif), cost)


def _chunks(content: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Yield kind, start and length of each chunk of a PNG (ISO/IEC 15948, 5.3)."""
    at, end = 8, len(content)
    while at + 8 <= end:
        length, kind = struct.unpack_from(">I4s", content, at)
        yield kind, at + 8, min(length, end - at - 8)
        if kind == b"IEND":
            return
        at += 12 + length


def _riff_chunks(content: bytes) -> Iterator[tuple[bytes, int, int]]:
    """Yield kind, start and length of each chunk of a WebP (RFC 9649, 2.3)."""
    at, end = 12, len(content)
    while at + 8 <= end:
        kind, length = struct.unpack_from("<4sI", content, at)
        yield kind, at + 8, min(length, end - at - 8)
        at += 8 + length + length % 2


def _frames(content: bytes, cost: _Cost) -> None:
    """Go through all directories of a TIFF, each of which is a picture."""
    frames, at = 0, _first(content)
    while at:
        frames += 1
        if frames > bounds.PICTURE_FRAMES:
            raise FieldError(f"there are more than {bounds.PICTURE_FRAMES} pictures in one file.", AGAIN)
        at = _directory(content, at, cost)


def _tags(data: bytes | memoryview, cost: _Cost) -> None:
    """Count the first directory of an EXIF block, which is a TIFF (CIPA DC-008, 4.5)."""
    if _TIFF.match(data):
        cost.add()
        if at := _first(data):
            _directory(data, at, cost)


def _form(data: bytes | memoryview) -> tuple[str, bool]:
    """Return the order of bytes as `struct` names it, and whether it is a BigTIFF."""
    return ("<" if data[0] == ord("I") else ">"), ord("+") in bytes(data[2:4])


def _first(data: bytes | memoryview) -> int:
    order, big = _form(data)
    form, at = ("Q", 8) if big else ("I", 4)
    return int(struct.unpack_from(order + form, data, at)[0]) if at + struct.calcsize(form) <= len(data) else 0


def _directory(data: bytes | memoryview, at: int, cost: _Cost) -> int:
    """Count the entries of one directory and the bytes that they name; return where the next one is, 0 for nowhere."""
    order, big = _form(data)
    count_form, entry_form, next_form = ("Q", "HHQQ", "Q") if big else ("H", "HHII", "I")
    inline = struct.calcsize(next_form)  # bytes of a value that stand in the entry itself
    entry = struct.Struct(order + entry_form)
    start = at + struct.calcsize(count_form)
    if start > len(data):
        return 0
    count = struct.unpack_from(order + count_form, data, at)[0]
    there = min(count, (len(data) - start) // entry.size)
    cost.add(parts=there)
    tile = [1, 1]
    for tag, kind, many, value in entry.iter_unpack(data[start : start + there * entry.size]):
        size = _SIZES.get(kind, 0) * many
        cost.add(size if inline < size <= len(data) else 0, parts=0)
        if tag in _TILE:  # a short stands at the beginning of its four or eight bytes
            tile[tag - _TILE[0]] = value >> 8 * (inline - 2) if order == ">" and kind == _SHORT else value
    if tile[0] * tile[1] > bounds.PICTURE_TILE:
        raise FieldError("the picture is stored in tiles larger than any picture.", AGAIN)
    at = start + count * entry.size
    return int(struct.unpack_from(order + next_form, data, at)[0]) if at + inline <= len(data) else 0
