"""Filters and tests: the closed tables, and what each gives."""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from listkit.listing.formats import Formats
from listkit.listing.markdown import MarkdownText, one_line
from listkit.listing.template_values import FILTERS, INSTEAD, TESTS, cut_at_a_word
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.weight import Weight

GB = Formats("en-GB", "GBP")
DE = Formats("de-DE", "EUR")


@dataclass(frozen=True, slots=True)
class Piece:
    name: str


def used(name: str, value: object, *arguments: object, formats: Formats = GB, **named: object) -> object:
    return FILTERS[name](formats, value, *arguments, **named)


def test_the_tables_are_closed() -> None:
    """What makes a text grow or reaches for a name is absent, and stays so."""
    assert set(FILTERS) == {
        "in_currency", "number", "places", "weight", "to", "date", "join", "first", "last", "length", "default", "cut",
        "upper", "lower", "trim", "slug", "html", "plain", "markdown",
    }  # fmt: skip
    assert set(TESTS) == {"none", "empty", "odd", "even"}
    assert not set(INSTEAD) & (set(FILTERS) | set(TESTS))


@pytest.mark.parametrize(
    ("name", "value", "arguments", "text"),
    [
        ("in_currency", Money(Decimal(27), "GBP"), (), "£27.00"),
        ("in_currency", Money(Decimal(27), "EUR"), (), "€27.00"),
        ("in_currency", Decimal("0.125"), (), "£0.13"),
        ("in_currency", 5, (), "£5.00"),
        ("number", Decimal("1234.5"), (), "1,234.5"),
        ("number", Decimal("1234.5"), (0,), "1,235"),
        ("weight", Weight(Decimal(612)), (), "612 g"),
        ("weight", Decimal(612), ("oz",), "21.6 oz"),
        ("places", Money(Decimal("1234.5"), "GBP"), (), "1234.50"),
        ("places", Decimal("0.125"), (2,), "0.13"),
        ("places", 7, (0,), "7"),
        ("to", Weight(Decimal("453.59237")), ("oz",), Decimal(16)),
        ("to", Weight(Decimal(507)), ("kg",), Decimal("0.507")),
        ("to", Decimal("63.5"), ("in",), Decimal("2.5")),
        ("to", Decimal("63.5"), ("cm",), Decimal("6.35")),
        ("date", date(2026, 12, 24), (), "24 December 2026"),
        ("date", date(2026, 12, 24), ("day",), "24 December"),
        ("join", ("a", "b"), (), "a, b"),
        ("join", ("a", 2), (" / ",), "a / 2"),
        ("join", None, (), ""),
        ("length", ("a", "b"), (), 2),
        ("length", "four", (), 4),
        ("default", "", ("none",), "none"),
        ("default", 0, ("none",), 0),
        ("default", None, (3,), 3),
        ("first", ("a", "b"), (), "a"),
        ("last", ("a", "b"), (), "b"),
        ("first", (), (), None),
        ("upper", "crème", (), "CRÈME"),
        ("lower", "CRÈME", (), "crème"),
        ("trim", " a ", (), "a"),
        ("slug", "Crème & Rind, 110 g", (), "creme-rind-110-g"),
        ("cut", "one two three", (9,), "one two…"),
        ("plain", "a *b*", (), "a b"),
    ],
)
def test_each_gives_what_its_name_says(name: str, value: object, arguments: tuple[object, ...], text: object) -> None:
    assert used(name, value, *arguments) == text


def test_money_without_a_currency_is_in_the_shops() -> None:
    assert used("in_currency", Decimal("1099.98"), formats=DE) == "1.099,98\u00a0€"


def test_a_field_of_each_can_be_joined() -> None:
    assert used("join", (Piece("bar"), Piece("balm")), " + ", attribute="name") == "bar + balm"
    with pytest.raises(FieldError) as fault:
        used("join", (Piece("bar"),), attribute="nam")
    assert fault.value.hint == 'Write "item.name".'
    with pytest.raises(FieldError):
        used("join", (Piece("bar"),), attribute="__class__")


def test_a_markdown_text_becomes_finished_html() -> None:
    page = used("html", "a *b* <i>")
    assert isinstance(page, Markup)
    assert page == "<p>a <em>b</em> &lt;i&gt;</p>\n"
    assert isinstance(used("markdown", "*b*"), MarkdownText)


@pytest.mark.parametrize(
    ("name", "value", "arguments"),
    [
        ("in_currency", "24.50", ()),
        ("in_currency", True, ()),
        ("in_currency", Decimal(10) ** 30, ()),
        ("number", 1, (7,)),
        ("number", 1, (-1,)),
        ("number", 1, ("2",)),
        ("weight", Decimal(1), ("stone",)),
        ("weight", "1 g", ()),
        ("date", "2026-12-24", ()),
        ("date", date(2026, 1, 1), ("%Y",)),
        ("join", "text", ()),
        ("first", "text", ()),
        ("cut", "text", (0,)),
        ("cut", "text", (True,)),
        ("upper", Markup("<b>"), ()),
        ("html", Markup("<b>"), ()),
        ("html", 5, ()),
        ("upper", Piece("bar"), ()),
    ],
)
def test_a_value_that_does_not_suit_is_told(name: str, value: object, arguments: tuple[object, ...]) -> None:
    with pytest.raises(FieldError) as fault:
        used(name, value, *arguments)
    assert fault.value.message
    assert fault.value.hint


@given(st.text(), st.integers(1, 200))
def test_a_cut_text_is_never_longer_than_asked_and_begins_like_the_whole(text: str, most: int) -> None:
    short = cut_at_a_word(text, most)
    assert len(short) <= most
    assert one_line(text).startswith(short.removesuffix("…"))


@given(st.lists(st.text(alphabet="abc", min_size=1, max_size=6), min_size=1), st.integers(8, 60))
def test_a_text_is_cut_between_words(words: list[str], most: int) -> None:
    kept = cut_at_a_word(" ".join(words), most).removesuffix("…").split()
    assert kept == words[: len(kept)]


@given(st.text(max_size=200))
def test_a_slug_is_small_letters_digits_and_hyphens(text: str) -> None:
    assert re.fullmatch(r"(?:[a-z0-9]+(?:-[a-z0-9]+)*)?", str(used("slug", text)))


@pytest.mark.parametrize(
    ("name", "value", "answer"),
    [
        ("none", None, True), ("none", "", False), ("empty", "", True), ("empty", (), True), ("empty", 0, False),
        ("empty", None, True), ("odd", 3, True), ("odd", "a", False), ("even", 4, True), ("even", True, False),
    ],
)  # fmt: skip
def test_questions_are_answered(name: str, value: object, answer: bool) -> None:
    assert TESTS[name](value) is answer
