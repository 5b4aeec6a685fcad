"""What is supposed, as it is written into a column whose heading has the unit."""

from pathlib import Path

import pytest

from tests.cli.published import Told
from tests.shops import CLEAN, clean_shop


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """The clean shop, with months in the heading and bare numbers below it."""
    heading, *rows = (CLEAN / "items.csv").read_text(encoding="utf-8").splitlines()
    table = "\n".join([f"{heading},shelf life (months)", *(f"{row},18" for row in rows)]) + "\n"
    return Told(clean_shop(tmp_path / "shop", {"items.csv": table}), capsys)


def test_a_raw_material_that_is_called_as_an_item_has_a_price_and_the_item_its_own_facts(told: Told) -> None:
    (told.shop / "materials.csv").write_text("material,unit,price\nRR-B1,kg,9.00\n", encoding="utf-8")
    assert told.run("changes", "--set-item", "RR-B1", "price=8.00") == 0, told.err
    assert told.run("changes", "--set-item", "RR-B1", "retail=8.00") == 0, told.err
    assert "8.00" in told.out


def test_a_fact_that_is_to_be_two_things_is_told_and_one_said_twice_is_taken(told: Told) -> None:
    eight, nine = ("--set-item", "RR-B1", "retail=8.00"), ("--set-item", "RR-B1", "retail=9.00")
    assert told.run("changes", *eight, *nine) == 1
    assert "retail of RR-B1 is to be both 8.00 and 9.00. Write the one that is meant." in told.out + told.err
    assert told.run("changes", *eight, *eight, "--all-retail", "+5%") == 0


@pytest.mark.parametrize(
    ("typed", "cell"),
    [("20 months", "20"), ("20 Months", "20"), ("2 years", "2 years"), ("20 month", "20 month")],
)
def test_the_heading_s_own_unit_is_left_off_and_any_other_stays(told: Told, typed: str, cell: str) -> None:
    before = (told.shop / "items.csv").read_bytes()
    row = b"RR-B1,Sedge & Salt,bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no,"
    assert told.run("changes", "--set-item", "RR-B1", f"shelf_life={typed}", "--apply") == 0, told.err
    assert (told.shop / "items.csv").read_bytes() == before.replace(row + b"18\n", row + cell.encode() + b"\n")
