"""Problems that name a key or a row get the line where it stands."""

from pathlib import Path

from listkit.problem import Place, Problem
from listkit.read.lines import with_lines
from tests.shops import clean_shop, edited, xlsx


def lines(root: Path, *places: Place) -> list[tuple[int, str]]:
    found = with_lines(root, [Problem(place, "bad-value", "") for place in places])
    return [(problem.place.line, problem.place.column) for problem in found]


def test_a_key_of_a_toml_file_gets_its_line(tmp_path: Path) -> None:
    root = clean_shop(tmp_path)
    told = lines(
        root,
        Place("sets/dawn/set.toml", key=("contents", 1, "default")),
        Place("sets/dawn/set.toml", key=("title",)),
        Place("sets/dawn/set.toml", line=7, key=("code",)),
        Place("sets/gone/set.toml", key=("code",)),
        Place("sets/dawn/story.md"),
    )
    assert [line for line, _ in told] == [14, 0, 7, 0, 0]


def test_a_row_of_a_table_gets_its_line_and_the_owners_heading(tmp_path: Path) -> None:
    root = clean_shop(tmp_path)
    assert lines(
        root,
        Place("items.csv", row="RR-J1", column="weight", key=("weight",)),
        Place("items.csv", row="RR-X9", column="weight"),
        Place("stockists.csv", row="MILL", column="sheet", key=("sheet",)),
        Place("gone.csv", row="RR-J1"),
    ) == [(3, "weight (g)"), (0, "weight"), (2, "sheet"), (0, "")]


def test_a_row_of_the_owners_own_workbook_is_found_too(tmp_path: Path) -> None:
    head = ["Ref", "Product", "retail", "cost", "weight (g)", "size (mm)"]
    book = xlsx([["Stock"], [], head, ["A-1", "Bar", 7, 1, 1, "1 x 1 x 1"]])
    own = '[items]\nfile = "stock.xlsx"\ncolumns = { Ref = "code", Product = "name" }\n\n[prices]'
    root = clean_shop(tmp_path, {"stock.xlsx": book, **edited("shop.toml", "[prices]", own)})
    assert lines(root, Place("stock.xlsx", row="A-1", column="name", key=("name",))) == [(4, "Product")]
