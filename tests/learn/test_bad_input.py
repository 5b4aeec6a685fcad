"""Sheets and samples as they come by mail: drafted or told, never a traceback, and soon."""

import io
import time
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest

from listkit.actions.learn import understand_sample
from listkit.actions.own_sheet import understand_sheet
from listkit.cli import main
from listkit.learn.cell_shapes import amount, is_sides, kind_of
from listkit.learn.folding import unit_of, words_of
from listkit.learn.header import heading_score
from listkit.problem import FieldError
from tests.shops import clean_shop
from tests.steps import calls, counted

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


def letters(at: int) -> str:
    return chr(97 + at // 26 % 26) + chr(97 + at % 26)


def test_a_sample_of_names_in_every_column_and_row_takes_time_in_step_with_its_columns() -> None:
    def steps(columns: int) -> int:
        headings = tuple(f"zq{letters(at)}" for at in range(columns))
        rows = (tuple(f"blue{letters(at)} fish {letters(row)}" for at in range(columns)) for row in range(40))
        content = text(("SKU", "Title", *headings), *(("A1", "Blue", *row) for row in rows))
        for cached in (amount, kind_of, is_sides, words_of, unit_of):
            cached.cache_clear()
        return calls(lambda: understand_sample("s.csv", content))

    steps(20)  # what is read once
    assert steps(320) < 6 * steps(80)


def test_codes_in_every_column_take_time_in_step_with_the_columns() -> None:
    """Half of them begin the others' codes but for one row, the last."""

    def steps(columns: int) -> int:
        rows = (
            tuple(f"Q{row // 2}" if at % 2 and row < 39 else f"Q{row // 2}-{row}" for at in range(columns))
            for row in range(40)
        )
        content = text(("Title", *(f"zq{letters(at)}" for at in range(columns))), *(("Blue", *row) for row in rows))
        return calls(lambda: understand_sample("s.csv", content))

    steps(20)
    assert steps(160) < 8 * steps(40)


@pytest.mark.parametrize("cell", ["a" + " " * 3_000 + "1", "1.00" + " " * 3_000 + "xyzuv", ".jpg?" * 20_000 + " x"])
def test_no_cell_is_walked_through_again_and_again(cell: str) -> None:
    """Three thousand spaces took minutes each; the bound is far above what they take now, a millisecond."""
    begun = time.process_time()
    content = text((*HEADINGS, "note", "what it is"), (*ROW, cell, "x" + cell), (*ROW, "x", "y"))
    understand_sample("s.csv", content)
    understand_sheet("s.csv", content)
    assert time.process_time() - begun < 2


def test_more_columns_than_a_table_has_are_told() -> None:
    content = text(
        ("SKU", "Title", *(f"zq{at}" for at in range(50_000))), ("A1", "Blue", *("x" for _ in range(50_000)))
    )
    with pytest.raises(FieldError, match=r"s\.csv: it has more than 500 columns\."):
        understand_sample("s.csv", content)


def test_for_the_row_of_headings_only_the_first_cells_of_wide_rows_are_looked_at() -> None:
    def steps(columns: int) -> int:
        rows = [tuple(f"name{columns}{letters(row)}{letters(at)}" for at in range(columns)) for row in range(30)]
        return counted(lambda: [heading_score(row) for row in rows]).get(words_of.__wrapped__.__code__, 0)

    assert steps(400) < 2 * steps(60)


@pytest.mark.parametrize("name", ["movements.csv", "allotment.csv", "plan.csv"])
def test_a_sheet_that_is_called_as_another_table_of_the_shop_is_refused(name: str) -> None:
    with pytest.raises(FieldError, match=f"{name} cannot be the name of an items table"):
        understand_sheet(name, text(HEADINGS, ROW))
