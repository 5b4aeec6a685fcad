"""What a raw material's price moves, before and after it is written; codes in recipes and plans follow a rename."""

import datetime
from pathlib import Path
from typing import Any

import pytest

from listkit.actions.changes import changes_since_recorded
from listkit.actions.rename import plan_rename
from listkit.actions.what_if import suppose
from listkit.cli import main
from listkit.pipeline import Checked, check_shop
from listkit.problem import FieldError, Problem
from listkit.read.table_file import Form, Table, read_table
from tests.compute.test_costs import EMPTY, ITEMS, MATERIALS, RECIPES, SHOP, WAYS
from tests.shops import clean_shop

DAY = datetime.date(2027, 3, 1)
FILES = {"items.csv": EMPTY, "shop.toml": SHOP + WAYS, "materials.csv": MATERIALS, "recipes.csv": RECIPES}


def recorded(folder: Path) -> Path:
    """The clean shop with a recipe for its soap, built and recorded."""
    clean_shop(folder, FILES)
    for command in (["build"], ["record", "stall"]):
        assert main([*command, "--shop", str(folder), "--today", str(DAY)]) == 0
    return folder


def checked(folder: Path) -> Checked:
    """The shop as it is now."""
    return check_shop(folder, DAY)


def test_when_a_raw_material_goes_up_changes_names_it_with_the_items_and_sets_it_moves(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    dearer = MATERIALS.replace("olive oil,5 kg,30.00", "olive oil,5 kg,60.00")
    (folder / "materials.csv").write_text(dearer, encoding="utf-8")
    (changes,) = changes_since_recorded(checked(folder), "stall", folder / "out")
    assert [cause.words for cause in changes.causes] == [
        "RR-B1, cost 1.59 → 2.19 (price of olive oil 30.00 for 5 kg → 60.00 for 5 kg) moves 1 set, 2 variants"
    ]
    assert {change.field for change in changes.found.changed} == {"fullCost", "kept"}


def test_what_a_price_of_a_raw_material_would_move_is_told_before_it_is_written(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    supposed = suppose(checked(folder), [("olive oil", "price=60.00")], "", "stall")
    assert [cause.kind for cause in supposed.changes[0].causes] == ["item cost"]
    assert [str(item.cost) for item in supposed.listed.shop.items if item.code == "RR-B1"] == ["2.19"]
    with pytest.raises(FieldError, match=r"materials\.csv is yours to change"):
        supposed.apply()
    with pytest.raises(FieldError, match="sets no field of a raw material"):
        suppose(checked(folder), [("olive oil", "unit=kg")], "")
    nothing = suppose(checked(folder), [("olive oil", "price=30.00")], "")
    assert (nothing.edits, nothing.prices) == ((), ())


def test_an_items_price_can_be_written_beside_a_cost_that_follows(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    suppose(checked(folder), [("RR-B1", "retail=7.00")], "").apply()
    assert (folder / "items.csv").read_text(encoding="utf-8") == EMPTY.replace(",6.50,,", ",7.00,,")


def test_a_price_can_be_written_where_stock_follows_movements(tmp_path: Path) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n2027-02-01,counted,RR-B1,3,,,,\n"
    folder = clean_shop(tmp_path, {"movements.csv": moves})
    suppose(checked(folder), [("RR-B1", "retail=7.00")], "").apply()
    assert (folder / "items.csv").read_text(encoding="utf-8") == ITEMS.replace(",6.50,", ",7.00,")


def test_recipes_and_plans_follow_another_code(tmp_path: Path) -> None:
    plan = "set or item,place,how many,by when\nRR-B1,stall,5,2027-05-03\nRRS-1-J1,stall,5,2027-05-03\n"
    folder = clean_shop(tmp_path, {**FILES, "plan.csv": plan})
    plan_rename(folder, "RR-B1", "RR-B9").apply()
    assert (folder / "recipes.csv").read_text(encoding="utf-8") == RECIPES.replace("RR-B1", "RR-B9")
    assert (folder / "plan.csv").read_text(encoding="utf-8") == plan.replace("RR-B1", "RR-B9")
    shop = checked(folder)
    assert not [problem for problem in shop.problems if problem.code == "unknown-code"]
    plan_rename(folder, "RRS-1", "RRS-7").apply()
    assert "RRS-7-J1,stall" in (folder / "plan.csv").read_text(encoding="utf-8")


def test_recipes_are_made_into_rows_once_a_load(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = clean_shop(tmp_path, {**FILES, "recipes.csv": f"{RECIPES}RR-B1,olive oil,7.25 g\n"})
    read = list[str]()

    def counted(file: str, content: bytes, form: Form[Any]) -> tuple[Table[Any], list[Problem]]:
        read.append(file)
        return read_table(file, content, form)

    monkeypatch.setattr("listkit.read.making.read_table", counted)
    checked(folder)
    assert sorted(read) == ["materials.csv", "recipes.csv"]
