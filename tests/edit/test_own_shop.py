"""A shop folder around the owner's own sheet."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from listkit.edit.starter import ColumnLine, OwnSheet, ShopWords, example_figures, make_own_shop, without_remarks
from listkit.problem import FieldError
from listkit.shipped import shipped_templates
from listkit.units.length import Size

WORDS = ShopWords(
    name="Hill Farm",
    currency="GBP",
    currency_remark="as the prices carry £",
    country="GB",
    country_remark="of the currency",
    language="en-GB",
    language_remark="of your texts",
    measure="",
    measure_remark="",
)
LINES = (ColumnLine("Product", "name"), ColumnLine('Say "size"', "", '? "size (mm)", or "net"'))
SHEET = OwnSheet("my stock.csv", b"\xff any bytes \x00", "Products", LINES, ("cost. What it costs.",))


def test_the_sheet_is_copied_and_its_columns_are_written_down(tmp_path: Path) -> None:
    files = make_own_shop(shipped_templates(), tmp_path / "shop", SHEET, WORDS)
    assert files == ("channels/web_shop.toml", "my stock.csv", "packaging.toml", "shop.toml")
    assert (tmp_path / "shop" / "my stock.csv").read_bytes() == SHEET.content
    text = (tmp_path / "shop" / "shop.toml").read_text("utf-8")
    said = tomllib.loads(text)
    assert said["items"] == {
        "file": "my stock.csv", "sheet": "Products", "columns": {"Product": "name", 'Say "size"': ""},
    }  # fmt: skip
    assert (said["name"], said["currency"], said["country"]) == ("Hill Farm", "GBP", "GB")
    assert '# ? "size (mm)", or "net"\n' in text
    assert "# Missing: cost. What it costs.\n" in text


def test_the_example_box_says_that_it_is_one(tmp_path: Path) -> None:
    make_own_shop(shipped_templates(), tmp_path / "shop", SHEET, WORDS)
    text = (tmp_path / "shop" / "packaging.toml").read_text("utf-8")
    assert text.startswith("# An example:")
    assert tomllib.loads(text)["box"]


@pytest.mark.parametrize(("measure", "sign"), [("", "mm"), ("metric", "mm"), ("customary", "in")])
def test_the_example_box_is_in_her_measure(tmp_path: Path, measure: str, sign: str) -> None:
    make_own_shop(shipped_templates(), tmp_path / "shop", SHEET, replace(WORDS, measure=measure))
    box = tomllib.loads((tmp_path / "shop" / "packaging.toml").read_text("utf-8"))["box"][0]
    assert Size.parse(box["inside"]).volume < Size.parse(box["outside"]).volume
    assert box["inside"].endswith(sign)
    assert tomllib.loads((tmp_path / "shop" / "shop.toml").read_text("utf-8")).get("measure", "") == measure


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("mine")
    with pytest.raises(FieldError):
        make_own_shop(shipped_templates(), tmp_path, SHEET, WORDS)
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


def test_a_remark_is_taken_from_the_figure_that_it_marks_and_from_no_line_that_looks_alike() -> None:
    """What an owner had put away behind a # lost its remark, and the figure kept it."""
    templates = shipped_templates()
    text = (templates / "new_shop" / "packaging.toml").read_text(encoding="utf-8")
    line = next(each for each in text.splitlines() if each.startswith('cost = "0.95"'))
    own = f"# {line}\r\n[card]\r\n{line}\r\n\r\n{text}"
    after = without_remarks(templates, "packaging.toml", own)
    assert after.startswith(f"# {line}\r\n[card]\r\n{line}\r\n\r\n")
    assert 'cost = "0.95"\nminutes = 4\n' in after
    assert example_figures(templates, "packaging.toml", after) == ()
