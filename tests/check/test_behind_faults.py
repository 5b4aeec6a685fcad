"""What depends on a value that must be fixed first is told as it is with usual values, and says so.

What is usual is common practice, no source: the middle one of a shop's own rows.
"""

import datetime
from pathlib import Path

import pytest

from listkit.problem import Level
from tests.checked import problems_of
from tests.shops import clean_shop

TODAY = datetime.date(2027, 3, 1)
ROW = "RR-B1,Sedge & Salt,bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40"
IF = "if what must be fixed first turns out as is usual in this shop, "


def changed(folder: Path, *changes: tuple[str, str, str]) -> list[tuple[str, str]]:
    """Return code and message of what is told of the clean shop with texts of its files replaced."""
    root = clean_shop(folder / "shop")
    for file, old, new in changes:
        path = root / file
        text = path.read_text(encoding="utf-8")
        assert old in text, old
        path.write_text(text.replace(old, new), encoding="utf-8")
    problems = problems_of(root, TODAY)
    assert all(each.level is Level.LOOK_AT for each in problems if each.message.startswith(IF))
    return [(each.code, each.message) for each in problems]


def test_a_thin_margin_is_told_though_one_cost_is_missing(tmp_path: Path) -> None:
    thin = 'lowest_margin = "20 %"', 'lowest_margin = "70 %"'
    told = dict(changed(tmp_path, ("items.csv", ROW, ROW.replace("1.40", "")), ("shop.toml", *thin)))
    assert set(told) == {"missing-key", "margin-thin"}
    assert told["margin-thin"].startswith(f"{IF}Market stall leaves ")


def test_a_margin_that_is_thin_with_an_extreme_cost_alone_is_not_told(tmp_path: Path) -> None:
    assert {code for code, _ in changed(tmp_path, ("items.csv", ROW, ROW.replace("1.40", "")))} == {"missing-key"}


def test_what_is_given_away_is_no_measure_of_what_things_cost(tmp_path: Path) -> None:
    free = "Water Mint,body butter,100 ml,9.00", "Water Mint,body butter,100 ml,0"
    assert "bad-value" in dict(changed(tmp_path, ("items.csv", ROW, ROW.replace("1.40", "x")), ("items.csv", *free)))


def test_a_loose_box_is_told_though_one_size_cannot_be_read(tmp_path: Path) -> None:
    larger = ("160 x 120 x 70 mm", "260 x 190 x 75 mm"), ("190 x 150 x 100 mm", "290 x 220 x 105 mm")
    boxes = [("packaging.toml", *pair) for pair in larger]
    told = dict(changed(tmp_path, ("items.csv", ROW, ROW.replace("80 x 55", "80 x 0")), *boxes))
    assert set(told) == {"bad-value", "box-loose"}
    assert told["box-loose"].startswith(f"{IF}RRS-1-J1 fills ")


@pytest.mark.parametrize("code", ["Q", "S1"])
def test_a_jar_that_no_box_holds_is_told_where_the_set_names_a_box_that_is_not_there(code: str, tmp_path: Path) -> None:
    small = "packaging.toml", "160 x 120 x 70 mm", "160 x 60 x 70 mm"
    told = dict(changed(tmp_path, ("sets/dawn/set.toml", 'box = "S"', f'box = "{code}"'), small))
    assert set(told) == {"unknown-code", "box-too-small"}
    assert "box Q" not in told["box-too-small"]


def test_a_reduction_on_one_channel_alone_is_told_though_the_prices_cannot_be_read(tmp_path: Path) -> None:
    fair, stall = 'name = "Fair online"\nmake = ["price list"]\n', 'name = "Market stall"\nmake = ["price list"]\n'
    root = clean_shop(
        tmp_path / "shop",
        {"channels/fair.toml": fair, "channels/stall.toml": f'{stall}tax = "100 %"\npieces_in_order = "0.5"\n'},
    )
    text = (root / "shop.toml").read_text(encoding="utf-8")
    text = text.replace('wholesale = "50 %"', 'wholesale = "120 %"\ntax = "100 %"\nending = "steps of 0"')
    reduction = '\n[[reduction]]\nfrom = 2027-02-22\nuntil = 2027-03-07\nby = "10 %"\nchannels = ["stall"]\n'
    (root / "shop.toml").write_text(f"{text}{reduction}[announcing]\nannounce = false\n", encoding="utf-8")
    told = {each.code: each.message for each in problems_of(root, TODAY)}
    assert told["reduction-apart"].startswith(
        f"{IF}until 7 March 2027 RRS-1-J1 costs £14.85 on Market stall and £16.50"
    )
