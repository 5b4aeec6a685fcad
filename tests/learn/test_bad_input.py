"""Sheets and samples as they come by mail: drafted or told, never a traceback, and soon."""

import io
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest

from listkit.cli import main
from tests.shops import clean_shop
from tests.steps import calls

HEADINGS = ("code", "name", "form", "net", "retail", "cost", "weight (g)", "size (mm)")
ROW = ("A-1", "Oat", "bar soap", "95 g", "6.50", "1.90", "102", "80 x 55 x 28")
MANY = tuple(f"note {number}" for number in range(392))
LONG = "x" * 32_767


def text(*rows: Sequence[str]) -> bytes:
    return "".join(f"{','.join(row)}\n" for row in rows).encode()


def book(rows: Sequence[Sequence[object]], formats: dict[str, str]) -> bytes:
    """Return a workbook whose columns have these formats of numbers."""
    workbook = openpyxl.Workbook()
    sheet = workbook.worksheets[0]
    for row in rows:
        sheet.append(list(row))
    for column, number_format in formats.items():
        for cell in sheet[column][1:]:
            cell.number_format = number_format
    content = io.BytesIO()
    workbook.save(content)
    return content.getvalue()


PRICED = ("code", "name", "form", "retail", "cost", "weight (g)", "size (mm)", "tax")
FILES: dict[str, tuple[str, bytes]] = {
    "two headings alike": ("i.csv", text((*HEADINGS, "retail"), (*ROW, "7.50"))),
    "a header of five rows": ("i.csv", text(("Weir Soaps",), ("Stock 2027",), (), ("Prices in GBP",), HEADINGS, ROW)),
    "one data row": ("i.csv", text(HEADINGS, ROW)),
    "no data row": ("i.csv", text(HEADINGS)),
    "400 columns": ("i.csv", text((*HEADINGS, *MANY), (*ROW, *("x" for _ in MANY)))),
    "a cell of 32,767 letters": ("i.csv", text((*HEADINGS, "notes"), (*ROW, LONG))),
    "a heading of 32,767 letters": ("i.csv", text((*HEADINGS, LONG), (*ROW, "x"))),
    "UTF-16": ("i.csv", text(HEADINGS, ROW).decode().encode("utf-16")),
    "numbers stored as text": ("i.xlsx", book([HEADINGS, ROW], {})),
    "percent and currency formats": (
        "i.xlsx",
        book(
            [PRICED, ("A-1", "Oat", "bar soap", 6.5, 1.9, 102, ROW[-1], 0.2)],
            {"D": '"£"#,##0.00', "E": "[$€-407] #,##0.00", "H": "0%"},
        ),
    ),
}
REFUSED = {
    "UTF-16 without its mark": ("i.csv", text(HEADINGS, ROW).decode().encode("utf-16-le"), "Save it again as UTF-8."),
    "nothing": ("i.csv", b"", "it is empty."),
    "no text": ("i.csv", bytes(range(256)), "Save the file again as UTF-8."),
}


@pytest.mark.parametrize("name", FILES)
def test_a_sheet_is_drafted_as_a_shop(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, content = FILES[name]
    (tmp_path / file).write_bytes(content)
    assert main(["new", str(tmp_path / "shop"), "--items", str(tmp_path / file)]) == 0
    said = capsys.readouterr()
    assert "Understood:" in said.out + said.err
    assert max(map(len, (said.out + said.err).split("\n"))) < 1_000


@pytest.mark.parametrize("name", FILES)
def test_a_sample_is_drafted_as_a_place(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, content = FILES[name]
    (tmp_path / file).write_bytes(content)
    shop = clean_shop(tmp_path / "shop")
    status = main(["learn", str(tmp_path / file), "--name", "The Fair", "--shop", str(shop)])
    said = capsys.readouterr()
    assert status == 0, said.err
    assert max(map(len, (said.out + said.err).split("\n"))) < 1_000
    assert len(list((shop / "channels").iterdir())) == 2


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_table_is_told_and_nothing_is_made(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, content, hint = REFUSED[name]
    (tmp_path / file).write_bytes(content)
    assert main(["new", str(tmp_path / "shop"), "--items", str(tmp_path / file)]) == 1
    assert hint in capsys.readouterr().err
    assert not (tmp_path / "shop").exists()


def test_five_times_the_columns_take_at_most_eight_times_the_steps(tmp_path: Path) -> None:
    """Measured by hand on a busy core: 400 columns 0.13 s of the processor in a sheet, 0.06 s in a sample."""

    def steps(columns: int) -> int:
        more = MANY[: columns - len(ROW)]
        file = tmp_path / f"{columns}.csv"
        file.write_bytes(text((*HEADINGS, *more), (*ROW, *("x" for _ in more))))
        return calls(lambda: main(["new", str(tmp_path / f"shop-{columns}"), "--items", str(file)]))

    steps(40)  # what is read once
    assert steps(400) < 8 * steps(80)
