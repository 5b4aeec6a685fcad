"""Whether two cells say the same, though one went through another program."""

from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.fields import Kind
from listkit.ledger.compare import alike, folded, readings
from listkit.listing.cells import day_text
from listkit.listing.replacing import Signs

money, text = alike(Kind.MONEY, "price"), alike(Kind.TEXT, "name")
weight, kilograms = alike(Kind.WEIGHT, "weight"), alike(Kind.WEIGHT, "weight", unit="kg")
stock, photo = alike(Kind.NUMBER, "inventoryLevel"), alike(Kind.TEXT, "image")
day = alike(Kind.DATE, "availabilityEnds")


@pytest.mark.parametrize(
    ("cell", "numbers"),
    [
        ("29.00", ["29"]),
        ("29,00", ["29"]),
        ("£ 29.00", ["29"]),
        ("29,00 €", ["29"]),
        ("GBP 29", ["29"]),
        ("1,234.50", ["1234.5"]),
        ("1.234,50", ["1234.5"]),
        ("1 234,50", ["1234.5"]),
        ("1\u202f234,50", ["1234.5"]),
        ("1’234.50", ["1234.5"]),
        ("1,234", ["1234", "1.234"]),
        ("0,234", ["0.234"]),
        ("1,234,567", ["1234567"]),
        ("1.23.456", []),
        ("-3", ["-3"]),
        ("−3", ["-3"]),
        (".5", ["0.5"]),
        ("5.", ["5"]),
        ("２９．００", ["29"]),
        ("", []),
        ("on request", []),
        ("27.00 to 29.00", []),
        ("1e5", []),
    ],
)
def test_a_number_is_read_however_it_is_written(cell: str, numbers: list[str]) -> None:
    assert readings(cell) == tuple(map(Decimal, numbers))


@pytest.mark.parametrize("theirs", ["29.00", "29", "29.0", "29,00", "£29.00", "29.00 GBP", " 29.00 ", "0029.00"])
def test_a_price_is_the_same_number_however_it_is_written(theirs: str) -> None:
    assert money("29.00", theirs)


@pytest.mark.parametrize("theirs", ["29.01", "30", "28.999", "", "2900", "-29.00", "29.00/30.00", "sold"])
def test_a_price_is_exact(theirs: str) -> None:
    assert not money("29.00", theirs)


def test_a_price_that_is_rounded_there_is_another_price() -> None:
    assert not money("29.40", "29")
    assert not money("29.95", "30")


@pytest.mark.parametrize("theirs", ["507", "507.0", "507 g", "0.507 kg", "0,51 kg", "17.88 oz", "1.118 lb", "507.04"])
def test_a_weight_may_be_rounded_or_in_another_unit(theirs: str) -> None:
    """507 g are 17.8837 oz and 1.117743 lb by the exact factors of NIST Handbook 44, Appendix C."""
    assert weight("507.04" if theirs == "507.04" else "507", theirs)


@pytest.mark.parametrize("theirs", ["508", "0.507", "0.6 kg", "1 kg", "17.9 lb", "507 ml", "heavy", ""])
def test_another_weight_is_another(theirs: str) -> None:
    assert not weight("507", theirs)


def test_a_rounded_weight_must_still_say_something() -> None:
    assert kilograms("0.507", "0.51")
    assert not kilograms("0.507", "0.5")
    assert not kilograms("0.507", "1")


@pytest.mark.parametrize("theirs", ["12", "12.0", "12 pcs", "12 in stock"])
def test_stock_is_a_number(theirs: str) -> None:
    assert stock("12", theirs)
    assert not stock("11", theirs)
    assert not stock("", theirs)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("Clover & Cream", "  Clover &  Cream\n"),
        ("Clover & Cream", "Clover &amp; Cream"),
        ("Café", "Cafe\u0301"),
        ("“Rind”", '"Rind"'),
        ("It’s 100 ml – no more", "It's 100 ml - no more"),
        ("'=1+1", "=1+1"),
        ("'＝1+1", "＝1+1"),
        ("<p>A <b>bar</b>, a jar.</p>\n<p>And a balm.</p>", "<div>A bar, a jar.<br/>And a balm.</div>"),
        ("1\u00a0kg", "1 kg"),
        ("ﬁne", "fine"),
    ],
)
def test_a_text_is_the_same_but_for_what_programs_change(ours: str, theirs: str) -> None:
    assert text(ours, theirs)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("Linden & Oat", "Linden and Oat"),
        ("Linden & Oat", "linden & oat"),
        ("Café", "Cafe"),
        ("A bar", "Abar"),
        ("5 < 6 and 7 > 3", "5 < 6 or 7 > 3"),
        ("'tis", "tis"),
        ("a", ""),
    ],
)
def test_other_letters_are_another_text(ours: str, theirs: str) -> None:
    assert not text(ours, theirs)


def test_a_picture_is_known_by_its_file_name() -> None:
    ours = "https://ottermarl.example/photos/first-nectar-styled-grid.jpg"
    assert photo(ours, "https://copies.example/7f/first-nectar-styled-grid.jpg?width=400#x")
    assert not photo(ours, "https://copies.example/7f/first-nectar-group-grid.jpg")
    assert not photo(ours, "")
    assert photo("https://a.example/1.jpg; https://a.example/2.jpg", "https://b.example/1.jpg;https://b.example/2.jpg")
    assert not photo(
        "https://a.example/1.jpg; https://a.example/2.jpg", "https://b.example/2.jpg;https://b.example/1.jpg"
    )


def test_a_day_may_have_a_time_behind_it() -> None:
    assert day("2027-05-10", "2027-05-10T00:00:00Z")
    assert day("2027-05-10", "2027-05-10 00:00:00+01:00")
    assert not day("2027-05-10", "2027-05-11")
    assert not day("2027-05-10", "10.05.2027")
    assert not day("2027-02-28", "2027-02-30")


def test_a_day_in_the_channels_form_is_the_same_as_a_date_of_a_workbook() -> None:
    """ISO 8601, as spreadsheets give true dates out."""
    german = alike(Kind.DATE, "availabilityEnds", day=partial(day_text, form="28.02.2027"))
    assert german("10.05.2027", "10.05.2027")
    assert german("10.05.2027", "2027-05-10 00:00:00")
    assert not german("10.05.2027", "2027-10-05")


@given(st.sampled_from(list(Kind)), st.sampled_from(["name", "image", "price"]), st.text(), st.text())
def test_any_cells_can_be_held_against_each_other(kind: Kind, name: str, ours: str, theirs: str) -> None:
    if kind in (Kind.TEXT, Kind.DATE) or name == "image":
        assert alike(kind, name)(ours, ours)
    assert alike(kind, name)("12.50", theirs) in (True, False)


@given(st.decimals("0", "99999", places=2), st.sampled_from(["", "£", "€ ", "EUR "]), st.booleans())
def test_every_amount_is_the_same_with_signs_commas_and_groups(amount: Decimal, sign: str, comma: bool) -> None:
    grouped = f"{amount:,.2f}"
    if comma:
        grouped = grouped.translate(str.maketrans(",.", ".,"))
    assert money(f"{amount:.2f}", sign + grouped)
    assert not money(f"{amount + Decimal('0.01'):.2f}", sign + grouped)


@given(st.text())
def test_folding_twice_is_folding_once_where_nothing_is_marked_up(words: str) -> None:
    plain = words.translate(str.maketrans("", "", "<>&'＜＞＆＇‘’‚′﹤﹥﹠"))
    assert folded(folded(plain)) == folded(plain)


def test_a_sign_that_is_replaced_for_the_place_is_the_same_either_way_but_never_in_a_code_or_address() -> None:
    sent = Signs.of({"&": "and"}).text
    ours, theirs = "Smoker and Veil, 3 & 4", "<p>Smoker &amp; Veil, 3 and 4</p>"
    assert not text("Smoker and Veil", theirs)
    assert alike(Kind.TEXT, "name", sent=sent)("Smoker and Veil, 3 and 4", theirs)
    assert not alike(Kind.TEXT, "name", sent=sent)(ours, "Smoker & Oil, 3 & 4")
    for name in ("sku", "gtin", "url", "itemCodes"):
        assert not alike(Kind.TEXT, name, sent=sent)("A-and-1", "A-&-1")


@pytest.mark.parametrize("kind", [Kind.MONEY, Kind.NUMBER, Kind.SHARE])
def test_a_cell_of_ours_that_is_guarded_against_formulas_is_the_number_in_it(kind: Kind) -> None:
    """What is kept of a price may be less than nothing; a spreadsheet would take "-3.20" for a formula."""
    assert alike(kind, "kept")("'-3.20", "-3.20")
    assert not alike(kind, "kept")("'-3.20", "3.20")
    assert not alike(kind, "kept")("3.20; 2.90", "3.20")
