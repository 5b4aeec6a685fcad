"""Field types of the shop's files: each reads one value as owners write it and says how it should look.

Rules about one value live here, in its type; rules across values or files live in `check`.
A validator raises FieldError with the owner's words; the reader adds the place. Money needs to
know the shop's one currency: pass `context={"currency": "GBP"}` when validating.
"""

import datetime
import re
from collections.abc import Callable, Sized
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
)

from listkit.problem import FieldError, in_our_time, is_code, quoted
from listkit.units.identifiers import parse_cas
from listkit.units.length import Length, Size
from listkit.units.money import MINOR_DIGITS, NO_CURRENCY, Money
from listkit.units.net import NetContent
from listkit.units.quantity import parse_share, share_text
from listkit.units.table import UnitKind, channel_places, price_units, sizes_by_word
from listkit.units.weight import Divisor, Weight

_RATIO: Final = re.compile(r"(\d{1,4})\s*:\s*(\d{1,4})", re.ASCII)
_COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")
_MONTHS_IN: Final = sizes_by_word(UnitKind.TIME)
_LONGEST_TEXT: Final = 20_000
_MOST_WORDS: Final = 500
_ADDRESS: Final = re.compile(r"[^@\s]+@[^@\s]+")
_SCHEME: Final = re.compile(r"https?://", re.IGNORECASE)
_HOST: Final = re.compile(
    r"(?=[^/?#]*[^\W\d_])(?:[^\W_](?:[\w-]{0,61}[^\W_])?\.)+[^\W_](?:[\w-]{0,61}[^\W_])?(?::\d{1,5})?(?:[/?#]\S*)?"
)
"""A host, whose labels have 1 to 63 letters, digits and hyphens (RFC 1123, section 2.1), then a port and a path."""

_NO_ADDRESS: Final = re.compile(r"[\s\"<>\\^`{|}]")


class ShopModel(BaseModel):
    """Base of all that files say: frozen, unknown keys forbidden."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, populate_by_name=False)


class Status(StrEnum):
    """Whether something may still be sold."""

    ON_SALE = "on sale"
    LAST_CHANCE = "last chance"
    CLOSED = "closed"


class SetStatus(StrEnum):
    """Whether a set may still be sold, or is not finished yet."""

    ON_SALE = "on sale"
    LAST_CHANCE = "last chance"
    CLOSED = "closed"
    DRAFT = "draft"


class Shape(StrEnum):
    """Outer form of a piece; a cylinder is round seen from above when it stands."""

    BOX = "box"
    CYLINDER = "cylinder"
    BALL = "ball"


def _written(value: object, example: str) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return f"{value:f}" if isinstance(value, Decimal) else str(value)
    kinds: dict[type, str] = {bool: str(value).lower(), list: "a list", dict: "a table"}
    found = kinds.get(type(value), str(value))
    raise FieldError(f"{found} is not written as text.", f"Write it in quotes, as in {quoted(example)}.")


def _money(value: object, info: ValidationInfo) -> Money:
    currency = (info.context or {}).get("currency", NO_CURRENCY)
    if isinstance(value, Money):  # read already
        return value
    return Money.parse(_written(value, "24.50"), currency)


def _mass(value: object, info: ValidationInfo) -> Weight:
    if isinstance(value, Weight):  # read already
        return value
    return Weight.parse(_written(value, "340 g"), customary=bool((info.context or {}).get("customary")))


def _code(value: object) -> str:
    text = _written(value, "OH-B01")
    if not is_code(text) or len(text) > 40:
        raise FieldError(
            f"{quoted(text[:50])} is not a code.", "Use letters, digits and - . _ / between them, at most 40."
        )
    return text


def _name(value: object) -> str:
    text = _written(value, "First Nectar")
    if not text.strip():
        raise FieldError("it is empty.", "Write a few words.")
    if len(text) > _LONGEST_TEXT:
        raise FieldError(f"it has {len(text)} characters.", f"Write at most {_LONGEST_TEXT}.")
    if "\0" in text:
        raise FieldError("it holds a NUL, a sign that no text has.", "Take it out.")
    return text.strip()


@dataclass(frozen=True, slots=True)
class Ending:
    """The last digits of a price: `share` is what it is above a multiple of `every`; None keeps the price as it is.

    ".95" is 0.95 above whole units, "980" is 980 above thousands, "steps of 0.05" is nothing above multiples of 0.05.
    """

    share: Decimal | None
    every: Decimal = Decimal(1)
    text: str = field(default="keep", compare=False)  # as the owner writes it


_ENDINGS: Final = 'Write "keep", the last digits as in ".95" or "980", or "steps of 0.05".'
_DIGITS: Final = re.compile(r"(\d{0,6})(\.\d+)?")
_STEPS_OF: Final = re.compile(r"steps of (\d{1,6}(?:\.\d+)?)")


def _ending(value: object, info: ValidationInfo) -> Ending:
    text = _written(value, ".95").strip()
    if text == "keep":
        return Ending(None)
    steps, last = _STEPS_OF.fullmatch(text), _DIGITS.fullmatch(text)
    if steps is not None:
        share, every = Decimal(0), Decimal(steps[1])
    elif last is not None and text:
        whole = "" if last[1] == "0" and last[2] else last[1]  # "0.95" is ".95"
        share, every = Decimal(f"{whole or 0}{last[2] or ''}"), Decimal(10) ** len(whole)
    else:
        raise FieldError(f"{quoted(text)} is not an ending.", _ENDINGS)
    if not every:
        raise FieldError(f"{quoted(text)} leads nowhere.", _ENDINGS)
    digits = MINOR_DIGITS.get((info.context or {}).get("currency", NO_CURRENCY), 2)
    if share != round(share, digits) or every != round(every, digits):
        raise FieldError(
            f"{quoted(text)} is finer than the currency has digits.", f"Write at most {digits} behind the point."
        )
    return Ending(share, every, text if steps or every > 1 else text.removeprefix("0"))


@dataclass(frozen=True, slots=True)
class WholesaleRule:
    """How a set's wholesale price comes about.

    `kind` is "share" of retail before tax, "sum" of the items' wholesale, or "margin" on full cost.
    """

    kind: str
    share: Decimal


def _of_retail(share: Decimal) -> Decimal:
    if share > 1:
        raise FieldError(f"{share_text(share)} is more than the retail price.", "Write 100 % or less.")
    return share


def _wholesale_rule(value: object) -> WholesaleRule:
    text = " ".join(_written(value, "50 %").split())
    if text == "sum of items":
        return WholesaleRule("sum", Decimal(0))
    kind, share = ("margin", text.removeprefix("margin ")) if text.startswith("margin ") else ("share", text)
    if not share.endswith("%"):
        raise FieldError(f"{quoted(text)} is not a wholesale rule.", 'Write "50 %", "sum of items" or "margin 40 %".')
    read = parse_share(share)
    if kind == "share":
        _of_retail(read)
    if kind == "margin" and read >= 1:
        raise FieldError(f"a margin of {quoted(share)} has no price.", "Write a margin below 100 %.")
    return WholesaleRule(kind, read)


@dataclass(frozen=True, slots=True)
class Ratio:
    """Width to height of a crop: Ratio(4, 5)."""

    width: int
    height: int

    def __str__(self) -> str:
        return f"{self.width}:{self.height}"


def _ratio(value: object) -> Ratio:
    text = _written(value, "4:5")
    match = _RATIO.fullmatch(text.strip())
    if match is None or "0" in {match[1].strip("0") or "0", match[2].strip("0") or "0"}:
        raise FieldError(f"{quoted(text)} is not a ratio.", 'Write width and height, as in "4:5".')
    return Ratio(int(match[1]), int(match[2]))


def _colour(value: object) -> str:
    text = _written(value, "#7a5c1e")
    if not _COLOUR.fullmatch(text):
        raise FieldError(f"{quoted(text)} is not a colour.", 'Write six digits as in "#7a5c1e".')
    return text.lower()


def _months(value: object) -> int:
    text = _written(value, "18 months").strip()
    match = re.fullmatch(rf"(\d{{1,3}})\s*({'|'.join(_MONTHS_IN)})", text, re.IGNORECASE | re.ASCII)
    if match is None:
        raise FieldError(f"{quoted(text)} is not a time.", 'Write it as in "18 months".')
    return int(match[1]) * int(_MONTHS_IN[match[2].lower()])


def _refuse_long(text: str) -> None:
    if re.fullmatch(r"0*[1-9]\d{9,}(\.\d*)?", text, re.ASCII):
        raise FieldError(f"{quoted(text)} has more than nine digits.", "Write the number that is meant.")


def _count(value: object) -> int:
    text = _written(value, "12").strip()
    if re.fullmatch(r"-\d+", text):
        raise FieldError(f"{quoted(text)} is negative.", 'Write it as in "12".')
    _refuse_long(text)
    if not re.fullmatch(r"0*\d{1,9}(\.0+)?", text):
        raise FieldError(f"{quoted(text)} is not a whole number.", 'Write it as in "12".')
    return int(text.split(".")[0])


def _above_zero(value: int) -> int:
    if value == 0:
        raise FieldError("it is zero.", "Write a whole number above zero, or leave it out where it need not be there.")
    return value


def _number(value: object) -> Decimal:
    text = _written(value, "4").strip()
    _refuse_long(text)
    if not re.fullmatch(r"\d{1,9}(\.\d{1,9})?", text):
        raise FieldError(f"{quoted(text)} is not a number of zero or more.", 'Write it as in "4".')
    return Decimal(text)


def _language(value: object) -> object:
    if not isinstance(value, str) or not re.fullmatch(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|\d{3}))?", value):
        raise FieldError(f"{quoted(str(value))} is not a language.", 'Write it as in "en-GB" or "fr".')
    return value


_YES: Final = frozenset({"yes", "y", "true", "1", "x"})
_NO: Final = frozenset({"no", "n", "false", "0", "-", ""})


def _yes(value: object) -> bool:
    if isinstance(value, bool):
        return value
    text = _written(value, "yes").strip().lower()
    if text not in _YES | _NO:
        raise FieldError(f"{quoted(text)} is neither yes nor no.", 'Write "yes" or "no".')
    return text in _YES


_YEAR_FIRST: Final = re.compile(r"(\d{4})[-./ ](\d{1,2})[-./ ](\d{1,2})")
_YEAR_LAST: Final = re.compile(r"(\d{1,2})([-./ ])(\d{1,2})\2(\d{4})")
_ORDINAL: Final = r"(\d{1,2})(?:st|nd|rd|th)?"
_WITH_MONTH: Final = re.compile(rf"(?:{_ORDINAL} )?([A-Za-z]{{3,9}})\.?(?: {_ORDINAL})?,? (\d{{4}})")
_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)


def days_meant(text: str) -> tuple[datetime.date, ...]:
    """Return the days that may be meant by a text which is not in ISO 8601: two where day and month may be either.

    >>> [str(day) for day in days_meant("1/12/2026")], [str(day) for day in days_meant("3rd Feb. 2027")]
    (['2026-12-01', '2026-01-12'], ['2027-02-03'])
    >>> [str(day) for day in days_meant("2027-31-05")]
    ['2027-05-31']
    """
    text, parts = " ".join(text.split()), list[tuple[int, int, int]]()
    if match := _YEAR_FIRST.fullmatch(text):
        year, second, third = (int(match[at]) for at in (1, 2, 3))
        parts = [(year, second, third), *([(year, third, second)] if second > 12 else [])]
    elif match := _YEAR_LAST.fullmatch(text):
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        parts = [(year, second, first), *([(year, first, second)] if match[2] in "/-" else [])]
    elif (match := _WITH_MONTH.fullmatch(text)) and bool(match[1]) != bool(match[3]):
        months = [number for number, name in enumerate(_MONTHS, 1) if name.startswith(match[2].lower())]
        parts = [(int(match[4]), month, int(match[1] or match[3])) for month in months]
    days = []
    for year, month, day in parts:
        with suppress(ValueError):
            days.append(datetime.date(year, month, day))
    return tuple(dict.fromkeys(days))


def _date(value: object) -> datetime.date:
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return in_our_time(value)
    try:
        day = datetime.date.fromisoformat(_written(value, "2027-02-28"))
    except (ValueError, FieldError):
        meant = days_meant(value) if isinstance(value, str) else ()
        if meant:
            message = f"{quoted(str(value))} is not written year, month, day."
            raise FieldError(message, f"Write {' or '.join(map(str, meant))}.") from None
        raise FieldError(f"{quoted(str(value))} is not a day of the calendar.", "Write it as in 2027-02-28.") from None
    return in_our_time(day)


def _cas(value: object) -> str:
    text = _written(value, "78-70-6").strip()
    return parse_cas(text) if text else ""


def _email(text: str) -> str:
    """Take what has the outline of an address (RFC 5322, addr-spec); whether anybody reads there is for mailers."""
    if text and not _ADDRESS.fullmatch(text):
        raise FieldError(f"{quoted(text[:50])} is no e-mail address.", 'Write it as in "shop@mill.example".')
    return text


def _web_address(text: str) -> str:
    """Return an address of the web with its scheme (RFC 3986, section 3), which a QR code needs: usually https."""
    text = text.strip()
    scheme = _SCHEME.match(text)
    if text and not _HOST.fullmatch(text, scheme.end() if scheme else 0):
        raise FieldError(f"{quoted(text[:50])} is no address on the web.", 'Write it as in "https://mill.example".')
    return text if scheme or not text else f"https://{text}"


def _address_start(text: str) -> str:
    """Take what may stand before a name in an address: no space nor sign that none has (RFC 3986, section 2)."""
    if found := _NO_ADDRESS.search(text):
        message = f"{quoted(text[:50])} begins no address: {quoted(found[0])} stands in none."
        raise FieldError(message, 'Write it as in "https://mill.example/sets/".')
    return text


def _bounded(entries: tuple[str, ...]) -> tuple[str, ...]:
    if len(entries) > _MOST_WORDS:
        raise FieldError(f"it has {len(entries)} entries.", f"Write at most {_MOST_WORDS}.")
    return entries


def at_most(most: int) -> AfterValidator:
    """Return what refuses a list of more entries than any shop has there."""

    def counted(entries: Sized) -> Sized:
        if len(entries) > most:
            raise FieldError(f"it has {len(entries)} entries.", f"Write at most {most:,}.")
        return entries

    return AfterValidator(counted)


def _listed(value: object) -> object:
    if isinstance(value, str):
        return [part.strip() for part in value.split(";") if part.strip()]
    return value


def _text_of(parse: Callable[[str], Any], example: str) -> PlainValidator:
    return PlainValidator(lambda value: parse(_written(value, example)))


def _as_text(example: str, *, bare: bool = False) -> WithJsonSchema:
    return WithJsonSchema({"type": ["string", "number"] if bare else "string", "examples": [example]})


def _weighs(value: Weight) -> Weight:
    if value.grams <= 0:
        raise FieldError(f"{quoted(value.text)} weighs nothing.", 'Write a weight above zero, as in "500 g".')
    return value


def _part(share: Decimal) -> Decimal:
    if share >= 1:
        raise FieldError(f"{share_text(share)} leaves nothing of the price.", 'Write less than 100 %, as in "15 %".')
    return share


def _tax(share: Decimal) -> Decimal:
    if share >= 1:
        raise FieldError(f"a tax of {share_text(share)} is as much as the price before it.", "Write less than 100 %.")
    return share


@dataclass(frozen=True, slots=True)
class NamesCode:
    """Marks a field whose text is the code of something in the shop; see `codes.code_places`."""


def _country(value: object) -> object:
    """Return a country's two letters.

    >>> _country("UK")
    Traceback (most recent call last):
    listkit.problem.FieldError: "UK" is not a country.
    >>> _country("GB")
    'GB'
    """
    if not isinstance(value, str) or not re.fullmatch(r"[A-Z]{2}", value) or value == "UK":
        hint = 'The United Kingdom is "GB".' if value == "UK" else 'Write its two letters (ISO 3166-1), as in "GB".'
        raise FieldError(f"{quoted(str(value))} is not a country.", hint)
    return value


CODE: Final = NamesCode()
Code = Annotated[str, PlainValidator(_code), _as_text("OH-B01"), CODE]
Country = Annotated[str, BeforeValidator(_country)]


def _region(value: object) -> object:
    if not isinstance(value, str) or not re.fullmatch(r"[A-Z]{2}-[A-Z0-9]{1,3}", value):
        raise FieldError(
            f"{quoted(str(value))} is not a part of a country.", 'Write its code (ISO 3166-2), as in "GB-NIR".'
        )
    return value


Region = Annotated[str, BeforeValidator(_region)]
Language = Annotated[str, BeforeValidator(_language)]
Name = Annotated[str, PlainValidator(_name), _as_text("First Nectar")]
Price = Annotated[Money, PlainValidator(_money), _as_text("24.50", bare=True)]
Mass = Annotated[Weight, PlainValidator(_mass), _as_text("340 g")]
SomeMass = Annotated[Mass, AfterValidator(_weighs)]
"""A weight above zero."""
Distance = Annotated[Length, _text_of(Length.parse, "3 mm"), _as_text("3 mm")]
Sides = Annotated[Size, _text_of(Size.parse, "86 x 58 x 28 mm"), _as_text("86 x 58 x 28 mm")]
Net = Annotated[NetContent, _text_of(NetContent.parse, "110 g"), _as_text("110 g")]
Share = Annotated[Decimal, _text_of(parse_share, "12.5 %"), _as_text("12.5 %")]
Part = Annotated[Share, AfterValidator(_part)]
"""A share that leaves something."""
DivisorField = Annotated[Divisor, _text_of(Divisor.parse, "5000"), _as_text("150 in³/lb", bare=True)]
TaxShare = Annotated[Share, AfterValidator(_tax)]
"""A tax that is added to a price."""
RetailShare = Annotated[Share, AfterValidator(_of_retail)]
"""A share of a retail price, all of it at most."""
EndingField = Annotated[Ending, PlainValidator(_ending), _as_text(".95")]
WholesaleField = Annotated[WholesaleRule, PlainValidator(_wholesale_rule), _as_text("50 %")]
RatioField = Annotated[Ratio, PlainValidator(_ratio), _as_text("4:5")]
Colour = Annotated[str, PlainValidator(_colour), _as_text("#7a5c1e")]
Months = Annotated[int, PlainValidator(_months), _as_text("18 months")]
Count = Annotated[int, PlainValidator(_count), WithJsonSchema({"type": ["integer", "string"], "minimum": 0})]
Positive = Annotated[
    int,
    PlainValidator(_count),
    AfterValidator(_above_zero),
    WithJsonSchema({"type": ["integer", "string"], "minimum": 1}),
]
if TYPE_CHECKING:
    MassUnit = str
    LengthUnit = str
    ColumnUnit = str
    PricedMass = str
    PricedVolume = str
else:  # choices that follow from a table; a type checker wants them spelled out
    MassUnit = Literal[tuple(channel_places(UnitKind.MASS))]
    LengthUnit = Literal[tuple(channel_places(UnitKind.LENGTH))]
    ColumnUnit = Literal[MassUnit, LengthUnit]
    PricedMass = Literal[tuple(unit.price_name for unit in price_units(UnitKind.MASS))]
    PricedVolume = Literal[tuple(unit.price_name for unit in price_units(UnitKind.VOLUME))]
Number = Annotated[Decimal, PlainValidator(_number), WithJsonSchema({"type": ["number", "string"], "minimum": 0})]
YesNo = Annotated[bool, PlainValidator(_yes), WithJsonSchema({"type": ["boolean", "string"]})]
Day = Annotated[datetime.date, PlainValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]
Cas = Annotated[str, PlainValidator(_cas), _as_text("78-70-6")]
Email = Annotated[str, AfterValidator(_email)]
WebAddress = Annotated[str, AfterValidator(_web_address)]
AddressStart = Annotated[str, AfterValidator(_address_start)]
OldNames = Annotated[
    tuple[Annotated[str, PlainValidator(_code), _as_text("OH-B1")], ...],
    BeforeValidator(_listed, json_schema_input_type=str | tuple[str, ...]),
    AfterValidator(_bounded),
]
"""Codes that are none any more; so no mark of one."""
Words = Annotated[
    tuple[Name, ...], BeforeValidator(_listed, json_schema_input_type=str | tuple[str, ...]), AfterValidator(_bounded)
]
