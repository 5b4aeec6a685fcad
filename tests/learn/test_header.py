"""Whole headers understood: messy sheets in four languages, and what no sheet may bring about."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.learn.candidates import SURE
from listkit.learn.matching import Match, match_items
from listkit.learn.words import ITEMS
from tests.learn.messy_sheets import SHEETS, MessySheet

OWN = (
    "code", "name", "form", "scent", "net", "container", "retail", "cost", "weight (g)", "size (mm)", "shape",
    "upright", "fragile", "shelf life (months)", "on hand", "gtin", "ingredients", "cautions", "larger", "status",
)  # fmt: skip


def matched(sheet: MessySheet) -> tuple[Match, ...]:
    return match_items(sheet.rows[0], sheet.rows[1:])


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_messy_sheet_is_understood(sheet: MessySheet) -> None:
    not_as_said = [
        (match, truth)
        for match, truth, missed in zip(matched(sheet), sheet.fields, sheet.missed, strict=True)
        if (match.field != truth) != missed
    ]
    assert not_as_said == []


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_nothing_is_sure_and_wrong(sheet: MessySheet) -> None:
    pairs = zip(matched(sheet), sheet.fields, strict=True)
    assert [match for match, truth in pairs if match.sure and match.field != truth] == []


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_nor_is_it_when_any_one_column_is_gone_and_rows_are_few(sheet: MessySheet) -> None:
    for gone in range(len(sheet.fields)):
        kept = [at for at in range(len(sheet.fields)) if at != gone]
        rows = [[row[at] if at < len(row) else "" for at in kept] for row in sheet.rows]
        for few in (rows[1:2], rows[1:]):
            matches = match_items(rows[0], few)
            pairs = zip(matches, kept, strict=True)
            assert all(not match.sure or match.field == sheet.fields[at] for match, at in pairs)


def test_without_rows_only_our_own_words_are_taken_at_their_word() -> None:
    for sheet in SHEETS:
        for match, truth in zip(match_items(sheet.rows[0]), sheet.fields, strict=True):
            assert not match.sure or match.field in {truth, match.heading.text.lower()}, (sheet.name, match)


def test_nine_in_ten_columns_are_found_and_three_in_four_are_sure() -> None:
    pairs = [(match, truth) for sheet in SHEETS for match, truth in zip(matched(sheet), sheet.fields, strict=True)]
    named = [(match, truth) for match, truth in pairs if truth is not None]
    assert sum(match.field == truth for match, truth in pairs) >= 0.9 * len(pairs)
    assert sum(match.sure for match, _ in named) >= 0.75 * len(named)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_the_order_of_the_columns_does_not_matter(sheet: MessySheet) -> None:
    order = list(range(len(sheet.fields)))
    plain = matched(sheet)
    for seed in range(5):
        random.Random(seed).shuffle(order)
        rows = [[row[at] if at < len(row) else "" for at in order] for row in sheet.rows]
        assert match_items(rows[0], rows[1:]) == tuple(plain[at] for at in order)


def test_our_own_headings_are_sure_with_or_without_rows() -> None:
    matches = match_items(OWN)
    assert [match.field for match in matches] == [heading.split(" (")[0] for heading in OWN]
    assert all(match.sure for match in matches)
    assert [match.unit for match in matches if match.unit] == ["g", "mm", "months"]


def test_two_columns_for_one_thing_are_both_doubtful() -> None:
    code, sku = match_items(("Item code", "SKU"), (("A1", "B1"), ("A2", "B2")))
    assert not code.sure
    assert not sku.sure
    assert {code.field, sku.field} == {"code", None}
    assert {code.reason, sku.reason} == {'"SKU" may be the code as well', '"Item code" is the code already'}


def test_a_price_is_the_retail_price_when_it_is_above_the_cost_in_every_row() -> None:
    rows = (("7.50", "1.85"), ("14.00", "3.40"), ("9.00", "3.20"))
    assert match_items(("Price", "Cost"), rows)[0].sure
    assert not match_items(("Price", "Cost"), (*rows, ("2.00", "3.20")))[0].sure
    assert not match_items(("Price", "Cost"), [(str(float(cost) * 2), cost) for _, cost in rows])[0].sure, "wholesale?"
    assert not match_items(("Price",), [row[:1] for row in rows])[0].sure
    assert not match_items(("Price", "RRP"), rows)[0].sure


def test_a_retail_price_below_the_cost_is_doubted() -> None:
    rows = (("1.85", "7.50"), ("3.40", "14.00"), ("3.20", "9.00"))
    assert not match_items(("Retail price", "Cost"), rows)[0].sure


def test_numbers_without_a_unit_are_doubtful_until_the_heading_states_it() -> None:
    bare = match_items(("Gewicht",), (("119",), ("120",)))[0]
    assert (bare.field, bare.sure, bare.reason) == ("weight", False, "the numbers have no unit")
    assert match_items(("Gewicht (g)",), (("119",), ("120",)))[0].sure
    assert match_items(("Gewicht",), (("119 g",), ("120 g",)))[0].sure


def test_a_height_that_does_not_stand_last_is_doubted() -> None:
    assert not match_items(("HxWxD (mm)",), (("28 x 86 x 58",),))[0].sure
    assert match_items(("LxBxH (mm)",), (("86 x 58 x 28",),))[0].sure


def test_a_word_that_is_denied_by_its_cells_is_doubtful() -> None:
    match = match_items(("Stock",), (("plenty",), ("a few",)))[0]
    assert not match.sure
    assert match.reason == "the cells look like something else"


texts = st.one_of(
    st.text(max_size=20),
    st.sampled_from([" ".join(words) for words in ITEMS.by_words]),
    st.sampled_from(["7.50", "£3", "110 g", "3in x 2in x 1in", "yes", "OH-B01", "9520123456788", "1E5", "2027-03-01"]),
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(texts, max_size=8), st.lists(st.lists(texts, max_size=8), max_size=5), st.randoms(use_true_random=False)
)
def test_any_headings_and_rows_are_matched_the_same_in_any_order(
    headings: list[str], rows: list[list[str]], chance: random.Random
) -> None:
    matches = match_items(headings, rows)
    given_fields = [match for match in matches if match.field]
    assert len(matches) == len(headings)
    assert len(given_fields) == len({match.field for match in given_fields})
    assert all(0 <= match.confidence <= 1 and match.sure == (match.confidence >= SURE) for match in given_fields)
    order = list(range(len(headings)))
    chance.shuffle(order)
    full = [[row[at] if at < len(row) else "" for at in range(len(headings))] for row in rows]
    again = match_items([headings[at] for at in order], [[row[at] for at in order] for row in full])
    assert sorted(map(repr, again)) == sorted(map(repr, matches))


LEFT = "no other column is it, and its cells may be"
ROWS = (
    ("Rose bar", "110", "jar", "6.50", "1.40", "22"),
    ("Mint bar", "112", "tin", "6.50", "1.35", "14"),
    ("Oat bar", "109", "jar", "7.00", "1.60", "31"),
)


def test_what_no_heading_names_is_guessed_where_one_column_is_left_for_it_and_never_sure() -> None:
    matches = match_items(("Blorb", "Blurb (g, all in)", "Glorb", "Plorb", "Flurb", "Snorb"), ROWS)
    assert [match.field for match in matches] == ["name", "weight", "container", "retail", "cost", "on hand"]
    assert all((match.sure, match.reason) == (False, LEFT) for match in matches)
    assert matches[1].unit == "g"


def test_a_price_that_is_left_is_held_against_the_one_that_is_known() -> None:
    money = tuple(row[3:5] for row in ROWS)
    assert [match.field for match in match_items(("Plorb", "Unit cost"), money)] == ["retail", "cost"]
    assert [match.field for match in match_items(("Retail price", "Flurb"), money)] == ["retail", "cost"]
    assert [match.field for match in match_items(("Cost price", "Flurb"), money)] == ["cost", None]
    assert [match.field for match in match_items(("Plorb", "Flurb"), money[:2])] == [None, None]


def test_a_column_that_is_known_to_be_something_else_is_not_left() -> None:
    assert [match.field for match in match_items(("Supplier",), (("Ash & Co",), ("Reed Ltd",)))] == [None]
    assert [match.field for match in match_items(("Stock",), (("plenty",), ("a few",)))] == [None]
