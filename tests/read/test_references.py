"""Codes across files: what names nothing, what stands twice, and how many sets wait for what is broken."""

from pathlib import Path

from listkit.model.shop import Shop
from listkit.read.shop import read_shop
from tests.shops import clean_shop, edited, lines

SECOND = 'code = "RRS-2"\nname = "Two Bars"\nbox = "none"\n[[contents]]\nitem = "RR-B1"\nquantity = 2\n'


def read(root: Path, *changes: dict[str, str | bytes | None]) -> tuple[Shop, list[str]]:
    clean_shop(root, {path: text for change in changes for path, text in change.items()})
    shop, problems = read_shop(root)
    return shop, [line.removeprefix("Must fix · ") for line in lines(problems)]


def sets(shop: Shop) -> list[str]:
    return [folder.gift_set.code for folder in shop.sets]


def test_a_broken_item_takes_its_sets_out_and_says_how_many(tmp_path: Path) -> None:
    shop, told = read(tmp_path, edited("items.csv", "6.50,1.40", "6.50,x"), {"sets/two/set.toml": SECOND})
    assert sets(shop) == []
    assert told == [
        'items.csv, row RR-B1, column cost: "x" is not an amount in GBP. 2 sets are left out with it. '
        'Write it as in "24.50".  bad-value'
    ]


def test_only_the_first_problem_of_an_item_counts_the_sets(tmp_path: Path) -> None:
    _, told = read(tmp_path, edited("items.csv", "6.50,1.40", "x,y"))
    assert ["left out" in line for line in told] == [True, False]


def test_a_broken_box_takes_out_the_sets_that_lie_in_it_or_ask_for_the_smallest(tmp_path: Path) -> None:
    change = edited("packaging.toml", '"0.80"', '"0,80"')
    shop, told = read(tmp_path, change, {"sets/two/set.toml": SECOND})
    assert sets(shop) == ["RRS-2"]
    assert told == [
        'packaging.toml, line 5: cost: "0,80" has a comma. 1 set is left out with it. '
        'Write "0.80" with a point.  bad-value'
    ]
    shop, told = read(tmp_path, change, {"sets/two/set.toml": SECOND.replace('"none"', '"smallest"')})
    assert sets(shop) == []
    assert "2 sets are left out with it." in told[0]


def test_a_file_of_items_that_cannot_be_read_is_one_problem(tmp_path: Path) -> None:
    for content in (b"", b"hello", b"PK\x03\x04", b"\0"):
        shop, told = read(tmp_path, {"items.csv": content, "sets/two/set.toml": SECOND})
        assert (shop.items, shop.sets, len(told)) == ((), (), 1)
        assert "2 sets are left out with it." in told[0]


def test_a_table_that_breaks_off_hides_only_what_stands_below(tmp_path: Path) -> None:
    change = edited("items.csv", "RR-M1,Little", 'RR-M1,"Little')
    shop, told = read(tmp_path, change, {"sets/three/set.toml": SECOND.replace("RR-B1", "RR-M1").replace("S-2", "S-3")})
    assert sets(shop) == ["RRS-1"]
    assert len(told) == 1
    assert told[0].startswith(
        "items.csv, line 5: a quotation mark is not closed; the rows from here on are left out. 1 set"
    )


def test_a_row_whose_code_cannot_be_read_brings_no_order_elsewhere(tmp_path: Path) -> None:
    """The set and the line sheet name what the row may well be."""
    shop, told = read(tmp_path, edited("items.csv", "RR-B1,", "RR–B1,"))
    assert told == [
        'items.csv, row RR–B1, column code: "RR–B1" is not a code. 1 set is left out with it. '
        "Use letters, digits and - . _ / between them, at most 40.  bad-value"
    ]
    assert sets(shop) == []


def test_a_full_size_must_be_another_item(tmp_path: Path) -> None:
    for code, words in (
        ("RR-J9", 'there is no item "RR-J9". Name the full size of this mini'),
        ("RR-M1", "it cannot be its own"),
    ):
        shop, told = read(tmp_path, edited("items.csv", "avoid-eyes,RR-J1", f"avoid-eyes,{code}"))
        assert told[0].startswith(f"items.csv, row RR-M1, column larger: {words}")
        assert [item.larger for item in shop.items] == [""] * 4


def test_a_full_size_that_is_broken_is_not_told_twice(tmp_path: Path) -> None:
    shop, told = read(tmp_path, edited("items.csv", "Willow Bark,body butter,100 ml,9.00", "Willow Bark,,100 ml,"))
    assert len(told) > 0
    assert all("row RR-J1" in line for line in told)
    assert [item.larger for item in shop.items] == ["", "", ""]


def test_codes_of_items_boxes_sets_and_variants_are_unique_in_the_shop(tmp_path: Path) -> None:
    _, told = read(
        tmp_path,
        edited("packaging.toml", 'code = "S"', 'code = "RR-B1"'),
        edited("sets/dawn/set.toml", 'box = "S"', 'box = "RR-B1"'),
        {"sets/two/set.toml": SECOND.replace("RRS-2", "RRS-1")},
    )
    assert told == [
        'packaging.toml, line 2: "RR-B1" is also the code of the item in items.csv. '
        "Give each its own code.  code-twice",
        'sets/two/set.toml, line 1: "RRS-1" is also the code of the set in sets/dawn/set.toml. '
        "Give each its own code.  code-twice",
    ]
    note = edited("sets/dawn/set.toml", 'photo = "open-box.png"', 'code = "RR-J1"')
    assert read(tmp_path / "b", note)[1] == [
        'sets/dawn/set.toml, line 18: "RR-J1" is also the code of the item in items.csv. '
        "Give each its own code.  code-twice"
    ]


def test_box_words_are_no_codes_and_box_codes_stand_once(tmp_path: Path) -> None:
    text = (Path(clean_shop(tmp_path)) / "packaging.toml").read_text(encoding="utf-8")
    box = text.partition("[card]")[0]
    shop, told = read(tmp_path, {"packaging.toml": text + box + box.replace('"S"', '"none"')})
    assert [line.rpartition("  ")[2] for line in told] == ["code-twice", "bad-value"]
    assert [item.code for item in shop.packaging.boxes] == ["S", "none"]


def test_wholesale_lines_must_be_sets_or_items_and_only_sound_ones_stay(tmp_path: Path) -> None:
    shop, told = read(tmp_path, edited("wholesale.toml", '"RR-B1"]', '"RR-B11", "S"]\nseason = "x"'))
    assert [line.partition(": ")[2] for line in told] == ['there is no key "season". '
        'Write "season" above the first line in [brackets]: it belongs to the whole file.  unknown-key']  # fmt: skip
    shop, told = read(tmp_path, edited("wholesale.toml", '"RR-B1"]', '"RR-B11", "S"]'))
    assert told == [
        'wholesale.toml, line 7: there is no set or item "RR-B11". Write the code of a set or an item.  unknown-code',
        'wholesale.toml, line 7: there is no set or item "S". Write the code of a set or an item.  unknown-code',
    ]
    assert shop.wholesale is not None
    assert shop.wholesale.groups[0].lines == ("RRS-1",)


def test_lines_of_a_set_that_is_broken_are_not_unknown(tmp_path: Path) -> None:
    shop, told = read(tmp_path, edited("sets/dawn/set.toml", 'theme = "', "theme = "))
    assert [line.rpartition("  ")[2] for line in told] == ["syntax"]
    assert shop.wholesale is not None
    assert shop.wholesale.groups[0].lines == ("RR-B1",)
    shop, told = read(tmp_path, {"sets/dawn/set.toml": b"\xff"})
    assert [line.rpartition("  ")[2] for line in told] == ["encoding"]


def test_the_sheet_has_the_season_of_a_shop(tmp_path: Path) -> None:
    _, told = read(tmp_path, edited("wholesale.toml", 'opening = "100"', 'season = "sprnig"'))
    assert told == ['wholesale.toml, line 3: there is no season "sprnig". Write "spring".  unknown-code']


def test_where_an_item_was_deleted_the_other_option_of_its_set_is_not_what_is_meant(tmp_path: Path) -> None:
    gone = edited("items.csv", "RR-J2,Water Mint", "XX-77,Water Mint")
    _, told = read(tmp_path, gone)
    assert [line for line in told if '"RR-J2"' in line] == [
        'sets/dawn/set.toml, line 13: there is no item "RR-J2". Add it to items.csv, or mend the code.  unknown-code'
    ]
