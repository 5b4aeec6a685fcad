"""A shop folder around the owner's own sheet."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from listkit.edit.starter import ColumnLine, OwnSheet, ShopWords, make_own_shop
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
