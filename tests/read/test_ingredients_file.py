"""ingredients.csv: what stands in it; every text is read without a traceback."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from listkit.model.item import IngredientRow
from listkit.problem import Problem
from listkit.read.old_codes import Renaming
from listkit.read.tables import Percentages, read_ingredients

HEAD = "item,ingredient,CAS,percent\n"
CODES = frozenset({"HH-B1", "HH-B2"})


def read(folder: Path, text: str) -> tuple[tuple[IngredientRow, ...], list[Problem]]:
    (folder / "ingredients.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    percentages, problems = read_ingredients(folder, "ingredients.csv", CODES, Renaming().rows)
    return percentages.rows, problems


def test_rows_of_items_and_of_their_raw_materials_are_read(tmp_path: Path) -> None:
    text = HEAD + "HH-B1,Aqua,7732-18-5,30\nHH-B1,Hedge oil,,0.5 %\nhedge  OIL,Linalool,78-70-6,35\n"
    rows, problems = read(tmp_path, text)
    assert problems == []
    assert [(one.item, one.ingredient, one.cas) for one in rows] == [
        ("HH-B1", "Aqua", "7732-18-5"), ("HH-B1", "Hedge oil", ""), ("hedge  OIL", "Linalool", "78-70-6"),
    ]  # fmt: skip


def test_an_item_that_is_neither_is_told_once_with_what_it_may_be(tmp_path: Path) -> None:
    rows, problems = read(tmp_path, HEAD + "HH-B3,Aqua,,30\nHH-B3,Glycerin,,5\nMoss oil,Linalool,,2\n")
    assert rows == ()
    assert [(one.code, one.place.line, one.message) for one in problems] == [
        ("unknown-code", 2, '"HH-B3" is neither an item nor an ingredient of one.'),
        ("unknown-code", 4, '"Moss oil" is neither an item nor an ingredient of one.'),
    ]


def test_more_than_the_whole_is_told_at_the_row_that_makes_it_so(tmp_path: Path) -> None:
    _, problems = read(tmp_path, HEAD + "HH-B1,Aqua,,60\nHH-B2,Aqua,,100\nHH-B1,Glycerin,,40.5\nHH-B1,Mel,,1\n")
    assert [(one.code, str(one.place), one.message) for one in problems] == [
        ("percent-over", "ingredients.csv, line 4, column percent", 'all that is in "HH-B1" comes to 101.5 %.')
    ]


def test_where_items_could_not_be_read_none_is_unknown(tmp_path: Path) -> None:
    (tmp_path / "ingredients.csv").write_text(HEAD + "HH-B9,Aqua,,60\n", encoding="utf-8")
    percentages, problems = read_ingredients(tmp_path, "ingredients.csv", None, Renaming().rows)
    assert (len(percentages.rows), problems) == (1, [])


@pytest.mark.parametrize(
    ("rows", "unsure"),
    [
        ("HH-B1,Aqua,,30\n", frozenset()),
        ("HH-B1,Aqua,,lots\nHH-B2,Aqua,,3\n", {"HH-B1"}),
        ("HH-B1,Hedge oil,,3\nHedge oil,Linalool,,200\n", {"Hedge oil"}),
        ("HH-B1,Aqua,,60\nHH-B1,Mel,,60\n", {"HH-B1"}),
        ("HH-B1,Aqua,,lots\n,Aqua,,30\n", None),
        ("HH-B7,Aqua,,30\n", None),
        ("HH-B1,Aqua,,30,5\n", None),
    ],
)
def test_whose_percentages_cannot_be_read_whole_is_known_or_may_be_anybodys(
    rows: str, unsure: frozenset[str] | None, tmp_path: Path
) -> None:
    (tmp_path / "ingredients.csv").write_text(HEAD + rows, encoding="utf-8")
    percentages, _ = read_ingredients(tmp_path, "ingredients.csv", CODES, Renaming().rows)
    assert percentages.unsure == unsure


def test_without_the_file_nothing_is_said(tmp_path: Path) -> None:
    assert read_ingredients(tmp_path, "", CODES, Renaming().rows) == (Percentages(), [])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25, deadline=None)
@given(text=st.text(max_size=200))
def test_behind_a_sound_row_any_text_gives_rows_or_is_told_in_one_line(tmp_path: Path, text: str) -> None:
    read(tmp_path, text)
    for content in (HEAD + text, HEAD + "HH-B1,Aqua,,60\n" + text):
        rows, problems = read(tmp_path, content)
        assert rows or problems or content == HEAD + text
        assert all(one.place.file == "ingredients.csv" and "\n" not in one.message for one in problems)
