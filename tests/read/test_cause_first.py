"""A cause is told, and what only follows from it is not."""

from pathlib import Path

import pytest

from listkit.read.shop import read_shop
from tests.shops import lines
from tests.three_sets import ITEMS, three_sets


def own_sheet(folder: Path, settings: str, table: str = ITEMS) -> list[str]:
    """Return the problems of the shop with its items in a sheet of another name, and this in shop.toml."""
    shop = three_sets(folder)
    (shop / "items.csv").unlink()
    (shop / "my goods.csv").write_text(table, encoding="utf-8")
    file = shop / "shop.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("[prices]", settings + "\n[prices]"), encoding="utf-8")
    return lines(read_shop(shop)[1])


@pytest.mark.parametrize("settings", ['[items]\nfile = "my goods.csv', '[items]\nfile = "my goods.csv"\n[prices'])
def test_a_syntax_fault_in_the_shop_file_that_names_the_sheet_is_told_alone(settings: str, tmp_path: Path) -> None:
    [line] = own_sheet(tmp_path, settings)
    assert line.startswith("Must fix · shop.toml, line ")
    assert line.endswith("  syntax")


def test_a_sheet_that_is_named_wrongly_is_told_alone(tmp_path: Path) -> None:
    [line] = own_sheet(tmp_path, '[items]\nfile = "my good.csv"')
    assert line == (
        'Must fix · shop.toml, line 8: file: there is no file "my good.csv". 3 sets are left out with it. '
        'Write "my goods.csv".  file-missing'
    )


def test_translated_headings_lost_with_the_shop_file_are_no_fault_of_the_sheet(tmp_path: Path) -> None:
    shop = three_sets(tmp_path)
    items = ITEMS.replace("code,name", "Ref,Product").replace("weight (g)", "Gross").replace("larger", "Big one")
    (shop / "items.csv").write_text(items, encoding="utf-8")
    stated = '[items.columns]\nRef = "code"\nProduct = "name"\nGross = "weight (g)"\n"Big one" = "larger"\n'
    file = shop / "shop.toml"
    sound = file.read_text(encoding="utf-8").replace("[prices]", f"{stated}[prices]")
    file.write_text(sound, encoding="utf-8")
    assert lines(read_shop(shop)[1]) == []
    file.write_text(sound.replace("[prices]", "[prices"), encoding="utf-8")
    [line] = lines(read_shop(shop)[1])
    assert line.startswith("Must fix · shop.toml, line ")


def test_an_item_that_is_none_is_to_be_added_to_the_sheet_she_has(tmp_path: Path) -> None:
    own = '[items]\nfile = "my goods.csv"'
    [line] = own_sheet(tmp_path, own, ITEMS.replace("RR-K1,Reed Mace", "XX-99,Reed Mace"))
    assert "Add it to my goods.csv" in line or "Perhaps" in line


def test_a_set_that_is_no_toml_is_told_alone(tmp_path: Path) -> None:
    shop = three_sets(tmp_path)
    file = shop / "sets/noon/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('box = "M"', 'box = "M'), encoding="utf-8")
    [line] = lines(read_shop(shop)[1])
    assert line.startswith("Must fix · sets/noon/set.toml, line 5: a quotation mark is not closed in")
    assert line.endswith("  syntax")
