"""Money: a decimal amount in one ISO 4217 currency.

Exact inside, rounded once at the edge: amounts are Decimal, never float, and
only `rounded` drops digits. Mixing currencies is an error; nothing converts.
"""

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib import import_module
from typing import Final

from listkit.problem import FieldError, quoted
from listkit.units.quantity import Example, in_bounds, parse_decimal
from listkit.units.table import WIDE

# Minor digits of the active currencies: ISO 4217 list one, as published by the maintenance agency on 2026-01-01.
_TWO: Final = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF "
    "CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL "
    "HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU "
    "MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR "
    "SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED "
    "VES WST XAD XCD XCG YER ZAR ZMW ZWG"
)
_NONE: Final = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
_THREE: Final = "BHD IQD JOD KWD LYD OMR TND"
_FOUR: Final = "CLF UYW"
MINOR_DIGITS: Final[dict[str, int]] = {
    code: digits for digits, codes in ((2, _TWO), (0, _NONE), (3, _THREE), (4, _FOUR)) for code in codes.split()
}
NO_CURRENCY: Final = "XXX"  # ISO 4217: no currency; stands in while shop.toml cannot be read
FINEST: Final = max(MINOR_DIGITS.values())
_STEPS: Final = {code: Decimal(1).scaleb(-digits) for code, digits in MINOR_DIGITS.items()}
_FINEST_STEP: Final = Decimal(1).scaleb(-FINEST)

# Signs that may stand in a cell, and the currencies they are used for (from memory; CLDR has the same narrow signs).
SIGNS: Final[dict[str, tuple[str, ...]]] = {
    "£": ("GBP", "EGP", "FKP", "GIP", "SHP", "SSP", "SYP"),
    "€": ("EUR",),
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN", "BBD", "BSD", "BMD", "BZD", "JMD", "TTD", "XCD", "FJD"),
    "¥": ("JPY", "CNY"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "zł": ("PLN",),
    "Kč": ("CZK",),
    "Fr.": ("CHF",),
    "₹": ("INR",),
    "R$": ("BRL",),
    "R": ("ZAR",),
}


def minor_digits(currency: str) -> int:
    """Return the digits behind the point (ISO 4217); for XXX, no currency, as many as any currency has."""
    return MINOR_DIGITS.get(currency, FINEST)


# Words behind a price for one piece, in the five languages of sheets (common practice, no source).
EACH: Final = (
    *("each", "ea", "apiece", "piece", "pc", "pièce", "pce", "unité", "Stück", "Stk"),
    *("unidad", "ud", "cadauno", "cad", "pezzo"),
)
_FOR_EACH: Final = re.compile(
    rf"(.*[^\s/])\s*(?:/|\b(?:per|pro|je|la|par|por|al)\s)?\s*(?<!\w)(?:{'|'.join(EACH)})\.?", re.IGNORECASE
)
LARGEST: Final = Decimal(10) ** 15  # far below where 28 digits would be too few
EXAMPLE: Final = Example("an amount of money", "24.50")
_SIGNED: Final = re.compile(r"([^\d\s.,+-]*)[\s\u00a0\u202f]*(.*?)[\s\u00a0\u202f]*([^\d\s.,]*)", re.DOTALL)
_SHORTENED: Final = re.compile(r"[^\s\d]\.")
_LONGEST: Final = 60  # of an amount with its sign
_UNSEEN: Final = r"[\s\u200b\u200e\u200f]*"  # spaces, and marks of direction around signs in Arabic letters


@cache
def _written(currency: str) -> re.Pattern[str]:
    """Return what matches an amount with any sign that CLDR has for its currency in English or where it is used.

    The full stop of a sign is no decimal point: "kr.50" is 50. It may be left out. CLDR is loaded where it is asked.
    """
    core = import_module("babel.core")
    used = core.get_global("territory_currencies").items()
    homes = {
        place
        for place, moneys in used
        for code, _, until, tender in moneys
        if code == currency and tender and not until
    }
    locales = import_module("babel.localedata").locale_identifiers()
    near = (name for name in locales if name == "en" or name.rpartition("_")[2] in homes)
    clean = {re.sub(_UNSEEN, "", core.Locale.parse(name).currency_symbols.get(currency, "")) for name in near}
    signs = {currency, *clean, *(sign for sign, codes in SIGNS.items() if currency in codes)} - {""}
    longest = sorted(signs | {sign.removesuffix(".") for sign in signs}, key=lambda sign: (-len(sign), sign))
    one_of = "|".join(_UNSEEN.join(map(re.escape, sign)) for sign in longest)
    return re.compile(rf"{_UNSEEN}(?:{one_of}){_UNSEEN}(.*)|(.*?){_UNSEEN}(?:{one_of}){_UNSEEN}", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in one currency: Money(Decimal("24.00"), "USD").

    As text it has at least the currency's minor digits.

    >>> str(Money(Decimal(0), "GBP")), str(Money(Decimal("2416.95"), "KWD")), str(Money(Decimal("1.5E+3"), "JPY"))
    ('0.00', '2416.950', '1500')
    """

    amount: Decimal
    currency: str

    @classmethod
    def parse(cls, text: str, currency: str) -> "Money":
        """Read "24.50", "£24.50" or "24.50 GBP" in the shop's currency; at most its minor digits (ISO 4217).

        A word for one piece behind it changes nothing: "£24.50 ea", "24.50 each".

        Raises:
            FieldError: not a plain number, another currency, negative, or finer than the currency has.
        """
        stated = text = in_bounds(text, EXAMPLE)
        each = _FOR_EACH.fullmatch(stated[:_LONGEST])
        text = each[1] if each else text
        match = _SIGNED.fullmatch(text.strip())
        before, number, after = match.groups() if match else ("", text, "")
        known = currency in MINOR_DIGITS  # for XXX, no currency, any sign and any digits are taken
        foreign = any(
            each.upper() != currency and currency not in SIGNS.get(each, ()) for each in (before, after) if each
        )
        if known and (foreign or _SHORTENED.search(text)):
            written = _written(currency).fullmatch(text.strip()[:_LONGEST])
            if written is None and foreign:
                raise FieldError(
                    f"{quoted(stated)} is not an amount in {currency}.", f"Write it as in {quoted(EXAMPLE.good)}."
                )
            number = next(filter(None, written.groups()), "") if written else number
        amount = parse_decimal(number or text, EXAMPLE)
        if amount.is_signed():
            raise FieldError(f"{quoted(stated)} is negative.", "Write an amount of zero or more.")
        if amount >= LARGEST:
            raise FieldError(f"{quoted(stated)} is no price.", f"Write it as in {quoted(EXAMPLE.good)}.")
        digits = minor_digits(currency)
        if amount != round(amount, digits):
            raise FieldError(
                f"{quoted(stated)} is finer than {currency} has digits.", f"Write at most {digits} behind the point."
            )
        return cls(round(amount, digits), currency)

    def rounded(self, rounding: str) -> "Money":
        """Return the amount in whole minor units (ISO 4217), rounded as named."""
        return Money(self.amount.quantize(_STEPS.get(self.currency, _FINEST_STEP), rounding, WIDE), self.currency)

    def __add__(self, other: "Money") -> "Money":
        self._same(other)
        return Money(self.amount + other.amount, self.currency)

    def __sub__(self, other: "Money") -> "Money":
        self._same(other)
        return Money(self.amount - other.amount, self.currency)

    def __mul__(self, times: int | Decimal) -> "Money":
        return Money(self.amount * times, self.currency)

    def __truediv__(self, parts: int | Decimal) -> "Money":
        return Money(self.amount / parts, self.currency)

    def __lt__(self, other: "Money") -> bool:
        self._same(other)
        return self.amount < other.amount

    def __le__(self, other: "Money") -> bool:
        self._same(other)
        return self.amount <= other.amount

    def __gt__(self, other: "Money") -> bool:
        return other < self

    def __ge__(self, other: "Money") -> bool:
        return other <= self

    def __str__(self) -> str:
        text = str(self.amount)
        if "E" in text:
            text = f"{self.amount:f}"
        whole, point, part = text.partition(".")
        if (digits := MINOR_DIGITS.get(self.currency)) is not None:
            return text if len(part) >= digits else f"{whole}.{part.ljust(digits, '0')}"
        return f"{whole}{point}{part.rstrip('0').ljust(2, '0')}" if point else whole  # no currency yet: as prices look

    def _same(self, money: "Money") -> None:
        if self.currency != money.currency:
            raise ValueError(f"cannot mix {self.currency} and {money.currency}")


_LONGEST_AMOUNT: Final = 40  # characters, and digits behind the point; arithmetic with more takes time or fails


def amount_of(value: object) -> Decimal | None:
    """Return the amount that record.jsonl has as text; None for anything else, and where no price is so long.

    >>> amount_of("29.00"), amount_of(29), amount_of("NaN"), amount_of("1e999999")
    (Decimal('29.00'), None, None, None)
    """
    if not isinstance(value, str) or len(value) > _LONGEST_AMOUNT:
        return None
    try:
        amount = Decimal(value)
    except InvalidOperation:
        return None
    borne = amount.is_finite() and -_LONGEST_AMOUNT < amount.adjusted() < LARGEST.adjusted()
    return amount if borne else None


_FIGURE: Final = re.compile(r"\d+(?:[.,]\d+)*")
_GROUPED: Final = re.compile(r"\d{1,3}(?:[.,]\d{3})+")


def amounts_in(text: str) -> frozenset[Decimal]:
    """Return the figures of a text, however it parts thousands and cents.

    >>> sorted(amounts_in("£7.50 a parcel, free from £1,000; 12,5 kg at most"))
    [Decimal('7.50'), Decimal('12.5'), Decimal('1000')]
    """
    amounts = set()
    for figure in _FIGURE.findall(text):
        whole, sign, cents = re.sub("[.,]", "", figure), "", ""
        if not _GROUPED.fullmatch(figure) and (found := re.fullmatch(r"(.*)[.,](\d+)", figure)):
            whole, sign, cents = re.sub("[.,]", "", found[1]), ".", found[2]
        amounts.add(Decimal(f"{whole}{sign}{cents}"))
    return frozenset(amounts)
