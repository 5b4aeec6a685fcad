"""How money and days stand in messages: as CLDR writes them, which is asked for its patterns here."""

import datetime
import re
from decimal import Decimal
from pathlib import Path

import pytest
from babel.dates import format_date
from babel.numbers import format_currency

from listkit.units.money import Money
from listkit.units.spoken import Spoken, money_digits_text, money_text

DAY = datetime.date(2027, 2, 15)
PROBLEMS = Path(__file__).parents[1] / "problems"


@pytest.mark.parametrize("currency", ["GBP", "EUR", "USD", "JPY", "CAD"])
@pytest.mark.parametrize("language", ["en-GB", "en-US", "en-CA", "en-IE"])
def test_an_amount_stands_as_cldr_writes_it_in_english(language: str, currency: str) -> None:
    amount = Decimal(1234)
    shown = Spoken.to_owner(language, currency).money(Money(amount, currency))
    assert shown == format_currency(amount, currency, locale=language.replace("-", "_"))


@pytest.mark.parametrize(
    ("language", "currency", "shown"),
    [
        ("en-GB", "CHF", "CHF\u00a01,234.50"), ("en-GB", "KWD", "KWD\u00a01,234.500"),
        ("ja", "CHF", "CHF\u00a01,234.50"),
        ("en-US", "XOF", "F\u202fCFA\u00a01,235"), ("tr", "CHF", "CHF\u00a01.234,50"), ("en-GB", "TWD", "NT$1,234.50"),
        ("de", "CHF", "1.234,50\u00a0CHF"),
    ],
)  # fmt: skip
def test_letters_of_a_currency_stand_apart_from_the_digits(language: str, currency: str, shown: str) -> None:
    """As Intl.NumberFormat of Chromium shows them, by CLDR's currencySpacing, which Babel does not read."""
    assert money_text(Decimal("1234.5"), currency, language) == shown


@pytest.mark.parametrize(
    ("language", "locale"), [("en-US", "en_US"), ("en-AU", "en_AU"), ("fr", "en_GB"), ("de", "en_GB")]
)
def test_a_day_in_a_message_is_english_whatever_the_shops_language(language: str, locale: str) -> None:
    assert Spoken.to_owner(language, "EUR").day(DAY) == format_date(DAY, "long", locale=locale)


def test_an_amount_keeps_its_own_currency() -> None:
    assert Spoken("en-GB", "GBP").money(Money(Decimal(5), "EUR")) == "€5.00"
    assert Spoken("en-GB", "GBP").money(Decimal(5)) == "£5.00"


# What an owner types, and what is quoted from her files, stands as it is typed.
_TYPED = re.compile(r'"[^"]*"|\bWrite (?:it )?(?:as )?\S+(?: or \S+)?|\b\w+ = \S+|\{[^}]*\}')
_SHARES = re.compile(r"\d+\.\d+ (?:%|times|oz|mm|g)\b|\d+ CFR \d+\.\d+|\d+\.\d+ %")
_BARE_MONEY = re.compile(r"(?<![\w£.])\d+\.\d{2}(?!\d)")
_BARE_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


@pytest.mark.parametrize("case", sorted(folder.name for folder in PROBLEMS.iterdir() if folder.is_dir()))
def test_no_sentence_has_an_amount_without_its_currency_or_a_day_as_files_have_it(case: str) -> None:
    expected = PROBLEMS / case / "expected.txt"
    for line in expected.read_text(encoding="utf-8").splitlines() if expected.exists() else ():
        said = _SHARES.sub("", _TYPED.sub("", line.split(": ", 1)[1]))
        assert not _BARE_MONEY.search(said), line
        assert not _BARE_DAY.search(said), line


def test_an_amount_without_a_currency_is_its_figure() -> None:
    """ISO 4217, XXX: no currency is involved; CLDR would write the sign of any currency, which says nothing."""
    assert money_text(Decimal("4.5"), "XXX", "en-GB") == "4.50"
    assert money_text(Decimal("4.5"), "XXX", "fr") == "4,50"


def test_an_amount_of_any_size_is_shown() -> None:
    """More digits than the 28 that are reckoned with (decimal, "Context objects")."""
    assert money_digits_text(Decimal(10**40) + Decimal("0.125"), "JPY", "de", digits=2).startswith("10.000.")
