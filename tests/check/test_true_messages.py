"""Small shops of several makers: what a message says is so, once, and what is in order is asked nothing.

What a message may say is common practice, no source; of the price of a set the shop's own figures decide.
"""

import datetime
from pathlib import Path

import pytest

from tests.checked import problems_of
from tests.shops import clean_shop

TODAY = datetime.date(2027, 3, 1)
ITEMS = "items.csv"
SET = "sets/dawn/set.toml"
STORY = "sets/dawn/story.md"
POTS = ("mug", "tea bowl", "plate", "bud vase", "jug", "butter dish", "saucers", "planter", "candlestick", "trivet")


def told(folder: Path, *changes: tuple[str, str, str], **files: str) -> list[str]:
    """Return what is told of the clean shop with texts of its files replaced: code, row, message and hint in one."""
    root = clean_shop(folder / "shop", {path.replace("__", "/").replace("_", "."): files[path] for path in files})
    for file, old, new in changes:
        text = (root / file).read_text(encoding="utf-8")
        assert old in text, old
        (root / file).write_text(text.replace(old, new), encoding="utf-8")
    return [f"{each.code} {each.place.row} {each.message} {each.hint}" for each in problems_of(root, TODAY)]


def potter(folder: Path, net: str, forms: tuple[str, ...] = POTS) -> list[str]:
    """Return what is told of a potter's shop: five pieces a set, without box and pictures."""
    rows = (f"KP-{at},Ash,{form},{net},22.00,7.00,340,90 x 90 x 90,no\n" for at, form in enumerate(forms))
    heading = "code,name,form,net,retail,cost,weight (g),size (mm),upright\n"
    contents = "".join(f'[[contents]]\nitem = "KP-{at}"\n' for at in range(min(5, len(forms))))
    gift_set = 'code = "RRS-1"\nname = "Table for Two"\ntheme = "A quiet supper."\nseason = "spring"\nbox = "none"\n'
    root = clean_shop(
        folder / "shop",
        {
            ITEMS: heading + "".join(rows), SET: gift_set + contents, "wholesale.toml": None, "stockists.csv": None,
            "sets/dawn/photos/open-box.png": None, "sets/dawn/photos/detail.png": None,
        },
    )  # fmt: skip
    return [f"{each.code} {each.message} {each.hint}" for each in problems_of(root, TODAY)]


@pytest.mark.parametrize("net", ["1 pcs", "300 ml", "90 x 90 mm"])
def test_a_potters_whole_shop_is_asked_for_no_ingredients_and_no_cautions(net: str, tmp_path: Path) -> None:
    assert potter(tmp_path, net) == []


def test_forms_that_nobody_knows_are_told_together(tmp_path: Path) -> None:
    forms = ("felt garland", "wool wreath", "paper star", "linen bunting", "willow heart")
    lines = potter(tmp_path, "1 pcs", forms)
    assert [line.split()[0] for line in lines] == ["form-unknown"]
    assert '"felt garland", "wool wreath", "paper star", "linen bunting" and "willow heart" are no kinds' in lines[0]


@pytest.mark.parametrize(
    "name",
    [
        "Cinnamon Oil", "Cinnamon Extract", "Geranium Oil", "Geranium Water", "Citron Oil", "Benzoin Extract",
        "Vanilla Extract", "Lemon Peel Extract",
    ],
)  # fmt: skip
def test_an_oil_or_an_extract_is_no_slip_of_a_substance(name: str, tmp_path: Path) -> None:
    row = "external-use;avoid-eyes,,no\nRR-J1", f"external-use;avoid-eyes,,no,{name}\nRR-J1"
    lines = told(tmp_path, (ITEMS, "larger,upright", "larger,upright,ingredients"), (ITEMS, *row))
    assert [line for line in lines if line.startswith("ingredient-nearly")] == []


@pytest.mark.parametrize("name", ["Limonen", "Cinamal", "Geranio", "Lavendula Angustifolia Oil"])
def test_a_slip_in_a_substance_or_a_plant_is_told_as_before(name: str, tmp_path: Path) -> None:
    row = "external-use;avoid-eyes,,no\nRR-J1", f"external-use;avoid-eyes,,no,{name}\nRR-J1"
    lines = told(tmp_path, (ITEMS, "larger,upright", "larger,upright,ingredients"), (ITEMS, *row))
    assert len([line for line in lines if line.startswith("ingredient-nearly")]) == 1


@pytest.mark.parametrize(
    "says",
    [
        "A gift for Christmas morning.", "Christmassy.", "An Xmas box.", "The first snow on the weir.",
        "For the harvest supper.", "A Halloween treat.", "A cosy box for Advent.", "The best winter present.",
        "Bonfire night hands.", "New Year, new bar.", "A Diwali gift.", "This autumn it is gold.",
        "A Thanksgiving table.", "Made for winter evenings.", "A summer gift.", "An autumn box of two.",
    ],
)  # fmt: skip
def test_an_occasion_outside_the_season_is_told_wherever_it_stands(says: str, tmp_path: Path) -> None:
    lines = told(tmp_path, (STORY, "A bar and", f"{says} A bar and"))
    assert [line.split()[0] for line in lines] == ["season-word"]


@pytest.mark.parametrize(
    "says",
    [
        "Last Christmas we poured the first one.", "Since Christmas 2019 we have made it.", "Christmas is over.",
        "Twelve weeks after Easter the reeds are cut.", "Inspired by last year's Christmas market.", "Cut last winter.",
        "The mint is cut in summer and dried.", "In winter the mill is still.", "Winter-cut willow.",
        "Spring water and summer mint.", "All summer long, a bar.", "Autumn rain fills the pond.", "Easter eggs.",
        "A thought for Mother's Day.", "A summer's day in a jar.",
    ],
)  # fmt: skip
def test_what_is_past_counted_from_or_the_weather_of_a_story_is_left_alone(says: str, tmp_path: Path) -> None:
    assert told(tmp_path, (STORY, "A bar and", f"{says} A bar and")) == []


@pytest.mark.parametrize(
    ("code", "made", "hint"),
    [
        ("MAR-2", "a date", "Write a code with letters that are no month."),
        ("2-Mar", "a date", "Write a code with letters that are no month."),
        ("12E5", "a number with an exponent", "Let the code begin with a letter."),
        ("007", "the number 7", "Let the code begin with a letter."),
    ],
)
def test_a_code_that_sets_use_as_it_stands_is_looked_at_and_used(
    code: str, made: str, hint: str, tmp_path: Path
) -> None:
    used = ((file, "RR-B1", code) for file in (ITEMS, SET, "wholesale.toml"))
    assert told(tmp_path, *used) == [f'code-unsafe {code} a spreadsheet makes {made} of "{code}". {hint}']


@pytest.mark.parametrize(("code", "read"), [("2-Mar", "a date"), ("1.20E+06", "a power of ten")])
def test_a_code_that_appears_nowhere_else_is_doubted_once(code: str, read: str, tmp_path: Path) -> None:
    (line,) = told(tmp_path, (ITEMS, "RR-M1", code))
    assert line.startswith(f'bad-value {code} the code "{code}" can also be read as {read}.')


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('item = "RR-B1"', 'slot = "Mini jar"\nchoose = ["RR-M1", "RR-J2"]'),
        ('item = "RR-B1"', 'item = "RR-M1"'),
    ],
)
def test_a_mini_that_its_slot_or_the_story_calls_so_is_named(old: str, new: str, tmp_path: Path) -> None:
    story = (STORY, "A bar and a jar", "A mini jar and a large one") if "slot" not in new else (STORY, "A bar", "Jars")
    lines = told(tmp_path, (ITEMS, "RR-M1,Little Willow", "RR-M1,Willow Bark"), (SET, old, new), story)
    assert [line for line in lines if line.startswith("mini-not-named")] == []


def test_a_mini_that_its_container_calls_so_is_named(tmp_path: Path) -> None:
    table = (ITEMS, "larger,upright", "larger,upright,container"), (ITEMS, "RR-J1,yes", "RR-J1,yes,mini jar")
    named = (ITEMS, "RR-M1,Little Willow", "RR-M1,Willow Bark")
    lines = told(tmp_path, *table, named, (SET, 'item = "RR-B1"', 'item = "RR-M1"'))
    assert [line for line in lines if line.startswith("mini-not-named")] == []


def test_a_piece_that_is_too_large_is_told_with_both_figures(tmp_path: Path) -> None:
    larger = "RR-J1,Willow Bark,body butter,100 ml,9.00,2.10,180,70 x 70 x 60"
    lines = told(
        tmp_path, (ITEMS, larger, larger.replace("70 x 70", "170 x 70")), ("packaging.toml", "120 x 70", "75 x 75")
    )
    (line,) = (line for line in lines if line.startswith("box-too-small"))
    assert "RRS-1-J1 does not fit in box S: RR-J1 alone is too large, 170 mm where 157 mm are free." in line


def test_a_typed_price_is_told_with_the_price_that_it_is_now(tmp_path: Path) -> None:
    (line,) = told(tmp_path, (STORY, "first light", "first light at £14.00"))
    assert "It costs £16.50 now." in line


def test_a_text_that_waits_for_an_item_is_looked_at(tmp_path: Path) -> None:
    lines = told(
        tmp_path,
        (ITEMS, ",104,", ",heavy,"),
        (SET, '"river soap"', '"river soap", "river soaps"'),
        (STORY, "A bar", "This heals eczema. A bar"),
    )
    assert sorted(line.split()[0] for line in lines) == ["bad-value", "claim-medicine", "keyword-twins"]
