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


@pytest.mark.parametrize(
    ("typed", "cell"),
    [("20 months", "20"), ("20 Months", "20"), ("2 years", "2 years"), ("20 month", "20 month")],
)
def test_the_heading_s_own_unit_is_left_off_and_any_other_stays(told: Told, typed: str, cell: str) -> None:
    before = (told.shop / "items.csv").read_bytes()
    row = b"RR-B1,Sedge & Salt,bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no,"
    assert told.run("changes", "--set-item", "RR-B1", f"shelf_life={typed}", "--apply") == 0, told.err
    assert (told.shop / "items.csv").read_bytes() == before.replace(row + b"18\n", row + cell.encode() + b"\n")
