"""Settings: who the shop is and its rules; shop.toml."""

import datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from listkit import bounds
from listkit.model.allotment import Allotment
from listkit.model.fields import (
    CODE,
    Code,
    Colour,
    Count,
    Country,
    Day,
    Distance,
    DivisorField,
    Email,
    Ending,
    EndingField,
    Language,
    Mass,
    Name,
    Price,
    Region,
    RetailShare,
    Share,
    ShopModel,
    SomeMass,
    TaxShare,
    WebAddress,
    WholesaleField,
    WholesaleRule,
    at_most,
)
from listkit.model.item import ShopSingles
from listkit.model.labels import (
    BoxLabels,
    Cards,
    Evidence,
    Inserts,
    Labels,
    Messages,
    NetContents,
    OwnAllergen,
    Silenced,
)
from listkit.model.making import Ways, Workshop, by_form
from listkit.model.reduction import MOST, Announcing, ShopReduction
from listkit.problem import FieldError, quoted
from listkit.units.length import Length
from listkit.units.money import MINOR_DIGITS, NO_CURRENCY, Money
from listkit.units.quantity import share_text
from listkit.units.shown import CUSTOMARY, METRIC, Measures, UnitSystem
from listkit.units.spoken import Spoken
from listkit.units.weight import Divisor, Weight


def _of_orders(share: Decimal) -> Decimal:
    if share > 1:
        raise FieldError(f"{share_text(share)} is more than all orders.", 'Write 100 % or less, as in "20 %".')
    return share


def _some_money(step: Money) -> Money:
    if not step.amount:
        raise FieldError("a step of nothing rounds nothing.", 'Write it as in "0.05", or leave it out.')
    return step


def _currency(value: object) -> object:
    if not isinstance(value, str) or (value not in MINOR_DIGITS and value != NO_CURRENCY):
        raise FieldError(f"{quoted(str(value))} is not a currency.", 'Write its three letters (ISO 4217), as in "GBP".')
    return value


Currency = Annotated[str, BeforeValidator(_currency)]


class ItemsTable(ShopModel):
    """Where the items table is and what its headings mean."""

    file: str = Field(
        default="", description="The sheet, when it is not items.csv, items.xlsx or items.ods.", examples=["stock.xlsx"]
    )
    sheet: str = Field(
        default="", description="Which sheet of a workbook; the first when left out.", examples=["Goods"]
    )
    columns: dict[str, str] = Field(
        default_factory=dict, description="The owner's heading = our name for it.", examples=[{"Our no.": "code"}]
    )


class Prices(ShopModel):
    """Rules by which prices come about."""

    uplift: Price | None = Field(
        default=None, description="Added to the sum of the items for box, fill and card.", examples=["1.00"]
    )
    ending: EndingField = Field(
        default=Ending(None),
        description='"keep", the last digits of every price, ".00", ".95", "980", or "steps of 0.05".',
    )
    option_prices: Literal["own", "dearest", "equal"] = Field(
        default="own",
        description='"own" each variant its price, "dearest" all at the dearest, "equal" unlike prices are a problem.',
    )
    bands: Annotated[tuple[Price, ...], at_most(bounds.BANDS)] = Field(
        default=(), description="Ceilings gift buyers shop by."
    )
    wage: Price | None = Field(default=None, description="An hour, for packing minutes.", examples=["14.00"])
    tax: TaxShare = Field(default=Decimal(0), description="Tax included in retail prices.", examples=["20 %"])
    wholesale: RetailShare = Field(
        default=Decimal("0.5"),
        description="An item's wholesale price, as a share of retail before tax.",
        examples=["50 %"],
    )
    set_wholesale: WholesaleField = Field(
        default=WholesaleRule("share", Decimal("0.5")), description='A set\'s: "50 %", "sum of items" or "margin 40 %".'
    )
    wholesale_step: Annotated[Price, AfterValidator(_some_money)] | None = Field(
        default=None,
        description="Wholesale prices, also of tiers and displays, are rounded half up to a multiple of this.",
        examples=["0.05"],
    )
    lowest_margin: Share = Field(
        default=Decimal(0), description="The least to be kept, as a share of the price before tax.", examples=["25 %"]
    )


class Stock(ShopModel):
    """Rules for what is published as stock."""

    hold_back: Count = Field(default=0, description="Pieces kept back from every channel.")


class Packing(ShopModel):
    """Rules for how pieces lie in a box. The defaults are common practice, no source."""

    clearance: Distance = Field(
        default=Length(Decimal(3)),
        description="Taken once from length, width and height of the inside.",
        examples=["3 mm"],
    )
    loose_below: Share = Field(
        default=Decimal("0.25"), description="Fill share below which a box looks empty.", examples=["25 %"]
    )
    full_above: Share = Field(
        default=Decimal("0.65"), description="Fill share above which a box may not close.", examples=["65 %"]
    )
    spare_height: Distance = Field(
        default=Length(Decimal(30)),
        description="Height left free above all pieces from which a box looks deep.",
        examples=["20 mm"],
    )
    most_on_fragile: Mass = Field(
        default=Weight(Decimal(50)), description="The heaviest piece that may lie on a fragile one.", examples=["150 g"]
    )
    scale: Mass = Field(
        default=Weight(Decimal(5)),
        description="How exactly your scales weigh; packing cards allow so much more or less.",
    )


class Packet(ShopModel):
    """The largest small packet that the owner's carrier takes.

    The defaults are those of letter post: Regulations to the Universal Postal Convention (from memory).
    """

    together: Distance = Field(
        default=Length(Decimal(900)),
        description="The most that length, width and height come to together.",
        examples=["900 mm"],
    )
    longest: Distance = Field(default=Length(Decimal(600)), description="The longest side.", examples=["600 mm"])
    tolerance: Distance = Field(
        default=Length(Decimal(2)), description="What measuring may be off by.", examples=["2 mm"]
    )
    weight: SomeMass = Field(default=Weight(Decimal(2000)), description="The heaviest one.", examples=["2 kg"])


class Freight(ShopModel):
    """Rules for what sending costs by weight and volume.

    The default divisor, 5000 cm³ a kilogram, is common practice of parcel carriers, no source; the others add nothing.
    """

    divisor: DivisorField = Field(
        default=Divisor(Decimal(5000)), description="Cubic centimetres a kilogram, or cubic inches a pound."
    )
    measure: Literal["metric", "customary"] | None = Field(
        default=None,
        description='In which sides are rounded, "metric" or "customary"; when left out as the carton or the divisor '
        "is written.",
    )
    sides: Literal["as measured", "half up", "up"] = Field(
        default="as measured", description="Whether sides are first rounded to whole centimetres, or inches."
    )
    step: SomeMass = Field(
        default=Weight(Decimal(1)), description="Chargeable weight is rounded up to it.", examples=["500 g"]
    )
    near: Mass = Field(
        default=Weight(Decimal(25)),
        description="So little above a step of rates.csv, show tells what would help.",
        examples=["60 g"],
    )
    free_above: Price | None = Field(
        default=None,
        description="The order value from which postage is free; show tells what that costs.",
        examples=["40.00"],
    )
    free_share: Annotated[Share, AfterValidator(_of_orders)] | None = Field(
        default=None,
        description="The share of orders below it that go free all the same, when you know it.",
        examples=["20 %"],
    )
    packet: Packet = Field(default=Packet(), description="The largest small packet.")


class Shots(ShopModel):
    """Which photos every set needs."""

    required: tuple[Name, ...] = Field(default=(), description="Shots that a set must have.")


class LargeChanges(ShopModel):
    """From where on a change is so large that a build asks first. The defaults are common practice, no source."""

    largest_move: Share = Field(
        default=Decimal("0.3"),
        description="The most by which one price may move against what was last recorded.",
        examples=["30 %"],
    )
    most_moves: Share = Field(
        default=Decimal("0.5"), description="The most of a channel's prices that may move at once.", examples=["50 %"]
    )


class Season(ShopModel):
    """A span of dates in which its sets are on sale."""

    name: Name = Field(description="What sets call it by.", examples=["winter"])
    on_sale: Day = Field(description="First day.", examples=[datetime.date(2026, 11, 1)])
    off_sale: Day = Field(description="Last day.", examples=[datetime.date(2027, 1, 6)])
    photograph: Day | None = Field(
        default=None, description="The day for its pictures, for your calendar.", examples=[datetime.date(2026, 9, 14)]
    )
    last_post: Day | None = Field(
        default=None,
        description="The last day to post what is to arrive in time, for your calendar.",
        examples=[datetime.date(2026, 12, 18)],
    )
    take_down: Day | None = Field(
        default=None,
        description="The day to take its sets down everywhere, for your calendar.",
        examples=[datetime.date(2027, 1, 7)],
    )


class Accepted(ShopModel):
    """A remark that is as the owner wants it; it is not told again where it is only to be looked at."""

    check: Name = Field(description="The check's code, as it stands behind a message.", examples=["band-missed"])
    at: Annotated[Name, CODE] = Field(
        description="What it is said of: a code of a set, variant or item, a channel's key, or a file.",
        examples=["OHS-1"],
    )
    reason: Name = Field(description="Why it is well as it is.", examples=["a round price sells better here"])


class Settings(ShopModel):
    """All of shop.toml."""

    name: Name = Field(description="The shop's name as buyers read it.", examples=["Ottermarl Hive & Herb"])
    currency: Currency = Field(
        description="Three letters (ISO 4217); all money in the folder is in it.", examples=["GBP"]
    )
    language: Language = Field(default="en-GB", description="The language of the texts (BCP 47).", examples=["en-GB"])
    measure: UnitSystem | None = Field(
        default=None,
        description='What people read: "metric" is grams and millimetres, "customary" ounces, pounds and inches. When '
        "left out all is metric but sizes in texts, which are as is usual where the language is spoken.",
        examples=["customary"],
    )
    country: Country = Field(description="Two letters (ISO 3166-1).", examples=["GB"])
    website: WebAddress = Field(
        default="", description="The shop's own address on the web.", examples=["https://shop.example"]
    )
    address: str = Field(
        default="",
        description="Who answers for the goods: name and postal address.",
        examples=["Ottermarl Hive & Herb, 1 Lane End, Anytown"],
    )
    region: Region | None = Field(
        default=None,
        description="A part of it with rules of its own (ISO 3166-2).",
        examples=["GB-NIR"],
    )
    email: Email = Field(default="", description="Where buyers write to.", examples=["post@shop.example"])
    phone: str = Field(default="", description="Where buyers call.", examples=["+44 1632 960001"])
    tax_number: str = Field(
        default="",
        description="Your number at the tax office, with the words before it that your country asks for on papers.",
        examples=["VAT number GB 000 0000 00"],
    )
    company_number: str = Field(
        default="",
        description="Your number in the register of companies, with the words before it, printed on papers.",
        examples=["Company number 00000000"],
    )
    logo: str = Field(
        default="",
        description="A picture for documents, in the shop folder: PNG, JPEG or WebP, no SVG.",
        examples=["logo.png"],
    )
    accent: Colour = Field(default="#444444", description="The colour of documents.")
    items: ItemsTable = Field(default=ItemsTable(), description="Where the items table is.")
    prices: Prices = Field(default=Prices(), description="Rules for prices.")
    stock: Stock = Field(default=Stock(), description="Rules for stock.")
    allotment: Allotment | None = Field(
        default=None,
        description="How pieces go to the places; without [allotment] each shows all that can be made.",
    )
    packing: Packing = Field(default=Packing(), description="Rules for boxes.")
    freight: Freight = Field(default=Freight(), description="Rules for freight.")
    shots: Shots = Field(default=Shots(), description="Which photos are needed.")
    net_contents: NetContents = Field(default=NetContents(), description="How net contents are declared.")
    labels: Labels | None = Field(default=None, description="Outside labels; none are made without [labels].")
    box_labels: Annotated[tuple[BoxLabels, ...], at_most(bounds.BOX_LABELS)] = Field(
        default=(), alias="box_label", description="Labels of another size for one kind of box, one [[box_label]] each."
    )
    cards: Cards | None = Field(default=None, description="Price cards; none are made without [cards].")
    inserts: Inserts = Field(default=Inserts(), description="Cards that go into a box, printed when asked for.")
    messages: Messages = Field(default=Messages(), description="Cards with buyers' words, printed when asked for.")
    singles: ShopSingles | None = Field(
        default=None, description="Items that are listed alone, without a folder of their own; none without [singles]."
    )
    making: Annotated[tuple[Ways, ...], BeforeValidator(by_form), at_most(bounds.FORMS)] = Field(
        default=(), description='How goods of a form are made, one [[making]] each, or one [making."bar soap"].'
    )
    workshop: Workshop = Field(default=Workshop(), description="When you make things.")
    changes: LargeChanges = Field(default=LargeChanges(), description="From where on a change is large.")
    seasons: Annotated[tuple[Season, ...], at_most(bounds.SEASONS)] = Field(
        default=(), alias="season", description="The seasons, one [[season]] each."
    )
    reductions: Annotated[tuple[ShopReduction, ...], MOST] = Field(
        default=(), alias="reduction", description="Lower prices for a time, one [[reduction]] each."
    )
    announcing: Announcing = Field(default=Announcing(), description="What may be said of a reduction.")
    allergens: Annotated[tuple[OwnAllergen, ...], at_most(bounds.OWN_ALLERGENS)] = Field(
        default=(), alias="allergen", description="Fragrance allergens beside the known ones, one [[allergen]] each."
    )
    evidence: Annotated[tuple[Evidence, ...], at_most(bounds.EVIDENCE)] = Field(
        default=(), description="Documents that bear out claims, one [[evidence]] each."
    )
    silenced: Annotated[tuple[Silenced, ...], at_most(bounds.SILENCED)] = Field(
        default=(), description="Cautions that are not printed, one [[silenced]] each, with a reason."
    )
    accepted: Annotated[tuple[Accepted, ...], at_most(bounds.ACCEPTED)] = Field(
        default=(), description="Remarks that are as you want them, one [[accepted]] each, with a reason."
    )
    checks: Annotated[dict[Code, str], at_most(bounds.CHECKS)] = Field(
        default_factory=dict,
        description='A check\'s code = "off", "look at", "must fix", or its threshold.',
        examples=[{"band-missed": "off"}],
    )

    @property
    def measures(self) -> Measures:
        """What words weights and lengths for people in the shop."""
        return CUSTOMARY if self.measure == "customary" else METRIC

    @property
    def spoken(self) -> Spoken:
        """What words money and days in messages to the owner."""
        return Spoken.to_owner(self.language, self.currency)
