"""What a template can reach: public fields and properties of frozen dataclasses, and nothing behind them."""

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

import pytest
from markupsafe import Markup

from listkit.listing.formats import Formats
from listkit.listing.markdown import MarkdownText
from listkit.listing.template_values import field as reach
from listkit.listing.template_values import known, public_names, shortened, suggestion, text_of
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.weight import Weight

GB = Formats("en-GB", "GBP")


class Status(StrEnum):
    ON_SALE = "on sale"


class Pair(NamedTuple):
    one: str
    two: str


@dataclass(frozen=True, slots=True)
class Piece:
    name: str
    net: Decimal = Decimal(110)
    _secret: str = "wholesale"

    @property
    def title(self) -> str:
        return f"{self.name} bar"

    @property
    def _hidden(self) -> str:
        return "hidden"

    def method(self) -> str:
        return "called"

    @classmethod
    def make(cls) -> "Piece":
        return cls("made")


@dataclass(frozen=True, slots=True)
class Odd:
    path: Path = Path("/etc/passwd")
    module: ModuleType = os
    kind: type = str
    call: Callable[..., str] = str
    several: list[str] = field(default_factory=list)
    table: dict[str, str] = field(default_factory=dict)
    share: float = 0.5
    data: bytes = b"x"
    names: frozenset[str] = frozenset()


@dataclass
class Open:
    name: str = "can be changed"


BAR = Piece("Rosemary & Rind")


def test_fields_and_properties_are_reached_by_their_names() -> None:
    assert public_names(Piece) == {"name", "net", "title"}
    assert reach(BAR, "name", "item.name") == "Rosemary & Rind"
    assert reach(BAR, "title", "item.title") == "Rosemary & Rind bar"
    assert reach(Money(Decimal(5), "GBP"), "currency", "price.currency") == "GBP"


@pytest.mark.parametrize(
    "name",
    ["_secret", "_hidden", "method", "make", "__class__", "__init__", "__dict__", "__slots__", "__dataclass_fields__"],
)
def test_methods_and_names_with_an_underscore_are_not_there(name: str) -> None:
    with pytest.raises(FieldError, match="there is no"):
        reach(BAR, name, f"item.{name}")


@pytest.mark.parametrize("name", Odd.__dataclass_fields__)
def test_what_a_template_should_not_hold_is_not_handed_over(name: str) -> None:
    with pytest.raises(FieldError, match="cannot be put in a text"):
        reach(Odd(), name, f"item.{name}")


@pytest.mark.parametrize(
    "value", ["text", Markup("x"), 3, Decimal(3), True, date(2026, 1, 1), ("a",), Pair("a", "b"), Status.ON_SALE]
)
@pytest.mark.parametrize("name", ["upper", "format", "real", "numerator", "one", "count", "value", "year", "__class__"])
def test_plain_values_have_nothing_inside(value: object, name: str) -> None:
    with pytest.raises(FieldError, match="there is no"):
        reach(value, name, f"x.{name}")


def test_a_class_that_can_be_changed_is_no_value() -> None:
    assert public_names(Open) == frozenset()
    with pytest.raises(FieldError, match="cannot be put in a text"):
        known(Open(), "shop")
    with pytest.raises(FieldError, match="cannot be put in a text"):
        known(Piece, "item")


def test_a_slip_in_a_name_gets_the_nearest_one() -> None:
    with pytest.raises(FieldError) as fault:
        reach(BAR, "nam", "item.nam")
    assert (fault.value.message, fault.value.hint) == ('there is no "item.nam".', 'Write "item.name".')


def test_a_field_of_nothing_is_told_as_such() -> None:
    with pytest.raises(FieldError) as fault:
        reach(None, "off_sale", "season.off_sale")
    assert fault.value.message == '"season" is empty here, so there is no "season.off_sale".'
    assert fault.value.hint == "Put {% if season %} before it and {% endif %} behind."


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("a", "a"),
        (None, ""),
        (True, "yes"),
        (False, "no"),
        (12, "12"),
        (Decimal("1E+3"), "1000"),
        (Decimal("24.50"), "24.50"),
        (date(2026, 12, 24), "2026-12-24"),
        (Money(Decimal("24.00"), "GBP"), "24.00"),
        (Status.ON_SALE, "on sale"),
        (("bar", "balm", 3), "bar, balm and 3"),
        ((), ""),
    ],
)
def test_a_value_reads_plainly(value: object, text: str) -> None:
    assert text_of(value, GB) == text


def test_what_has_no_text_of_its_own_is_told_with_a_part_that_has() -> None:
    with pytest.raises(FieldError) as fault:
        text_of(BAR, GB)
    assert fault.value.hint == 'Put in a part of it, such as ".name" behind it.'
    with pytest.raises(FieldError, match="no text of its own"):
        text_of(Weight(Decimal(5)), GB)


@pytest.mark.parametrize("value", [Markup("<b>x</b>"), MarkdownText("*x*")])
def test_a_finished_text_is_not_taken_for_words(value: str) -> None:
    with pytest.raises(FieldError, match="finished text"):
        text_of(value, GB)


def test_a_list_too_long_to_be_read_is_told() -> None:
    with pytest.raises(FieldError, match="101 are too many"):
        text_of(("a",) * 101, GB)


def test_a_hint_names_the_nearest_word_or_some_of_those_there_are() -> None:
    assert suggestion("monney", ("money", "date")) == 'Write "money".'
    assert suggestion("zzz", ("money", "date")) == "Known here: date, money."
    assert suggestion("x" * 10**6, ("money",)) == "Known here: money."
    assert suggestion("zzz", ()) == "Leave it out."


def test_a_message_quotes_forty_characters_at_most() -> None:
    assert shortened("a\n b") == "a b"
    assert len(shortened("x" * 10**6)) == 40
