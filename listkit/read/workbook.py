"""Reads one sheet of an XLSX or ODS workbook, guarded against files that are not what they seem.

A workbook is a ZIP of XML files, and may come from anyone. Before the reader proper sees it, every
part is unpacked within bounds and walked through: no document type (so no entities), no cell far out
that would make a small file an enormous table. Only the parts so checked are passed on.
"""

import io
import zipfile
import zlib
from typing import Final

from python_calamine import CalamineWorkbook, SheetVisibleEnum

from listkit.problem import FieldError
from listkit.read.cells import Row, workbook_cell
from listkit.read.workbook_parts import AGAIN, Parts

UNPACKED_LIMIT: Final = 200_000_000
_PARTS: Final = 5_000
_OLD: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # compound file: an .xls, or an .xlsx behind a password
_LOCKED: Final = "EncryptedPackage".encode("utf-16-le")
_READ: Final = (".xml", ".rels")
_BROKEN: Final = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


def is_workbook(content: bytes) -> bool:
    """Whether the bytes begin as a workbook does, new or old."""
    return content.startswith((b"PK\x03\x04", b"PK\x05\x06", _OLD))


def workbook_rows(content: bytes, sheet: str = "") -> tuple[Row, ...]:
    """Return the rows of the named sheet, or of the first that is not hidden.

    Raises:
        FieldError: no workbook, an old or locked one, damaged, too large, or without that sheet.
    """
    values = _values(_checked(content), sheet)
    return tuple(Row(line, tuple(map(workbook_cell, row))) for line, row in enumerate(values, 1))


def sheet_names(content: bytes) -> tuple[str, ...]:
    """Return the names of a workbook's sheets, in its order; raises what `workbook_rows` raises."""
    checked = _checked(content)
    try:
        return tuple(CalamineWorkbook.from_filelike(io.BytesIO(checked)).sheet_names)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # the reader is not Python's: where it panics, what comes is no Exception
        raise FieldError("the workbook is damaged.", AGAIN) from None


def _checked(content: bytes) -> bytes:
    """Return the workbook packed anew from its XML parts alone, each unpacked and looked through."""
    _refuse_others(content)
    packed, parts = io.BytesIO(), Parts()
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(packed, "w") as new:
            if len(old.infolist()) > _PARTS or sum(part.file_size for part in old.infolist()) > UNPACKED_LIMIT:
                raise FieldError("the workbook unpacks to more than any sheet needs.", AGAIN)
            for part in old.infolist():
                if part.filename.endswith(_READ) or part.filename == "mimetype":
                    with old.open(part) as stream:  # gives no more than the size it states
                        text = stream.read()
                    if part.filename != "mimetype":
                        parts.check(part.filename, text)
                    new.writestr(part.filename, text)
        parts.check_all()
    except FieldError:
        raise
    except _BROKEN as fault:
        if "encrypted" in str(fault):
            raise FieldError("the workbook is locked with a password.", "Save it without one.") from None
        raise FieldError("the workbook is damaged.", AGAIN) from None
    return packed.getvalue()


def _refuse_others(content: bytes) -> None:
    if content.startswith(_OLD):
        if _LOCKED in content:
            raise FieldError("the workbook is locked with a password.", "Save it without one.")
        raise FieldError("it is a workbook of the old kind (.xls).", AGAIN)
    if not content.startswith(b"PK"):
        raise FieldError("it is not a workbook.", AGAIN)


def _values(content: bytes, sheet: str) -> list[list[object]]:
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
        names = workbook.sheet_names
        if sheet and sheet not in names:
            names_told = ", ".join(f'"{name}"' for name in names[:10])
            raise FieldError(f'there is no sheet "{sheet}".', f"Its sheets are {names_told}.")
        if not names:
            raise FieldError("the workbook has no sheet.", AGAIN)
        shown = (page.name for page in workbook.sheets_metadata if page.visible == SheetVisibleEnum.Visible)
        page = workbook.get_sheet_by_name(sheet or next(shown, names[0]))
        return [list(row) for row in page.to_python(skip_empty_area=False)]
    except (FieldError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # the reader is not Python's: where it panics, what comes is no Exception
        raise FieldError("the workbook is damaged.", AGAIN) from None
