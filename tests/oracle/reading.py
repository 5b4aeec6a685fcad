"""A shop folder as plain tables, its amounts and measures as fractions; only what formulas need, nothing checked."""

import csv
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import ceil, floor
from pathlib import Path
from typing import Any

Table = dict[str, Any]
TODAY = date(2026, 11, 25)
"""The day of everything that is compared."""

MINOR_DIGITS = {"JPY": 0, "KRW": 0, "GBP": 2, "EUR": 2, "USD": 2, "KWD": 3, "TND": 3, "CLF": 4}
"""ISO 4217, list one: minor units."""

MILLIMETRES = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction("25.4")}
GRAMS = {"g": Fraction(1), "kg": Fraction(1000), "lb": Fraction("453.59237"), "oz": Fraction("28.349523125")}
MILLILITRES = {"ml": Fraction(1), "l": Fraction(1000), "fl oz": Fraction("29.5735295625")}
"""International yard and pound agreement, 1959; NIST Handbook 44, Appendix C (1 gal = 231 in³ = 128 fl oz)."""


def half_up(amount: Fraction, digits: int) -> Fraction:
    """Round to so many digits, halves away from below; amounts are never far below zero.

    >>> half_up(Fraction("7.125"), 2)
    Fraction(713, 100)
    """
    scale = 10**digits
    if amount < 0:
        return -half_up(-amount, digits)
    return Fraction(floor(amount * scale + Fraction(1, 2)), scale)


def up_to_step(amount: Fraction, step: Fraction) -> Fraction:
    """Round up to a whole number of steps; exact multiples stay."""
    return ceil(amount / step) * step


def written(amount: Fraction, digits: int) -> str:
    """Write an amount that has so many digits at most.

    >>> written(Fraction(5, 2), 3)
    '2.500'
    """
    scaled = amount * 10**digits
    if scaled.denominator != 1:
        raise ValueError(f"{amount} has more than {digits} digits")
    text = f"{abs(scaled.numerator):0{digits + 1}d}"
    whole = f"{text[:-digits]}.{text[-digits:]}" if digits else text
    return f"-{whole}" if scaled < 0 else whole


def share(text: str | None) -> Fraction:
    """Read "12.5 %" as a fraction of one; nothing is 0."""
    return Fraction(text.removesuffix("%").strip()) / 100 if text else Fraction(0)


def measure(text: str, units: dict[str, Fraction]) -> Fraction:
    """Read "12.5 oz" or "3 mm"."""
    number, _, unit = text.strip().partition(" ")
    return Fraction(number) * units[unit.strip()]


def grams(text: str) -> Fraction:
    """Read a weight."""
    return measure(text, GRAMS)


def sides(text: str) -> tuple[Fraction, Fraction, Fraction]:
    """Read "190 x 150 x 100 mm" as millimetres in the order written."""
    numbers, _, unit = text.strip().rpartition(" ")
    length, width, height = (Fraction(side.strip()) * MILLIMETRES[unit] for side in numbers.split("x"))
    return length, width, height


def whole(text: str) -> int | None:
    """Read a count; an empty cell is none."""
    return int(text) if text.strip() else None


@dataclass(frozen=True)
class Item:
    """A row of items.csv."""

    code: str
    name: str
    form: str
    retail: Fraction
    cost: Fraction
    tax: Fraction | None
    weight: Fraction
    size: tuple[Fraction, Fraction, Fraction]
    shape: str
    upright: bool
    on_hand: int | None
    net: str
    status: str
    part: str


@dataclass(frozen=True)
class Shop:
    """All tables of a folder."""

    settings: Table
    items: dict[str, Item]
    packaging: Table
    sets: dict[str, Table]
    channels: dict[str, Table]
    wholesale: Table | None
    rates: tuple[Table, ...] = ()
    folders: dict[str, str] = field(default_factory=dict)

    @property
    def digits(self) -> int:
        """Minor digits of the shop's currency."""
        return MINOR_DIGITS[self.settings["currency"]]

    @property
    def prices(self) -> Table:
        """Its price rules."""
        table: Table = self.settings.get("prices", {})
        return table

    @property
    def freight(self) -> Table:
        """Its freight rules."""
        table: Table = self.settings.get("freight", {})
        return table

    def amount(self, value: object) -> Fraction:
        """Read an amount of money; nothing is 0."""
        return Fraction(str(value)) if value not in (None, "") else Fraction(0)

    def rounded(self, amount: Fraction) -> Fraction:
        """Round half up to the currency's minor digits."""
        return half_up(amount, self.digits)

    def money(self, amount: Fraction) -> str:
        """Write an amount with all of the currency's digits."""
        return written(amount, self.digits)


def read_shop(folder: Path) -> Shop:
    """Read a folder; every file is as the generator writes it, in UTF-8."""
    wholesale = folder / "wholesale.toml"
    rates = folder / "rates.csv"
    sets = {path.parent.name: _toml(path) for path in sorted(folder.glob("sets/*/set.toml"))}
    return Shop(
        settings=_toml(folder / "shop.toml"),
        items={item.code: item for item in map(_item, _rows(folder / "items.csv"))},
        packaging=_toml(folder / "packaging.toml"),
        sets={table["code"]: table for table in sets.values()},
        channels={path.stem: {"key": path.stem, **_toml(path)} for path in sorted(folder.glob("channels/*.toml"))},
        wholesale=_toml(wholesale) if wholesale.exists() else None,
        rates=tuple(_rows(rates)) if rates.exists() else (),
        folders={table["code"]: name for name, table in sets.items()},
    )


def _toml(path: Path) -> Table:
    return tomllib.loads(path.read_text(encoding="utf-8"), parse_float=str)


def _rows(path: Path) -> Iterable[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _item(row: dict[str, str]) -> Item:
    return Item(
        code=row["code"],
        name=row["name"],
        form=row["form"],
        retail=Fraction(row["retail"]),
        cost=Fraction(row["cost"]),
        tax=share(row["tax"]) if row.get("tax") else None,
        weight=grams(row["weight"]),
        size=sides(row["size"]),
        shape=row["shape"] or "box",
        upright=row["upright"] == "yes",
        on_hand=whole(row["on hand"]),
        net=row["net"],
        status=row["status"] or "on sale",
        part=row["code"].rpartition("-")[2],
    )
