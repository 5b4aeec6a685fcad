"""A small set and its pieces, as values for the templates of the tests."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType

import pytest

from listkit.listing.templates import Formats, Kind, TemplateFault, compile_template
from listkit.units.money import Money

GB = Formats("en-GB", "GBP")


@dataclass(frozen=True, slots=True)
class Season:
    name: str
    off_sale: date


@dataclass(frozen=True, slots=True)
class Piece:
    name: str
    price: Money
    n: int = 1

    def method(self) -> str:
        return "called"


@dataclass(frozen=True, slots=True)
class GiftSet:
    name: str
    contents: tuple[Piece, ...]
    season: Season | None = None


BAR = Piece("Rosemary & Rind", Money(Decimal("7.50"), "GBP"))
BALM = Piece("*Crème* & [x](y)", Money(Decimal("16.00"), "GBP"), 2)
NAMES: dict[str, object] = {
    "set": GiftSet("First <Nectar>", (BAR, BALM)),
    "items": ("bar", "balm", "tin"),
    "cheapest": Money(Decimal("27.00"), "GBP"),
    "season": Season("spring", date(2027, 4, 30)),
    "name": "First Nectar",
    "theme": "One box.",
    "x": ("a", "b"),
    "n": 3,
    "nothing": None,
    "big": tuple(str(number) for number in range(10_000)),
}


def render(
    source: str, kind: Kind = Kind.PLAIN, formats: Formats = GB, names: Mapping[str, object] = MappingProxyType(NAMES)
) -> str:
    return compile_template(source, kind=kind, formats=formats).render(names)


def fault_of(source: str, kind: Kind = Kind.PLAIN) -> TemplateFault:
    with pytest.raises(TemplateFault) as caught:
        render(source, kind)
    return caught.value
