"""`listkit order`: forms filled in by LibreOffice, CSV orders, what is written and what is refused."""

import csv
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pikepdf
import pytest
from python_calamine import CalamineWorkbook

from listkit.cli import main
from tests.office import needs_office, typed
from tests.shops import demo_without_pictures

PDFTEXT = shutil.which("pdftotext")
needs_poppler = pytest.mark.skipif(PDFTEXT is None, reason="poppler is not installed (Debian: poppler-utils)")
Answer = tuple[int, dict[str, Any], Path]


@pytest.fixture(scope="module")
def demo_built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop without its photos and channels, built and its sheet recorded."""
    folder = tmp_path_factory.mktemp("order") / "shop"
    demo_without_pictures(folder)
    assert main(["build", "--shop", str(folder), "--today", "2027-01-20"]) == 0
    return folder


@pytest.fixture
def order(demo_built: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Answer]:
    def run(form: Path, *more: str) -> Answer:
        capsys.readouterr()
        words = ["order", str(form), "--shop", str(demo_built), "--today", "2027-01-20", "--json", *more]
        status = main(words)
        said = capsys.readouterr()
        return status, json.loads(said.out) if said.out else {"told": said.err}, demo_built / "out"

    return run


def cells_of(form: Path) -> list[list[Any]]:
    return CalamineWorkbook.from_path(form).get_sheet_by_index(0).to_python(skip_empty_area=False)


def form_of(demo_built: Path) -> tuple[Path, dict[str, int]]:
    """The blank form, and the row of each code."""
    form = demo_built / "out/wholesale/order-form.xlsx"
    return form, {str(row[0]): at for at, row in enumerate(cells_of(form), 1) if row[0]}


Cells = dict[str, str | float]
"""What is typed, by cell: B4, or the column and the code of a line."""
BUYER: Cells = {"B4": "The Thistle Drawer", "B8": "TD-118", "B10": "Ring twice", "B11": "no"}
RIGHT = {"OHS-1-S03": 4, "OHS-1-U01": 6, "OHS-1 display": 1, "OHS-3-S01": 24, "OH-B01": 12}
SPOILT: dict[str, tuple[str | float, str]] = {
    "OH-B01": (7, "5 more make full cases of 6"),
    "OHS-1-S03": (1, "1 more make full cases of 2"),
    "OH-B02": ("six", "whole numbers only"),
    "OH-B03": (2.5, "whole numbers only"),
    "OH-B04": (-6, "whole numbers only"),
    "OHS-2 display": (1, "one for a set that is ordered"),
}
SHELVES = {48: "230.40", 96: "400.80", 102: "362.10"}
FORMS: dict[str, Cells] = {
    "right.xlsx": BUYER | {f"I {code}": count for code, count in RIGHT.items()},
    "missing.xlsx": {f"I {code}": count for code, (count, _) in SPOILT.items()} | {"I OH-S01": 36},
    "choices.ods": {"I OHS-1-S03": 11, "I OHS-1-U01": 13, "B11": "yes"},
    "short.xlsx": {"I OH-B01": 6, "B11": "yes"},
    **{f"shelf-{pieces}.xlsx": {"I OH-B01": pieces, "I OH-SHELF": 1, "B11": "no"} for pieces in SHELVES},
}


def by_rows(cells: Cells, rows: dict[str, int]) -> Cells:
    """Return the cells by their names in the sheet."""
    parts = ((*name.partition(" ")[::2], value) for name, value in cells.items())
    return {f"{column}{rows[code]}" if code else column: value for column, code, value in parts}


@pytest.fixture(scope="module")
def filled_in(demo_built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with FORMS as LibreOffice saved them, all of one start."""
    form, rows = form_of(demo_built)
    folder = tmp_path_factory.mktemp("forms")
    typed((form, folder / name, by_rows(cells, rows)) for name, cells in FORMS.items())
    return folder


@needs_office
@needs_poppler
def test_a_form_filled_in_by_libreoffice_and_read_back_gives_the_right_confirmation(
    order: Callable[..., Answer], demo_built: Path, filled_in: Path
) -> None:
    """4 x 13.50 + 6 x 14.50 + 24 x 15.05 (from 24) + 12 x 3.75; the display set is free from 12 sets."""
    _, rows = form_of(demo_built)
    filled = filled_in / "right.xlsx"
    cells = cells_of(filled)
    assert [cells[12][1], cells[13][1], cells[14][1]] == [547.2, 46.0, "complete; please send it to us"]
    status, told, out = order(filled)
    assert (status, told["total"], told["pieces"]) == (0, "547.20", 46)
    assert {one["code"]: float(one["total"]) for one in told["lines"]} == {
        code: cells[rows[code] - 1][9] for code in RIGHT
    }
    stem = r"wholesale/orders/the-thistle-drawer-td-118-[0-9a-f]{6}"
    assert [bool(re.fullmatch(f"{stem}-{page}.pdf", path)) for page, path in
            zip(("confirmation", "pick-list"), told["files"], strict=True)] == [True, True]  # fmt: skip
    confirmation, picked = (words_of(out / path) for path in told["files"])
    for part in ("OHS-3-S01", "£15.05", "£361.20", "£547.20", "TD-118", "The Thistle Drawer", "Ring twice"):
        assert part in confirmation
    assert all(code in picked for code in RIGHT)
    assert "12 × 2" in picked  # 24 sets in cases of 2


def words_of(pdf: Path) -> str:
    told = subprocess.run([str(PDFTEXT), "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)
    return " ".join(told.stdout.split())


@needs_office
def test_what_is_missing_is_named_in_the_sheet_itself_and_by_us(
    order: Callable[..., Answer], demo_built: Path, filled_in: Path
) -> None:
    _, rows = form_of(demo_built)
    filled = filled_in / "missing.xlsx"
    cells = cells_of(filled)
    assert {code: cells[rows[code] - 1][10] for code in SPOILT} == {code: says for code, (_, says) in SPOILT.items()}
    assert cells[rows["OH-S01"] - 1][10] == ""
    assert cells[14][1] == "see the lines below"
    status, told, _ = order(filled)
    assert (status, told["files"]) == (1, [])
    stopping = [one for one in told["problems"] if one["level"] == "must fix"]
    assert len(stopping) == len(SPOILT)
    assert all(any(code in f"{one}" for one in stopping) for code in SPOILT)


@needs_office
def test_choices_of_a_set_fill_a_case_together_in_the_sheet_and_by_us(
    order: Callable[..., Answer], filled_in: Path
) -> None:
    filled = filled_in / "choices.ods"
    shown = cells_of(filled)
    assert shown[14][1] == "complete; please send it to us"
    status, told, _ = order(filled)
    assert (status, told["total"]) == (0, f"{shown[12][1]:.2f}")  # 11 x 12.70 + 13 x 13.65, from 24
    assert told["total"] == "317.15"


@needs_office
def test_an_order_that_is_short_of_the_opening_sum_is_told_in_the_sheet_and_by_us(
    order: Callable[..., Answer], filled_in: Path
) -> None:
    filled = filled_in / "short.xlsx"
    assert cells_of(filled)[14][1] == "217.50 short of 240.00"
    status, told, _ = order(filled)
    assert (status, [one["message"] for one in told["problems"]]) == (
        1, ["it comes to £22.50, £217.50 short of £240.00 for a first order."]
    )  # fmt: skip


def spoilt(demo_built: Path, target: Path, cells: dict[str, Any]) -> Path:
    """The form with cells changed by a program that asks nobody."""
    form, rows = form_of(demo_built)
    book = openpyxl.load_workbook(form)
    for name, value in by_rows(cells, rows).items():
        book.active[name] = value
    book.save(target)
    return target


@needs_poppler
def test_a_changed_price_cell_is_told_and_the_sheets_price_holds_anyway(
    order: Callable[..., Answer], demo_built: Path, tmp_path: Path
) -> None:
    cells = {"D OH-B01": 2.5, "I OH-B01": 60, "I OH-B02": 12, "I OH-U01": "two"}
    form = spoilt(demo_built, tmp_path / "form.xlsx", cells)
    status, told, _ = order(form)
    assert (status, told["files"]) == (1, [])
    assert [one["code"] for one in told["problems"]] == ["bad-value", "price-differs"]
    status, told, out = order(form, "--anyway")
    assert (status, told["total"]) == (1, "258.00")  # 60 x 3.55, from 24, and 12 x 3.75
    words = words_of(out / told["files"][0])
    assert "OH-B01 costs £3.55 each, not 2.5." in words
    assert "OH-U01: “two” is left out" in words


def test_a_version_that_never_was_is_told(order: Callable[..., Answer], demo_built: Path, tmp_path: Path) -> None:
    status, told, _ = order(spoilt(demo_built, tmp_path / "form.xlsx", {"G4": "spring-QQQQQ", "I OH-B01": 60}))
    assert status == 1
    assert told["problems"][0]["message"] == 'there was no line sheet "QQQQQ".'


def test_a_csv_of_codes_and_quantities_is_an_order_by_the_sheet_of_today(
    order: Callable[..., Answer], tmp_path: Path
) -> None:
    file = tmp_path / "letter 7.csv"
    with file.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([("code", "quantity"), ("OH-S01", 30), ("OHS-2-S01", 2)])
    status, told, _ = order(file)
    assert (status, told["total"]) == (0, "231.50")  # 30 x 6.60 + 2 x 16.75
    assert re.fullmatch(r"wholesale/orders/letter-7-[0-9a-f]{6}-confirmation\.pdf", told["files"][0])
    status, told, _ = order(file, "--sheet", "QQQQQ")
    assert status == 1


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"PK\x03\x04", b"\x00\xff" * 50, b"dear all"])
def test_a_file_that_is_no_form_is_refused_with_a_remedy(
    content: bytes, order: Callable[..., Answer], tmp_path: Path
) -> None:
    (tmp_path / "form.xlsx").write_bytes(content)
    status, told, _ = order(tmp_path / "form.xlsx")
    assert status == 1
    assert told["problems"][0]["hint"]
    assert order(tmp_path / "nowhere.xlsx")[0] == 1


def test_without_terms_for_shops_there_is_nothing_to_order_by(
    tmp_path: Path, demo_built: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "shop"
    shutil.copytree(demo_built, folder, ignore=shutil.ignore_patterns("out", "wholesale.toml"))
    assert main(["order", str(form_of(demo_built)[0]), "--shop", str(folder)]) == 1
    assert "there is no line sheet to order by." in capsys.readouterr().err


def test_both_pages_are_tagged_and_the_same_every_time(order: Callable[..., Answer], tmp_path: Path) -> None:
    """ISO 14289-1 and ISO 19005-2, by what pikepdf sees: passes these checks, which certifies nothing."""
    (tmp_path / "o.csv").write_text("code,quantity\nOH-S01,30\n", encoding="utf-8")
    _, told, out = order(tmp_path / "o.csv")
    before = [(out / path).read_bytes() for path in told["files"]]
    order(tmp_path / "o.csv")
    assert [(out / path).read_bytes() for path in told["files"]] == before
    for path in told["files"]:
        with pikepdf.open(out / path) as pdf:
            assert bool(pdf.Root.MarkInfo.Marked)
            assert "/StructTreeRoot" in pdf.Root
            assert str(pdf.Root.Lang) == "en-GB"


def test_two_orders_of_one_day_without_a_number_are_two(order: Callable[..., Answer], tmp_path: Path) -> None:
    form = tmp_path / "order.csv"
    files = []
    for lines in ("OH-B01,60", "OH-S01,36", "OH-B01,60"):
        form.write_text(f"code,quantity\n{lines}\n", encoding="utf-8")
        status, told, out = order(form)
        assert status == 0, told
        files.append(tuple(told["files"]))
    first, second, again = files
    assert again == first
    assert not {*first} & {*second}
    assert all((out / file).is_file() for file in (*first, *second))


def test_a_line_may_be_ordered_by_its_gtin(order: Callable[..., Answer], tmp_path: Path) -> None:
    """GTIN 9520000000011 stands beside OH-B01 on the price list."""
    form = tmp_path / "order.csv"
    form.write_text("code,quantity\n9520000000011,60\n", encoding="utf-8")
    _, told, _ = order(form)
    assert [(line["code"], line["quantity"]) for line in told["lines"]] == [("OH-B01", 60)]


def test_a_variant_that_is_no_line_for_shops_is_not_taken_for_another(
    order: Callable[..., Answer], tmp_path: Path
) -> None:
    form = tmp_path / "order.csv"
    form.write_text("code,quantity\nOHS-8-B02-M01,6\nOH-B01,60\n", encoding="utf-8")
    _, told, _ = order(form)
    [problem] = [one for one in told["problems"] if one["code"] == "unknown-code"]
    assert (problem["column"], problem["hint"]) == (None, "It is not sold to shops; offer something else.")


def test_every_list_has_a_heading_and_every_code_its_name(
    demo_built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    form = tmp_path / "order.csv"
    form.write_text("code,quantity\nOHS-1-S03,4\nOHS-1 display,1\nOH-B01,12\n", encoding="utf-8")
    words = ["order", str(form), "--shop", str(demo_built), "--today", "2027-01-20"]
    capsys.readouterr()
    status = main(words)
    said = capsys.readouterr()
    heading, columns, *lines = said.out.splitlines()
    assert re.fullmatch(r"(Confirmed|Ordered), by the prices of line sheet [A-Z0-9]{5} · amounts in GBP", heading)
    assert columns.split() == ["code", "name", "pieces", "each", "total"]
    assert "First Nectar, Elderflower & Verbena " in lines[0]
    assert "First Nectar, display set" in lines[1]
    assert "Rosemary & Rind bar soap" in lines[2]
    assert status in (0, 1)
    assert said.err.startswith("\nWhat to settle\nMust fix · " if status else "\nWhat to look at\nLook at · ")
    assert main([*words, "--anyway"]) == status
    said = capsys.readouterr()
    assert said.out.startswith("Confirmed, by ")
    heading, *files = said.err.partition("Written in ")[2].splitlines()
    assert heading == str(demo_built / "out")
    assert [path.rpartition("-")[2] for path in files] == ["confirmation.pdf", "list.pdf"]


@needs_office
@pytest.mark.parametrize("pieces", SHELVES)
def test_a_display_set_is_free_from_the_worth_of_the_other_lines_in_the_sheet_and_by_us(
    pieces: int, order: Callable[..., Answer], filled_in: Path
) -> None:
    """48 x 3.55 is 170.40, 230.40 with the shelf; 96 are 340.80, 400.80 with it; 102 are 362.10, and it is free."""
    filled, total = filled_in / f"shelf-{pieces}.xlsx", SHELVES[pieces]
    shown = cells_of(filled)
    status, told, _ = order(filled)
    assert (status, told["total"], f"{shown[12][1]:.2f}") == (0, total, total)
