"""Every message with a weight, length or size, in a shop that reads ounces and inches.

The shops are those of tests/problems, whose own files are in grams and millimetres: what a message quotes of them stays
as the owner wrote it, and all else is in her measure. Figures by NIST's 28.349523125 g and 25.4 mm.
"""

import re
from pathlib import Path

import pytest

from listkit.read.shop import read_shop
from tests.checked import problems_of
from tests.shops import PROBLEMS, broken_shop, clean_shop, edited, lines
from tests.test_problems import CASES, TODAY

AMOUNT = re.compile(r"\d ?(?:mm|cm|kg|g|ml)\b|\((?:g|mm)\)")
# Quotes of her files, the column that a problem is in, articles of laws, and net contents as she declares them.
HERS = re.compile(
    r'^[^:]*: (?:inside: )?|"[^"]*"(?= (?:is|has|stands|in|empty)|\. Take it out)|\d\)\(g\)'
    r"|\bthe 100 g in it|\b1000 ml do not"
)
MEASURED = [
    case
    for case in CASES
    if AMOUNT.search(HERS.sub("", (PROBLEMS / case / "expected.txt").read_text("utf-8").replace("\n", " ")))
]
SAID = {
    "bad-value+label-size": 'as in "4 x 5 1/2 in".',
    "bad-value+rate": '"0 oz" weighs nothing. Write a weight above zero, as in "1 lb 2 oz".',
    "bad-value+size": 'as in "3 1/4 x 2 1/4 x 1 in".',
    "bad-value+unit": 'Write the unit with it, as in "12 oz".',
    "box-high": "1.38 of the 3.74 in of height in box S free. Above 1.18 in a box looks deep",
    "box-loose": "5.31 × 4.33 × 0.59 in are to spare.",
    "box-overloaded": "the pieces weigh up to 10.02 oz; box S carries 8.82 oz.",
    "display-set+draft": "4.33 × 2.76 × 0.94 in are to spare.",
    "carton-missing": 'carton = { outside = "7 1/2 x 6 x 4 in", weight = "3 oz" }',
    "inside-larger": "width 4.72 in inside and 4.65 in outside.",
    "box-too-small": "RR-J1 alone is too large, 2.76 in where 2.24 in are free.",
    "label-large": "a label of 7.09 x 5.12 in is larger than any side of box S (6.3 x 4.72 in).",
    "label-sheet": 'labels 3.78 in wide lie 3.58 in apart, 0.2 in of them upon the next. Write "3.78 in" at least.',
    "label-sheet+box": "labels 9.84 in wide need 1.57 in more than the sheet of 8.27 in has. Labels at most 8.26 in",
    "opening-unstated": "a label of 5.51 x 7.87 in is larger than any side of box S (6.3 x 4.72 in).",
    "label-tight": "a label of 3.54 x 2.36 in may not hold its text",
    "missing-key": 'Add inside = "6 1/2 x 5 x 2 3/4 in"',
    "net-high": "in the lowest 30 % of its panel, which are 1.42 in of 4.72 in (21 CFR 701.13).",
    "net-unlikely": "1000 ml do not go into 2.76 × 2.76 × 2.36 in, which is 9.94 fl oz outside.",
    "piece-blurred": "the line sheet prints 40 on 0.87 in, 46 an inch",
    "recipe-units+bare": 'Write the unit with it, as in "12 oz".',
    "shape-wrong": "RR-J1 is a cylinder of 2.76 × 2.68 × 2.36 in.",
    "yield-over": "2 lb 0.5 oz go into a batch of RR-B1, and 5 lb 4.7 oz come out.",
    "weight-below-net": "RR-B1 weighs 3.32 oz, less than the 100 g in it.",
    "weight-missing": "RR-B1 weighs 0 oz.",
    "weight-unlikely": "RR-B1 weighs 24 lb 4.01 oz and is 3.15 × 2.17 × 0.98 in: 57.8 oz in each in³, heavier",
    "weight-unlikely+packaging": "box S weighs 132 lb 4.44 oz for 6.3 × 4.72 × 2.76 in: 158 lb in each ft² of its",
}
# Her rate card is in grams, and what is to be written there is too.
IN_GRAMS = {"rate-cheaper", "rate-steps"}


def told(shop: Path) -> list[str]:
    """Return what is told of the shop once it reads ounces and inches."""
    file = shop / "shop.toml"
    file.write_text(f'measure = "customary"\n{file.read_text("utf-8")}', "utf-8")
    return lines(problems_of(shop, TODAY))


@pytest.mark.parametrize("case", sorted({*MEASURED, *SAID} - IN_GRAMS))
def test_a_message_is_in_her_measure(case: str, tmp_path: Path) -> None:
    text = told(broken_shop(tmp_path, PROBLEMS / case))
    assert [line for line in text if AMOUNT.search(HERS.sub("", line))] == []
    assert SAID.get(case, "") in "\n".join(text)


def test_these_are_all_the_cases_in_which_something_is_measured() -> None:
    assert set(MEASURED) - set(SAID) <= {"bad-value+step", "bad-value+size-negative", *IN_GRAMS}


def test_a_rate_card_in_ounces_is_told_in_them_and_one_in_grams_in_grams(tmp_path: Path) -> None:
    rows = "service,zone,over (oz),up to (oz),price\nReed Post,home,0,8,2.00\nReed Post,home,6,24,3.00\n"
    ounces = told(clean_shop(tmp_path / "ounces", {"rates.csv": rows}))
    assert any("over 6 oz overlaps with up to 8 oz. Write 8 oz, where" in line for line in ounces)
    in_grams = rows.replace("(oz)", "(g)")
    assert any("Write 8 g, where" in line for line in told(clean_shop(tmp_path / "grams", {"rates.csv": in_grams})))


def test_a_column_of_bare_numbers_is_told_to_have_ounces_in_its_heading(tmp_path: Path) -> None:
    items = (clean_shop(tmp_path / "clean") / "items.csv").read_text("utf-8").replace("weight (g)", "weight")
    assert any('as in "weight (oz)".' in line for line in told(clean_shop(tmp_path / "bare", {"items.csv": items})))


def test_metric_is_what_a_shop_without_the_key_has(tmp_path: Path) -> None:
    """And in such a shop nothing is turned: tests/test_problems.py has its words."""
    shop = read_shop(clean_shop(tmp_path / "one"))[0]
    assert (shop.settings.measure, shop.settings.measures.system) == (None, "metric")
    folder = PROBLEMS / "weight-missing"
    broken = broken_shop(tmp_path / "two", folder)
    file = broken / "shop.toml"
    file.write_text(f'measure = "metric"\n{file.read_text("utf-8")}', "utf-8")
    assert lines(problems_of(broken, TODAY)) == (folder / "expected.txt").read_text("utf-8").splitlines()


def test_a_measure_that_is_none_is_told(tmp_path: Path) -> None:
    changes = edited("shop.toml", "name =", 'measure = "imperial"\nname =')
    assert any(
        "imperial" in line and '"customary"' in line for line in lines(read_shop(clean_shop(tmp_path, changes))[1])
    )
