"""LibreOffice as a buyer uses it: opens our form, types into cells, works it out, saves it."""

import atexit
import csv
import shutil
import subprocess
import tempfile
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape

import pytest

OFFICE = shutil.which("soffice")
needs_office = pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not installed (Debian: libreoffice-calc)")
# Types the cells of each file: a figure as a figure, anything else as text; then works out all formulas.
_TYPING = """
Sub Fill(tasks As String)
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden"
  hidden(0).Value = True
  Dim saving(0) As New com.sun.star.beans.PropertyValue
  saving(0).Name = "FilterName"
  For Each task In Split(tasks, "^^")
    parts = Split(task, "~~")
    book = StarDesktop.loadComponentFromURL(ConvertToURL(parts(0)), "_blank", 0, hidden())
    sheet = book.Sheets.getByIndex(0)
    For Each pair In Split(parts(3), "|")
      at = InStr(pair, "=")
      If at > 0 Then
        cell = sheet.getCellRangeByName(Left(pair, at - 1))
        typed = Mid(pair, at + 1)
        If IsNumeric(typed) Then cell.Value = Val(typed) Else cell.String = typed
      End If
    Next
    book.calculateAll()
    saving(0).Value = parts(2)
    book.storeToURL(ConvertToURL(parts(1)), saving())
    book.close(True)
  Next
  StarDesktop.terminate()
End Sub
"""
# Opens each file with a filter and its options, and saves it as CSV with its cells as they are shown.
_SHOWING = """
Sub Show(tasks As String)
  Dim opening(2) As New com.sun.star.beans.PropertyValue
  opening(0).Name = "Hidden"
  opening(0).Value = True
  opening(1).Name = "FilterName"
  opening(2).Name = "FilterOptions"
  Dim saving(1) As New com.sun.star.beans.PropertyValue
  saving(0).Name = "FilterName"
  saving(0).Value = "Text - txt - csv (StarCalc)"
  saving(1).Name = "FilterOptions"
  saving(1).Value = "44,34,76,1,,0,true,true"
  For Each task In Split(tasks, "|")
    parts = Split(task, "*")
    opening(1).Value = parts(1)
    opening(2).Value = parts(2)
    book = StarDesktop.loadComponentFromURL(ConvertToURL(parts(0)), "_blank", 0, opening())
    book.storeToURL(ConvertToURL(parts(0) & ".shown.csv"), saving())
    book.close(True)
  Next
  StarDesktop.terminate()
End Sub
"""
_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Typing" script:language="StarBasic">
{}</script:module>
"""
_LIBRARY = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:library PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "library.dtd">
<library:library xmlns:library="http://openoffice.org/2000/library" library:name="Standard" library:readonly="false"
 library:passwordprotected="false"><library:element library:name="Typing"/></library:library>
"""
_FILTERS = {".xlsx": "Calc MS Excel 2007 XML", ".ods": "calc8", ".csv": "Text - txt - csv (StarCalc)"}


@cache
def profile() -> Path:
    """Return a profile of the tests' own, with our macro; the program makes it at its first start."""
    folder = Path(tempfile.mkdtemp(prefix="listkit-office-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    _started(folder, "--terminate_after_init")
    basic = folder / "user/basic/Standard"
    basic.mkdir(parents=True, exist_ok=True)
    (basic / "Typing.xba").write_text(_MODULE.format(escape(_TYPING + _SHOWING)), encoding="utf-8")
    (basic / "script.xlb").write_text(_LIBRARY, encoding="utf-8")
    return folder


def _started(folder: Path, *words: str) -> None:
    assert OFFICE is not None
    command = [OFFICE, f"-env:UserInstallation=file://{folder}", "--headless", "--norestore", *words]
    subprocess.run(command, check=True, capture_output=True, timeout=120)


def typed(tasks: Iterable[tuple[Path, Path, Mapping[str, str | float]]]) -> None:
    """Open each source, type into its first sheet, work all out, save it as its target; all in one start."""
    stated = [
        (source, target, "|".join(f"{name}={value}" for name, value in cells.items()))
        for source, target, cells in tasks
    ]
    told = "^^".join(f"{source}~~{target}~~{_FILTERS[target.suffix]}~~{cells}" for source, target, cells in stated)
    _started(profile(), f'macro:///Standard.Typing.Fill("{told}")')
    assert all(target.exists() for _, target, _ in stated), "LibreOffice did not save a form"


def shown(files: Mapping[Path, str]) -> list[list[tuple[str, ...]]]:
    """Open files, each with its filter's options, and return their cells as they are shown; all in one start."""
    tasks = "|".join(f"{path}*{_FILTERS[path.suffix]}*{options}" for path, options in files.items())
    _started(profile(), f'macro:///Standard.Typing.Show("{tasks}")')
    tables = []
    for path in files:
        with path.with_name(f"{path.name}.shown.csv").open(encoding="utf-8", newline="") as file:
            tables.append([tuple(row) for row in csv.reader(file)])
    return tables
