"""The currency guessed from the signs in price cells."""

import pytest

from listkit.learn.header import CurrencyGuess, guess_currency
from listkit.learn.matching import match_items


def guessed(headings: tuple[str, ...], *rows: tuple[str, ...]) -> CurrencyGuess:
    return guess_currency(match_items(headings, rows), rows)


@pytest.mark.parametrize(
    ("heading", "cell", "currency"),
    [
        ("Retail", "£7.50", "GBP"),
        ("Prix de vente", "7,50 €", "EUR"),
        ("Retail", "7.50 USD", "USD"),
        ("Retail (CHF)", "7.50", "CHF"),
        ("Preis €", "7,50", "EUR"),
        ("Retail", "80 zł", "PLN"),
    ],
)
def test_a_sign_of_one_currency_is_sure(heading: str, cell: str, currency: str) -> None:
    assert guessed((heading, "Cost"), (cell, "1")).code == currency


def test_a_sign_of_many_currencies_is_asked() -> None:
    guess = guessed(("Retail", "Cost"), ("$7.50", "$2.00"))
    assert guess.code == ""
    assert guess.choices[:3] == ("USD", "CAD", "AUD")


def test_letters_decide_what_a_sign_leaves_open() -> None:
    assert guessed(("Retail (CAD)", "Cost"), ("$7.50", "$2.00")).code == "CAD"


def test_two_currencies_are_asked() -> None:
    guess = guessed(("Retail", "Cost"), ("£7.50", "2.00 €"))
    assert (guess.code, guess.signs, guess.choices) == ("", ("£", "€"), ())


def test_one_sign_among_many_bare_prices_is_not_enough() -> None:
    rows = [("7.50", "2.00")] * 8 + [("£7.50", "2.00")]
    assert guessed(("Retail", "Cost"), *rows).code == ""


def test_a_few_signs_of_one_currency_are_enough() -> None:
    rows = [("7.50", "2.00")] * 8 + [("£7.50", "2.00")] * 3
    assert guessed(("Retail", "Cost"), *rows).code == "GBP"


def test_no_sign_says_nothing() -> None:
    assert guessed(("Retail", "Cost"), ("7.50", "2.00")) == CurrencyGuess("")
