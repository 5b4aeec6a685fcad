"""An export held against the truth: exactly what was planted, in any order."""

import random
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit import bounds
from listkit.ledger.compare import ShownColumn, ShownRow, always_differs, compare, told_lines

COLUMNS = (
    ShownColumn("Item number", "sku"),
    ShownColumn("Title", "name"),
    ShownColumn("Price", "price"),
    ShownColumn("In stock", "inventoryLevel"),
    ShownColumn("Jar", "choice", 1),
    ShownColumn("Weight", "weight"),
    ShownColumn("Picture", "image", 1),
    ShownColumn("Story", "description", once=True),
    ShownColumn("Kind"),
)
NAMES = ("Clover & Cream", "Linden & Oat", "Elderflower & Verbena", "Ginger & Propolis", "Tomato Leaf & Basil", "Mint")


def ours() -> list[ShownRow]:
    return [
        ShownRow(
            f"OHS-1-{number}", 0,
            (f"OHS-1-{number}", f"First Nectar, {name}", f"{27 + number}.00", str(number), name, str(500 + number),
             f"https://ottermarl.example/p/{number}.jpg", "A bar, a jar, a balm.", "gift set"),
            later=number > 0,
        )
        for number, name in enumerate(NAMES)
    ]  # fmt: skip


def theirs(**planted: str | None) -> list[ShownRow]:
    """What the channel shows: "price_2" is the price in the third row, None a cell that is not there."""
    places = {"sku": 0, "name": 1, "price": 2, "stock": 3, "choice": 4, "weight": 5, "image": 6, "story": 7, "kind": 8}
    rows = []
    for number, row in enumerate(ours()):
        cells = list(row.cells)
        for what, cell in planted.items():
            name, _, at = what.partition("_")
            if int(at) == number:
                cells[places[name]] = cell
        rows.append(ShownRow(cells[0] or "", number + 2, tuple(cells)))
    return rows


def test_nothing_differs_from_itself_in_any_order() -> None:
    rows = theirs()
    random.Random(3).shuffle(rows)
    found = compare(ours(), rows, COLUMNS)
    assert not found
    assert (found.not_compared, found.matched, found.compared) == ((), 6, 54)


def test_exactly_what_was_planted_is_found_each_of_its_kind() -> None:
    shown = theirs(
        price_0="28.00", stock_1="9", name_2="Second Nectar", choice_3="Ginger", weight_4="604", image_5="9.jpg",
        story_0="Another text.", kind_1="soap",
    )  # fmt: skip
    found = compare(ours(), shown, COLUMNS)
    assert [(one.code[-1], one.field, one.kind) for one in found.differences] == [
        ("0", "price", "price"),
        ("0", "description", "text"),
        ("1", "inventoryLevel", "stock"),
        ("1", "Kind", "text"),
        ("2", "name", "title"),
        ("3", "choice_1", "option"),
        ("4", "weight", "weight"),
        ("5", "image", "photo"),
    ]
    assert (found.differences[0].ours, found.differences[0].theirs) == ("27.00", "28.00")
    assert found.codes == tuple(f"OHS-1-{number}" for number in range(6))


def test_what_is_missing_there_and_unknown_here_is_told() -> None:
    shown = [*theirs()[1:], ShownRow("OLD-1", 99, ("OLD-1", *[""] * 8))]
    found = compare(ours(), shown, COLUMNS)
    assert (found.missing_there, found.unknown_there, found.differences) == (("OHS-1-0",), ("OLD-1",), ())
    assert found.codes == ("OHS-1-0",)


def test_two_hundred_twins_are_told_once_with_their_lines_and_each_is_compared() -> None:
    twin = theirs(price_0="1.00")[0]
    rows = [*theirs(), *(ShownRow(twin.code, line, twin.cells) for line in range(100, 300))]
    found = compare(ours(), rows, COLUMNS)
    [twins] = found.twins
    assert (twins.code, len(twins.lines), twins.lines[:2]) == ("OHS-1-0", 201, (2, 100))
    assert len(found.differences) == 200
    assert told_lines(twins.lines).endswith("and 181 more")


def test_a_code_in_other_letters_or_with_spaces_is_still_the_code() -> None:
    found = compare(ours(), theirs(sku_0=" ohs-1-0 "), COLUMNS)
    assert (found.missing_there, found.unknown_there) == ((), ())
    assert [(one.field, one.kind) for one in found.differences] == [("sku", "code")]


def test_a_column_filled_once_may_be_blank_later_and_may_not_be_wrong() -> None:
    assert not compare(ours(), theirs(story_1="", story_2=" "), COLUMNS)
    assert [one.code for one in compare(ours(), theirs(story_0=""), COLUMNS).differences] == ["OHS-1-0"]
    assert [one.code for one in compare(ours(), theirs(story_3="x"), COLUMNS).differences] == ["OHS-1-3"]


def test_what_cannot_be_compared_is_told() -> None:
    shown = [*theirs(price_0=None), ShownRow("", 20, ("",) * 9), ShownRow(" ", 21, ("",) * 9)]
    found = compare(ours(), shown, COLUMNS, absent=(5,))
    assert not found
    assert [(one.what, one.why) for one in found.not_compared] == [
        ('column "Weight"', "the export has no such column"),
        ("lines 20 and 21", "no code stands there"),
        ("line 2", "cells are missing there"),
    ]
    assert found.compared == 6 * 8 - 1


def test_a_column_that_differs_everywhere_is_pointed_out() -> None:
    shown = theirs(**{f"weight_{number}": str((500 + number) * 2) for number in range(6)}, price_0="1.00")
    assert always_differs(compare(ours(), shown, COLUMNS)) == ("weight",)
    assert always_differs(compare(ours(), theirs(price_0="1.00"), COLUMNS)) == ()


cells = st.tuples(st.sampled_from(["A", "B", "C", "", "a "]), st.sampled_from(["1.00", "2", "", "1,00"]))


own_rows = st.dictionaries(st.sampled_from(["A", "B", "C"]), st.sampled_from(["1.00", "2.00"]))


@given(own_rows, st.lists(cells, max_size=6))
def test_every_row_of_either_side_is_accounted_for(own: dict[str, str], shown: list[tuple[str, str]]) -> None:
    columns = (ShownColumn("code", "sku"), ShownColumn("price", "price"))
    found = compare(
        [ShownRow(code, 0, (code, price)) for code, price in own.items()],
        [ShownRow(code, line, (code, price)) for line, (code, price) in enumerate(shown, 2)],
        columns,
    )
    there = {code.strip().upper() for code, _ in shown if code.strip()}
    assert set(found.missing_there) == set(own) - there
    assert found.matched == len(set(own) & there)
    assert {code.upper() for code in found.unknown_there} == there - set(own)


def test_a_cell_many_times_longer_than_ours_differs_without_being_looked_at() -> None:
    """Tens of millions of digits in one took 5 GB, and as many brackets eight seconds."""
    mine = ours()[0]
    for at, sign in ((1, "<"), (3, "9"), (5, "9"), (6, "a;")):
        cells = [*mine.cells]
        cells[at] = sign * 1_000_000
        tracemalloc.start()
        compared = compare([mine], [ShownRow(mine.code, 2, tuple(cells))], COLUMNS)
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert [each.field for each in compared.differences] == [COLUMNS[at].told]
        assert most < 1_000_000


def test_what_comes_behind_more_differences_than_anybody_mends_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "EXPORT_DIFFERENCES", 2)
    mine = ours()[0]
    theirs = [ShownRow(mine.code, line, (mine.code, "x", *mine.cells[2:])) for line in range(2, 8)]
    compared = compare([mine], theirs, COLUMNS)
    assert len(compared.differences) == 3
    assert [(each.what, each.why) for each in compared.not_compared] == [
        ("lines 5, 6 and 7", "above them 2 cells differ")
    ]
