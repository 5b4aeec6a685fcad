"""Reads a workbook's one sheet a slice of rows at a time, so that a long one takes no more memory than a short one.

The reader lays out a whole sheet at once. So it is given small workbooks: all other parts of the file as they are, and
of the sheet some rows with what stands before the first. Cuts are made behind the end tag of a row, which no text of a
cell can hold (XML 1.0, 2.4: "<" is escaped). Every cell is still read by a reader that knows nothing of the writer.
"""

import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Any, Final

from python_calamine import CalamineWorkbook

SLICE: Final = 2_000_000  # bytes of a sheet's XML at a time, and the rest of the row
_PACKED: Final = 16_000  # packed bytes at a time; unpacked they may be many more
_SHEETS: Final = "xl/worksheets/"
_BEGIN: Final = b"<sheetData>"
_ROW_END: Final = b"</row>"
_END: Final = b"</sheetData></worksheet>"
_LENGTHS_AT: Final = 26  # of name and extra field, in the header before a part (PKWARE APPNOTE, 4.3.7)
Cells = tuple[object, ...]


def damaged_part(path: Path) -> str:
    """Return the name of the first part whose bytes are not those that were packed, "" when all are.

    zipfile takes packed bytes that lack their end mark for whole; here they have to end (RFC 1951, 3.2.3: BFINAL).
    """
    with zipfile.ZipFile(path) as parts, path.open("rb") as file:
        return next((part.filename for part in parts.infolist() if not _is_whole(file, part)), "")


def _is_whole(file: IO[bytes], part: zipfile.ZipInfo) -> bool:
    if part.compress_type != zipfile.ZIP_DEFLATED:
        return False  # none of ours
    file.seek(part.header_offset + _LENGTHS_AT)
    name, extra = struct.unpack("<HH", file.read(4))
    file.seek(name + extra, io.SEEK_CUR)
    unpacking, left, checksum = zlib.decompressobj(-zlib.MAX_WBITS), part.compress_size, 0
    while left and (packed := file.read(min(left, _PACKED))):
        left -= len(packed)
        checksum = zlib.crc32(unpacking.decompress(packed), checksum)
    return unpacking.eof and not unpacking.unused_data and checksum == part.CRC


def sheet_rows(path: Path, size: int = SLICE) -> Iterator[Cells]:
    """Yield the cells of the one sheet from its first row and column on; a row that holds nothing is empty.

    Raises:
        ValueError: it has another number of sheets, or the reader finds a fault; zipfile's own faults pass.
    """
    with zipfile.ZipFile(path) as parts:
        sheets = [name for name in parts.namelist() if name.startswith(_SHEETS) and name.endswith(".xml")]
        if len(sheets) != 1:
            raise ValueError(f"it has {len(sheets)} sheets")
        others = [(name, parts.read(name)) for name in parts.namelist() if name != sheets[0]]
        with parts.open(sheets[0]) as sheet:
            yield from _in_place(_slice_rows([*others, (sheets[0], part)]) for part in sheet_parts(sheet, size))


def sheet_parts(sheet: IO[bytes], size: int) -> Iterator[bytes]:
    """Yield a sheet's XML in documents of about `size` bytes: what stands before the rows, and some of the rows."""
    held = sheet.read(size)
    begin, found, held = held.partition(_BEGIN)
    head = begin + found
    while found and (more := sheet.read(size)):
        cut = held.rfind(_ROW_END) + len(_ROW_END) if _ROW_END in held else 0
        if cut:
            yield head + held[:cut] + _END
        held = held[cut:] + more
    yield head + held + (b"" if found else sheet.read())


def _slice_rows(parts: list[tuple[str, bytes]]) -> tuple[tuple[int, int], list[Cells]]:
    """Return where the cells of a small workbook begin, and its rows from there on."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as book:
        for name, content in parts:
            book.writestr(name, content)
    file.seek(0)
    book_read = _asked(lambda: CalamineWorkbook.from_filelike(file))
    if len(book_read.sheet_names) != 1:
        raise ValueError(f"it has {len(book_read.sheet_names)} sheets")
    sheet = _asked(lambda: book_read.get_sheet_by_index(0))
    return sheet.start or (-1, 0), [tuple(row) for row in _asked(sheet.to_python)]


def _in_place(slices: Iterator[tuple[tuple[int, int], list[Cells]]]) -> Iterator[Cells]:
    """Yield the rows of all slices, each where it stands in the sheet: empty ones between, empty cells before."""
    at = 0
    for (first, column), rows in slices:
        if first < 0:
            continue  # no cell in it
        if first < at:
            raise ValueError(f"row {first + 1} stands behind row {at}")
        yield from () if first == at else ((),) * (first - at)
        for row in rows:
            yield ("",) * column + row
        at = first + len(rows)


def _asked(reading: Callable[[], Any]) -> Any:  # noqa: ANN401 (whatever the reader gives)
    """Return what the reader gives; it is not Python's, and where it panics, what comes is no Exception."""
    try:
        return reading()
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as fault:
        raise ValueError(str(fault)) from None
