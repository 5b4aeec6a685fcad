"""Items: one row of the owner's sheet each; what the row says, nothing computed."""

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, Field, PlainValidator, WithJsonSchema

from listkit.model.fields import (
    CODE,
    Cas,
    Code,
    Count,
    Mass,
    Months,
    Name,
    Net,
    Number,
    OldNames,
    Price,
    Shape,
    ShopModel,
    Sides,
    Status,
    TaxShare,
    Words,
    YesNo,
)
from listkit.model.making import BatchSize, GoodShare, Span
from listkit.model.packaging import Carton
from listkit.problem import FieldError, quoted
from listkit.units.money import Money
from listkit.units.quantity import Example, parse_decimal, parse_share


class NoIngredients(str):
    """An empty list of ingredients that the owner stated, as of a dish or a brush; "" is one that was left out."""

    __slots__ = ()


class FollowingCost(Money):
    """Nothing yet: an empty cost, which follows from the item's recipe."""

    __slots__ = ()


def _ingredients(text: str) -> str:
    return NoIngredients() if text.strip().casefold() == "none" else text


class Item(ShopModel):
    """One thing sold on its own or inside a set, as a row of the items table states it."""

    code: Code = Field(description="The owner's own code, once in the shop.")
    old_codes: OldNames = Field(
        default=(), description="Codes that it had before, between semicolons; they are understood everywhere."
    )
    name: Name = Field(description="The name buyers see.", examples=["Rosemary & Rind"])
    form: str = Field(
        default="", description='What kind of thing it is: "bar soap", "body butter".', examples=["bar soap"]
    )
    scent: str = Field(default="", description="The scent in a word or two.", examples=["rosemary"])
    net: Net | None = Field(
        default=None, description='What is inside, as the label says: "110 g", "100 ml", "4 x 25 g".'
    )
    container: str = Field(default="", description='What it comes in: "jar", "paper band".', examples=["paper band"])
    retail: Price = Field(description="What one piece costs in the shop, tax as the shop says.", examples=["7.50"])
    tax: TaxShare | None = Field(
        default=None, description="Tax included in its price, when unlike the shop's.", examples=["5 %"]
    )
    cost: Price = Field(
        description="What one piece costs to make: materials, own packaging, labour, overhead.", examples=["1.85"]
    )
    weight: Mass = Field(description='One piece, filled and closed: "340 g" or "12 oz".', examples=["119 g"])
    size: Sides = Field(description="Outside length, width and height as it stands.", examples=["86 x 58 x 28 mm"])
    shape: Shape = Field(default=Shape.BOX, description="box, cylinder or ball.")
    upright: YesNo = Field(default=False, description="Whether it must stand, as a jar of butter must.")
    fragile: YesNo = Field(default=False, description="Whether nothing heavy may lie on it.")
    shelf_life: Months | None = Field(
        default=None, description="How long it keeps from making, in months.", examples=["18 months"]
    )
    after_opening: Months | None = Field(
        default=None,
        description="How long it keeps once opened, in months; printed on its label in an open jar.",
        examples=["12 months"],
    )
    on_hand: Count | None = Field(
        default=None, description="Pieces ready to sell; empty when they are not counted.", examples=["40"]
    )
    gtin: str = Field(default="", description="Its GTIN, when it has one; never made up.", examples=["9520000010010"])
    ingredients: Annotated[str, AfterValidator(_ingredients)] = Field(
        default="",
        description='The ingredients as the label lists them (INCI); "none" for a dish or a brush.',
        examples=["Sodium Olivate, Aqua, Glycerin"],
    )
    cautions: Words = Field(
        default=(), description="Keys of the cautions printed with it, or own sentences, between semicolons."
    )
    rinse_off: YesNo | None = Field(
        default=None, description="Whether it is rinsed off the skin; by its form when empty."
    )
    foams: YesNo | None = Field(
        default=None, description="Whether it is added to the bath to foam; by its ingredients when empty."
    )
    from_age: Months | None = Field(
        default=None,
        description='From which age it is meant to be used: "3 years", "18 years"; empty for everybody.',
        examples=["3 years"],
    )
    larger: Annotated[str, CODE] = Field(
        default="", description="The code of the full size, when this is a mini.", examples=["OH-S03"]
    )
    status: Status = Field(default=Status.ON_SALE, description="on sale, last chance or closed.")
    story: str = Field(
        default="",
        description="What its own listing tells of it, where it is listed alone; see [singles] of shop.toml.",
        examples=["A bar for the garden tap."],
    )

    batch_size: BatchSize | None = Field(
        default=None, description="Pieces that one batch makes; by its form when empty.", examples=["24"]
    )
    yield_: GoodShare | None = Field(
        default=None, description="Which share of a batch turns out good; by its form when empty.", examples=["95 %"]
    )
    cure: Span | None = Field(
        default=None, description="How long it must rest, holidays included; by its form.", examples=["6 weeks"]
    )
    hours_a_batch: Number | None = Field(
        default=None, description="Hours of hand work that one batch takes; by its form.", examples=["3"]
    )
    ready_after: Span | None = Field(
        default=None, description="Working days after that until it is wrapped and ready; by its form.", examples=["1"]
    )


class Singles(ShopModel):
    """Items that are listed alone, without a folder of their own."""

    items: tuple[Code, ...] | None = Field(
        default=None,
        description="Which ones, by their codes; all that are on sale when left out, none with [].",
        examples=[["OH-B01", "OH-L01"]],
    )

    @property
    def which(self) -> str:
        """Which ones in a word or by their codes: "all", "none", "OH-B01; OH-L01"."""
        return "all" if self.items is None else "; ".join(self.items) or "none"


class ShopSingles(Singles):
    """What holds for single pieces everywhere."""

    carton: Carton | None = Field(
        default=None, description="What one is sent in; without it a single piece has no parcel weight."
    )


# Ingredients with percentages, of items and of raw materials; a row of ingredients.csv each.

_EXAMPLE = Example("a percentage", "0.5")


def _percent(value: object) -> Decimal:
    """Return the share that "0.5 %" or "0.5" names; the heading of the column says percent already."""
    text = str(value).strip()
    share = parse_share(text) if text.endswith("%") else parse_decimal(_bare(text), _EXAMPLE) / 100
    if not 0 <= share <= 1:
        raise FieldError(f"{quoted(text)} is not from 0 to 100 %.", 'Write how much of it there is, as in "0.5 %".')
    return share


def _bare(text: str) -> str:
    number = text.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZµ‰ ")
    if number and number != text:
        unit = text[len(number) :].strip()
        raise FieldError(
            f"{quoted(text)} is in {unit}, not in per cent.", 'Write the share of the whole, as in "0.5 %".'
        )
    return text


Percent = Annotated[
    Decimal, PlainValidator(_percent), WithJsonSchema({"type": ["string", "number"], "examples": ["0.5 %"]})
]


class IngredientRow(ShopModel):
    """One ingredient of an item or of a raw material, with how much of it there is."""

    item: Annotated[Name, CODE] = Field(
        description="The item's code, or a raw material as an item's rows write it.", examples=["OH-B01"]
    )
    ingredient: Name = Field(
        description="The ingredient as the label lists it (INCI); brackets tell perfumes apart.",
        examples=["Parfum (clover)"],
    )
    cas: Cas = Field(default="", description="Its CAS number; a fragrance allergen is known by it, else by its name.")
    percent: Percent = Field(description="How much of the item or of the raw material it is.")
