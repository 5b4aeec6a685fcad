"""Wholesale: terms for shops that buy from us, and who they are; wholesale.toml and stockists.csv.

Every term is optional and none is invented: what is absent is not printed.
"""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema

from listkit import bounds
from listkit.model.fields import (
    Code,
    Count,
    Day,
    Email,
    Months,
    Name,
    Price,
    Share,
    ShopModel,
    WholesaleField,
    at_most,
)
from listkit.problem import FieldError, Place, quoted
from listkit.units.identifiers import parse_gtin
from listkit.units.money import NO_CURRENCY, Money

# 80 % to 200 % of the nominal size of an EAN-13: GS1 General Specifications, section 5.2, from memory.
_BARCODE_SIZES: Final = (Decimal("0.8"), Decimal(2))
HALF, FREE = "half", "free"
ANY_TIME: Final = "any time"
AS_ORDERED: Final = "as ordered"


def _at_least_one(value: int) -> int:
    if value < 1:
        raise FieldError("it is 0.", "Write 1 or more, or leave it out.")
    return value


def _window(value: object) -> object:
    if isinstance(value, str):
        if value != ANY_TIME:
            raise FieldError(
                f"{quoted(value)} is no window.",
                f"Write {quoted(ANY_TIME)}, or days as in {{ order_by = 2027-02-28 }}.",
            )
        return {"ships": ANY_TIME}
    return value


def _display_price(value: object, info: ValidationInfo) -> Money | str:
    if value in (HALF, FREE):
        return str(value)
    if isinstance(value, bool) or not isinstance(value, (str, int, Decimal)):
        raise FieldError("it is neither a word nor a sum.", 'Write "half", "free" or a sum as in "5.00".')
    try:
        return Money.parse(str(value), (info.context or {}).get("currency", NO_CURRENCY))
    except FieldError as fault:
        raise FieldError(fault.message, 'Write "half", "free" or a sum as in "5.00".') from None


def _barcode_size(value: Decimal) -> Decimal:
    least, most = _BARCODE_SIZES
    if not least <= value <= most:
        raise FieldError(f"{value * 100:.0f} % is not a size that tills read.", "Write 80 % to 200 %.")
    return value


def _case_gtin(value: object) -> str:
    text = value if isinstance(value, str) else str(value)
    if isinstance(value, bool) or len(parse_gtin(text)) < 12:
        raise FieldError(f"{quoted(text)} is no GTIN of a case.", "It has 12 to 14 digits; look the number up.")
    return text


Pack = Annotated[Count, AfterValidator(_at_least_one)]
DisplayPrice = Annotated[
    Money | str, PlainValidator(_display_price), WithJsonSchema({"type": ["string", "number"], "examples": ["half"]})
]
CaseGtin = Annotated[
    str, PlainValidator(_case_gtin), WithJsonSchema({"type": "string", "examples": ["19520000010017"]})
]


class CasePack(ShopModel):
    """How many go into a case."""

    items: Pack | None = Field(default=None, description="Pieces of one item in a case.")
    sets: Pack | None = Field(default=None, description="Sets in a case.")
    mixed: bool = Field(default=False, description="Whether a case may mix the variants of a set.")


class Minimum(ShopModel):
    """The fewest of one line that are sent."""

    items: Pack | None = Field(default=None, description="Pieces of one item.")
    sets: Pack | None = Field(default=None, description="Of one set; its variants together where a case may mix them.")


class Window(ShopModel):
    """When to order and when it ships."""

    order_by: Day | None = Field(default=None, description="Last day to order.", examples=[datetime.date(2027, 2, 15)])
    ships_from: Day | None = Field(
        default=None, description="First day of sending.", examples=[datetime.date(2027, 2, 22)]
    )
    ships_until: Day | None = Field(
        default=None, description="Last day of sending.", examples=[datetime.date(2027, 3, 12)]
    )
    ships: Literal["", "as ordered", "any time"] = Field(
        default="",
        description='"as ordered": each order is sent as it comes, so that order_by may follow the first day of '
        'sending; "any time": no days at all, as window = "any time" says.',
        examples=["as ordered"],
    )


WindowField = Annotated[Window, BeforeValidator(_window, json_schema_input_type=Window | Literal["any time"])]


class Display(ShopModel):
    """The display set that shops may put out."""

    price: DisplayPrice | None = Field(
        default=None, description='"half" of the set\'s lowest wholesale price, "free" or a sum.'
    )
    free_from: Pack | None = Field(default=None, description="Free from this many sets in one order.")
    holds: str = Field(default="", description="What it holds.")


class DisplaySet(ShopModel):
    """A display set of several sets and items, a line of its own."""

    code: Code = Field(description="What it is ordered by.")
    name: Name = Field(description="What it is called.")
    holds: dict[Code, Pack] = Field(
        description="The code of a set, a variant or an item = how many; of a set its first variant that is offered.",
        examples=[{"OHS-1": 2, "OH-B01": 6}],
    )
    price: Price | None = Field(default=None, description="What it costs; what it holds costs that much without.")
    free_from: Price | None = Field(
        default=None, description="It costs nothing from this worth of all other lines in one order."
    )


class Group(ShopModel):
    """Lines that stand together on the sheet."""

    title: Name = Field(description="Its heading.", examples=["Spring sets"])
    lines: tuple[Code, ...] = Field(description="Set and item codes in order.")
    window: WindowField | None = Field(
        default=None, description='Its own window, when unlike the sheet\'s; "any time" for none.'
    )


class Tier(ShopModel):
    """A lower price from a quantity of one line on, the variants of a set counted together."""

    start: Count = Field(alias="from", description="From this many.")
    wholesale: WholesaleField = Field(description="The wholesale rule from there.")


class LineNote(ShopModel):
    """What is unlike the sheet's for one line."""

    code: Code = Field(
        description="A set's or an item's code; a variant's for the GTIN of a case of it alone.", examples=["OHS-1"]
    )
    case_pack: Pack | None = Field(default=None, description="How many in a case.")
    minimum: Pack | None = Field(default=None, description="The fewest that are sent.")
    lead: str = Field(default="", description="How long until it ships.")
    case_gtin: CaseGtin = Field(default="", description="The GTIN of a full case; never made up.")
    note: str = Field(default="", description="A few words printed with it.", examples=["new this spring"])


class Wholesale(ShopModel):
    """All of wholesale.toml."""

    issued: Day | None = Field(default=None, description="The day on the sheet.", examples=[datetime.date(2027, 1, 15)])
    valid_until: Day | None = Field(
        default=None, description="Until when its prices hold.", examples=[datetime.date(2027, 6, 30)]
    )
    opening: Price | None = Field(default=None, description="Least worth of a first order.", examples=["150.00"])
    reorder: Price | None = Field(default=None, description="Least worth of later ones.", examples=["75.00"])
    lead: str = Field(default="", description="How long until it ships.", examples=["10 working days"])
    payment: str = Field(default="", description="How it is paid.", examples=["30 days from the invoice"])
    carriage: str = Field(default="", description="Who pays for sending.", examples=["free from 200.00"])
    carriage_free: Price | None = Field(
        default=None, description="From which worth of an order on sending costs nothing.", examples=["350"]
    )
    damages: str = Field(default="", description="What to do when something arrives broken.")
    testers: str = Field(default="", description="Testers.")
    exclusivity: str = Field(default="", description="Whether a shop may be the only one near.")
    online_resale: str = Field(default="", description="Where shops may sell on line.")
    returns: str = Field(default="", description="Whether goods are taken back.")
    cancellation: str = Field(default="", description="Until when an order may be cancelled.")
    back_orders: str = Field(default="", description="What happens to what is not in stock.")
    beyond_stock: Literal["ask", "confirm", "refuse"] = Field(
        default="ask", description="What becomes of an order for more than is on hand, before anybody has settled it."
    )
    resale_proof: str = Field(default="", description="What a shop shows to prove that it resells.")
    oldest: Months | None = Field(
        default=None, description="How old goods are at most when they are sent.", examples=["6 months"]
    )
    season: str = Field(default="", description="The season of the sheet.", examples=["spring"])
    gtins: bool = Field(default=False, description="Whether every line must carry a GTIN.")
    design: Literal["quiet", "bold"] = Field(
        default="quiet", description="How the line sheet looks: white and thin lines, or bands of your colour."
    )
    front: Code | None = Field(
        default=None,
        description="The set whose picture leads the line sheet; the first whose photo can, when left out.",
        examples=["OHS-1"],
    )
    paper: Literal["A4", "letter"] | None = Field(
        default=None, description="The paper of what is printed; the usual one of your country, when left out."
    )
    barcodes: Annotated[Share, AfterValidator(_barcode_size)] | None = Field(
        default=None, description="Print barcodes, at this size: 80 % to 200 %.", examples=["100 %"]
    )
    case_pack: CasePack = Field(default=CasePack(), description="How many in a case.")
    minimum: Minimum = Field(default=Minimum(), description="The fewest of one line that are sent.")
    window: WindowField = Field(default=Window(), description='When to order and when it ships, or "any time".')
    display: Display | None = Field(default=None, description="A display set of each set.")
    display_sets: tuple[DisplaySet, ...] = Field(
        default=(), alias="display_set", description="Display sets of several sets and items, one [[display_set]] each."
    )
    groups: tuple[Group, ...] = Field(default=(), alias="group", description="Lines that stand together.")
    tiers: Annotated[tuple[Tier, ...], at_most(bounds.TIERS)] = Field(
        default=(), alias="tier", description="Lower prices from a quantity on."
    )
    notes: tuple[LineNote, ...] = Field(default=(), alias="line", description="What is unlike for single lines.")


class Stockist(ShopModel):
    """One row of stockists.csv."""

    code: Code = Field(description="What we call the shop by.", examples=["MILL"])
    name: Name = Field(description="Its name.", examples=["The Sluice Shop"])
    email: Email = Field(default="", description="Where to write.", examples=["shop@mill.example"])
    address: str = Field(default="", description="Where it is.")
    area: str = Field(default="", description="Its area, for exclusivity.", examples=["Nether Wadlow"])
    sheet: str = Field(default="", description="The version code of the line sheet it holds.", examples=["6WC96"])
    since: str = Field(default="", description="Since when it sells ours.", examples=["2026-03-01"])


# An order as a shop sent it: what stands in its form, row by row, nothing judged yet.


@dataclass(frozen=True, slots=True)
class FormHeadings:
    """What a form names its parts by. `buyer` are a name of ours and the label in the form; so is `sheet` a label.

    The columns of prices stand from `wholesale` on, up to `retail`.
    """

    code: str
    quantity: str
    wholesale: str
    retail: str
    sheet: str
    buyer: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class FormRow:
    """A row in which something is ordered. `quantity` is None where what is `said` there is no whole number.

    `prices` are the ones that the form states: wholesale, then the tiers; None for a cell without a figure.
    """

    place: Place
    code: str
    said: str
    quantity: int | None
    prices: tuple[Decimal | None, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderForm:
    """A form that was filled in. `sheet` is the line sheet's name as it stands there, "" where it names none."""

    file: str
    sheet: str
    buyer: tuple[tuple[str, str], ...]
    rows: tuple[FormRow, ...]

    def says(self, name: str) -> str:
        """Return what the buyer wrote under a name of ours."""
        return dict(self.buyer).get(name, "")
