"""Cells and rows of a table in CSV: what is meant changes, all else stays; read by the csv module (RFC 4180)."""

import csv
import io
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.edit.table import ANY, CellEdit, with_cells, with_row, without_row
from listkit.problem import FieldError

SHEET = b'code;name;note\r\n"B01"; Bar ;"soft; round"\r\n"B02";"Jar"\r\n\r\nTotal;2\r\n'


def test_a_row_is_added_below_another_in_its_style() -> None:
    added = with_row(SHEET, (1, 3), 3, {0: "B03", 2: 'so "big"'})
    assert added == SHEET.replace(b'"Jar"\r\n', b'"Jar"\r\n"B03";"";"so ""big"""\r\n')
    assert with_row(b"code,name", (1, 2), 1, {0: "B01"}) == b"code,name\nB01,"


def test_a_row_is_taken_out_with_its_line_end() -> None:
    assert without_row(SHEET, (1, 3), 2) == SHEET.replace(b'"B01"; Bar ;"soft; round"\r\n', b"")
    assert without_row(b"a,b\r\n1,2\r\n3,4", (1, 2), 3) == b"a,b\r\n1,2"


def test_a_cell_beyond_the_end_of_a_row_is_filled_up_to() -> None:
    edits = [CellEdit(3, 2, "", "x;"), CellEdit(2, 1, "Bar", "Bar 2")]
    changed = with_cells(SHEET, edits, (1, 3))
    assert changed == SHEET.replace(b" Bar ;", b" Bar 2 ;").replace(b'"Jar"', b'"Jar";"x;"')
    with pytest.raises(FieldError):
        with_cells(SHEET, [CellEdit(3, 2, "", "x")])


def test_a_letter_that_the_encoding_lacks_is_told() -> None:
    sheet = "code,name\nB01,Mûre\n".encode("windows-1252")
    assert with_row(sheet, (1, 2), 2, {1: "Été"}).endswith("\n,Été\n".encode("windows-1252"))
    with pytest.raises(FieldError, match="windows-1252"):
        with_row(sheet, (1, 2), 2, {1: "č"})


@pytest.mark.parametrize(
    "change", [lambda: without_row(SHEET, (1, 3), 9), lambda: with_row(SHEET, (1, 4), 2, {0: "x"})]
)
def test_a_line_that_is_not_there_is_told(change: object) -> None:
    assert callable(change)
    with pytest.raises(FieldError, match="does not say what it said"):
        change()


texts = st.text("ab ä\",;\t\n'=", max_size=6).map(lambda text: text.strip())
rows = st.lists(st.lists(texts, min_size=3, max_size=3).filter(any), min_size=1, max_size=5)
ENDS = st.sampled_from(["\n", "\r\n"])
ENCODINGS = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "windows-1252"])


def read(content: bytes, encoding: str, separator: str) -> list[list[str]]:
    text = io.StringIO(content.decode(encoding), newline="")
    return [row for row in csv.reader(text, delimiter=separator, strict=True) if row]


def alike(old: bytes, new: bytes) -> int:
    """Return how many bytes two files have in common at the beginning and at the end."""
    begin = next((at for at, (left, right) in enumerate(zip(old, new, strict=False)) if left != right), len(old))
    ends = enumerate(zip(old[begin:][::-1], new[begin:][::-1], strict=False))
    return begin + next((at for at, (left, right) in ends if left != right), min(len(old), len(new)) - begin)


@given(
    table=rows,
    encoding=ENCODINGS,
    separator=st.sampled_from(",;\t"),
    end=st.sampled_from(["\n", "\r\n"]),
    data=st.data(),
)
def test_any_change_of_any_table_reads_as_it_is_meant(
    table: list[list[str]], encoding: str, separator: str, end: str, data: st.DataObject
) -> None:
    header = ["code", "name", "nöte"]  # so that the encodings differ
    written = io.StringIO(newline="")
    quoting: Literal[0, 1] = 1 if data.draw(st.booleans()) else 0  # csv.QUOTE_ALL, csv.QUOTE_MINIMAL
    writer = csv.writer(written, delimiter=separator, lineterminator=end, quoting=quoting)
    lines, number = [], 2
    writer.writerow(header)
    for row in table:
        writer.writerow(row)
        lines.append(number)
        number += 1 + sum(cell.count("\n") for cell in row)
    content = written.getvalue().encode(encoding)
    at, text = data.draw(st.integers(0, len(table) - 1)), data.draw(texts)
    column = data.draw(st.integers(0, 2))
    before = table[at][column]
    kind = data.draw(st.sampled_from(["cell", "row", "out"]))
    if kind == "cell":
        changed = with_cells(content, [CellEdit(lines[at], column, ANY, text)], (1, 3))
        table[at][column] = text
    elif kind == "row":
        changed = with_row(content, (1, 3), lines[at], {column: text})
        table.insert(at + 1, [text if number == column else "" for number in range(3)])
    else:
        changed = without_row(content, (1, 3), lines[at])
        del table[at]
    assert read(changed, encoding, separator) == [header, *table]
    most = {"row": 0, "out": len(content) - len(changed), "cell": 4 * len(before) + 8}[kind]
    assert len(content) - alike(content, changed) <= most
