"""Scented goods that burn, melt or stand in a room: asked once each how they are classified, unless the row tells.

Regulation (EC) 1272/2008 on classification and labelling of mixtures; its statements EUH208 and H317 from memory.
"""

import datetime
from pathlib import Path

import pytest

from tests.checked import problems_of
from tests.shops import PROBLEMS, clean_shop, edited

DAY = datetime.date(2027, 3, 1)
SOAP = "RR-B1,Sedge & Salt,bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no"


def asked(folder: Path, form: str, cautions: str = "keep-from-children", country: str = "GB") -> int:
    row = SOAP.replace("bar soap", form).replace("external-use;avoid-eyes", cautions)
    changes = edited("items.csv", SOAP, row) | edited("shop.toml", 'country = "GB"', f'country = "{country}"')
    return sum(problem.code == "hazard-unlabelled" for problem in problems_of(clean_shop(folder, changes), DAY))


@pytest.mark.parametrize("form", ["wax melts", "incense cones", "reed diffuser", "Duftwachs", "room spray"])
def test_each_scented_good_for_a_room_is_asked_once(tmp_path: Path, form: str) -> None:
    assert asked(tmp_path, form) == 1


@pytest.mark.parametrize("form", ["candle", "candle holder", "bar soap", "wax melt warmer"])
def test_plain_wax_holders_and_soap_are_not(tmp_path: Path, form: str) -> None:
    assert asked(tmp_path, form) == 0


@pytest.mark.parametrize(
    "said",
    [
        "Contains linalool. May produce an allergic reaction.",
        "EUH208 contains linalool",
        "H317 may cause an allergic skin reaction",
    ],
)
def test_a_row_that_tells_is_not_asked(tmp_path: Path, said: str) -> None:
    assert asked(tmp_path, "wax melts", said) == 0


def test_where_no_such_rule_is_in_force_nothing_is_asked(tmp_path: Path) -> None:
    assert asked(tmp_path, "wax melts", country="US") == 0


@pytest.mark.parametrize(("ingredients", "times"), [("Cera Alba", 0), ("Cera Alba, Parfum", 1), ("", 1)])
def test_a_candle_is_asked_by_its_ingredients_and_without_them_by_its_scent(
    tmp_path: Path, ingredients: str, times: int
) -> None:
    table = (PROBLEMS / "clean" / "items.csv").read_text(encoding="utf-8").splitlines()
    row = SOAP.replace("bar soap", "candle").replace("external-use;avoid-eyes", "candle;keep-from-children")
    rows = [f"{line},," for line in table[2:]]
    text = "\n".join([f"{table[0]},scent,ingredients", f'{row},Hay,"{ingredients}"', *rows]) + "\n"
    found = problems_of(clean_shop(tmp_path, {"items.csv": text}), DAY)
    assert sum(problem.code == "hazard-unlabelled" for problem in found) == times
