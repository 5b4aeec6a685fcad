"""Headers of samples understood: fourteen in four languages, in any order, with example rows and without."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.fields import FIELDS
from listkit.learn.candidates import SURE
from listkit.learn.matching import Match, match_feed
from tests.learn.feed_samples import SAMPLES, FeedSample

IDS = [sample.name for sample in SAMPLES]


def matched(sample: FeedSample) -> tuple[Match, ...]:
    return match_feed(sample.rows[0], sample.rows[1:])


def filled_in(matches: tuple[Match, ...]) -> list[str | None]:
    return [match.field if match.sure else None for match in matches]


@pytest.mark.parametrize("sample", SAMPLES, ids=IDS)
def test_a_sample_is_understood(sample: FeedSample) -> None:
    wanted = [None if missed else field for field, missed in zip(sample.fields, sample.missed, strict=True)]
    assert filled_in(matched(sample)) == wanted


@pytest.mark.parametrize("sample", SAMPLES, ids=IDS)
def test_without_example_rows_nothing_is_filled_in_wrong(sample: FeedSample) -> None:
    hidden = filled_in(match_feed(sample.rows[0]))
    assert all(field in {None, truth} for field, truth in zip(hidden, sample.fields, strict=True))


def test_nine_in_ten_columns_are_filled_in_and_most_without_example_rows() -> None:
    truth = [field for sample in SAMPLES for field in sample.fields]
    shown = [field for sample in SAMPLES for field in filled_in(matched(sample))]
    hidden = [field for sample in SAMPLES for field in filled_in(match_feed(sample.rows[0]))]
    named = sum(field is not None for field in truth)
    assert sum(a == b for a, b in zip(shown, truth, strict=True) if b) >= 0.9 * named
    assert sum(a == b for a, b in zip(hidden, truth, strict=True) if b) >= 0.85 * named


@pytest.mark.parametrize("sample", SAMPLES, ids=IDS)
def test_the_order_of_the_columns_does_not_matter(sample: FeedSample) -> None:
    order = list(range(len(sample.fields)))
    for rows in (sample.rows, sample.rows[:1]):
        plain = match_feed(rows[0], rows[1:])
        for seed in range(5):
            random.Random(seed).shuffle(order)
            turned = [[row[at] if at < len(row) else "" for at in order] for row in rows]
            assert match_feed(turned[0], turned[1:]) == tuple(plain[at] for at in order)


@pytest.mark.parametrize("sample", SAMPLES, ids=IDS)
def test_nor_does_it_when_any_one_column_is_gone(sample: FeedSample) -> None:
    for gone in range(len(sample.fields)):
        kept = [at for at in range(len(sample.fields)) if at != gone]
        rows = [[row[at] if at < len(row) else "" for at in kept] for row in sample.rows]
        for shown in (rows[1:], rows[1:2], []):
            for match, at in zip(match_feed(rows[0], shown), kept, strict=True):
                right = {sample.fields[at], *ALIKE.get(sample.fields[at] or "", ())}
                assert not match.sure or match.field in right, (match, sample.fields[at])


# What a column becomes in the right, when the one beside it that told it apart is gone.
ALIKE = {
    "title": ("name",), "name": ("title",), "width": ("depth",), "depth": ("width",),
    "image_2": ("image_1",), "image_3": ("image_2",), "slot_1": ("choice_1",),
}  # fmt: skip


def test_our_own_names_are_sure_with_or_without_rows() -> None:
    names = [name for name in FIELDS if name not in {"itemCodes", "fillShare", "fullCost", "kept", "includedTax"}]
    names = [name for name in names if name not in {"wholesalePrice", "box", "title"}]
    assert filled_in(match_feed(names)) == [name if name != "name" else "title" for name in names]


@pytest.mark.parametrize("heading", ["Blorb", "Lid colour", "", "?", "Farbe des Deckels", "xyz 3", "🐝"])
def test_a_heading_of_unknown_words_is_never_sure_whatever_stands_below(heading: str) -> None:
    for cells in ([], ["9520000010010"] * 5, ["https://a.example/b.jpg"] * 5, ["29.00", "30.00"]):
        [match] = match_feed([heading], [[cell] for cell in cells])
        assert not match.sure
        assert (match.field is None) is (not cells)


def test_where_the_heading_says_nothing_cells_are_the_guess_and_never_sure() -> None:
    [match] = match_feed(["Blorb"], [["https://a.example/b.jpg"], ["https://a.example/c.jpg"]])
    assert (match.field, match.second, match.reason) == ("image", "url", "by its cells")


def test_cells_alone_are_no_guess_at_what_another_column_surely_is() -> None:
    found = match_feed(["Item number", "Shelf"], [["A-1", "3b"], ["A-2", "3c"], ["A-3", "4a"]])
    assert [match.field for match in found] == ["sku", None]


def test_heading_and_cells_that_disagree_leave_a_doubt_and_both_choices() -> None:
    [match] = match_feed(["Keywords"], [["<p>Three things for the bath.</p>"], ["<p>Two things for the bath.</p>"]])
    assert (match.sure, {match.field, match.second}) == (False, {"keywords", "description"})
    [match] = match_feed(["Item number"], [["9520000010010"], ["9520000010027"]])
    assert (match.sure, {match.field, match.second}) == (False, {"sku", "gtin"})


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Price", ["blue", "red", "green"]),
        ("price", ["blue", "red", "green"]),
        ("Barcode", ["oat", "fig"]),
        ("Picture", ["yes", "no"]),
        ("Weight (g)", ["tall", "low"]),
        ("Currency", ["12.00", "13.00"]),
        ("Item number", ["Oat & Rain, a tall jar of butter", "Oat & Rain, a low jar of butter"]),
    ],
)
def test_a_plain_heading_over_cells_of_another_kind_is_not_filled_in(heading: str, cells: list[str]) -> None:
    [match] = match_feed([heading], [[cell] for cell in cells])
    assert not match.sure
    assert match.reason == "the cells look like something else"


@pytest.mark.parametrize("heading", ["Cost", "Margin", "Wholesale price", "VAT", "Box"])
def test_what_is_the_owners_own_business_is_never_filled_in_by_itself(heading: str) -> None:
    [match] = match_feed([heading])
    assert match.field is not None
    assert not match.sure


def test_two_prices_are_doubtful_unless_they_say_the_same() -> None:
    headings = ["Price", "Selling price"]
    assert filled_in(match_feed(headings)) == [None, None]
    assert filled_in(match_feed(headings, [["1.00", "2.00"], ["3.00", "4.00"]])) == [None, None]
    assert filled_in(match_feed(headings, [["1.00", "1.00"], ["3.00", "3.00"]])) == ["price", "price"]


def test_option_is_what_to_choose_beside_what_is_chosen() -> None:
    assert filled_in(match_feed(["Choose 1", "Chosen 1"])) == ["slot_1", "choice_1"]
    assert filled_in(match_feed(["What to choose 1", "Chosen value 1"])) == ["slot_1", "choice_1"]
    assert filled_in(match_feed(["Choice 1", "Chosen 1"])) == ["slot_1", "choice_1"]
    [alone] = match_feed(["Option 1"])
    assert (alone.field, alone.second, alone.sure) == ("choice_1", "slot", False)


@pytest.mark.parametrize(
    "headings",
    [
        ["Choice label 1", "Choice value 1"],
        ["Libellé du choix 1", "Valeur du choix 1"],
        ["Auswahltitel 1", "Auswahlwert 1"],
        ["Título de la elección 1", "Valor de la elección 1"],
    ],
)
def test_a_word_for_names_or_values_tells_what_to_choose_from_what_is_chosen(headings: list[str]) -> None:
    assert filled_in(match_feed(headings)) == ["slot_1", "choice_1"]
    assert filled_in(match_feed(headings[::-1])) == ["choice_1", "slot_1"]
    assert filled_in(match_feed(headings, [["9.50", "Oat"], ["8.00", "Fig"]])) == [None, "choice_1"]


def test_a_second_choice_is_named_where_there_is_doubt() -> None:
    [match] = match_feed(["Quantity"])
    assert (match.field, match.sure, match.second) == ("inventoryLevel", False, "netContents")


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.text(max_size=20), min_size=1, max_size=6),
    st.lists(st.lists(st.text(max_size=20), max_size=7), max_size=3),
)
def test_no_header_and_no_cells_bring_it_down(headings: list[str], rows: list[list[str]]) -> None:
    matches = match_feed(headings, rows)
    assert len(matches) == len(headings)
    for match in matches:
        assert match.field is None or match.field.partition("_")[0] in FIELDS
        assert 0 <= match.confidence <= 1
        assert match.sure is (match.field is not None and match.confidence >= SURE)


def test_sides_are_sure_only_where_both_headings_are() -> None:
    assert filled_in(match_feed(["Length (cm)", "Width (cm)"])) == ["width", "depth"]
    assert filled_in(match_feed(["Length of tray (cm)", "Width of tray (cm)"])) == [None, None]


@pytest.mark.parametrize(
    "headings",
    [
        ["Main picture", "Further picture 1", "Further picture 2"],
        ["Hauptbild", "Weiteres Bild 1", "Weiteres Bild 2"],
        ["Photo principale", "Photo supplémentaire 1", "Photo supplémentaire 2"],
        ["Imagen principal", "Imagen adicional 1", "Imagen adicional 2"],
        ["Immagine principale", "Immagine aggiuntiva 1", "Immagine aggiuntiva 2"],
    ],
)
def test_further_pictures_come_behind_the_main_one(headings: list[str]) -> None:
    assert filled_in(match_feed(headings)) == ["image_1", "image_2", "image_3"]
    assert filled_in(match_feed(headings[:2])) == ["image_1", "image_2"]
    assert filled_in(match_feed(headings[:1])) == ["image"]
    assert filled_in(match_feed(headings[1:])) == ["image_1", "image_2"]


@pytest.mark.parametrize(
    "heading", ["Supplier reference", "Lieferantennummer", "Référence fournisseur", "Código del proveedor"]
)
def test_the_suppliers_code_is_ours_where_each_row_has_another(heading: str) -> None:
    assert filled_in(match_feed([heading])) == [None]
    assert filled_in(match_feed([heading], [["S-88"], ["S-88"], ["S-88"]])) == [None]
    assert filled_in(match_feed([heading], [["A1"], ["A2"], ["A3"]])) == ["sku"]


def test_until_is_a_day_or_the_highest_price_as_the_cells_have_it() -> None:
    for heading in ("Price to", "Preis bis", "Prix jusqu'à", "Precio hasta", "Prezzo fino a"):
        assert filled_in(match_feed([heading])) == [None], heading
        [match] = match_feed([heading], [["29.00"], ["31.50"]])
        assert match.field == "highestPrice", heading
    assert filled_in(match_feed(["Price until"], [["2027-05-10"], ["2027-06-10"]])) == ["priceValidUntil"]


def test_of_two_columns_of_days_the_later_has_the_last() -> None:
    rows = [["01.03.2027", "31.05.2027"], ["15.03.2027", "30.06.2027"]]
    found = match_feed(["P", "Q"], rows)
    assert [(match.field, match.sure) for match in found] == [
        ("availabilityStarts", False),
        ("availabilityEnds", False),
    ]
    named = match_feed(["On sale from", "Q"], rows)
    assert [(match.field, match.sure) for match in named] == [("availabilityStarts", True), ("availabilityEnds", False)]
    turned = match_feed(["P", "Q"], [row[::-1] for row in rows])
    assert [match.field for match in turned] == ["availabilityEnds", "availabilityStarts"]


def test_a_code_that_may_be_the_sets_or_a_variants_is_the_variants_where_no_other_is() -> None:
    [match] = match_feed(["Product ID"], [["A-1"], ["A-2"]])
    assert (match.field, match.second) == ("sku", "inProductGroupWithID")
    rows = [["K", "K-1"], ["K", "K-2"], ["L", "L-1"]]
    assert [match.field for match in match_feed(["Product ID", "SKU"], rows)] == ["inProductGroupWithID", "sku"]


def test_names_that_no_heading_names_are_guessed_where_one_column_is_left_and_never_sure() -> None:
    names = [["Rose bar"], ["Mint bar"], ["Oat bar"]]
    [match] = match_feed(["Blorb"], names)
    assert (match.field, match.sure, match.reason) == ("name", False, "no other column is it, and its cells may be")
    assert [match.field for match in match_feed(["Blorb", "Blarb"], [row * 2 for row in names])] == [None, None]
    assert [match.field for match in match_feed(["Blorb", "Title"], [row * 2 for row in names])] == [None, "name"]
