"""How things are made: raw materials, recipes, the ways of a form, working days; and the plan of what is wanted when.

materials.csv, recipes.csv and plan.csv a row each; [making] and [workshop] of shop.toml.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Final, Literal, get_args

from pydantic import AfterValidator, Field, PlainValidator, WithJsonSchema

from listkit import bounds
from listkit.model.fields import CODE, Count, Day, Name, Number, Price, Share, ShopModel, at_most
from listkit.problem import FieldError, Place, quoted
from listkit.units.amount import Amount
from listkit.units.quantity import Example, parse_decimal, parse_share, share_text

MATERIALS_FILE: Final = "materials.csv"
RECIPES_FILE: Final = "recipes.csv"
PLAN_FILE: Final = "plan.csv"
Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
WEEKDAYS: Final[tuple[Weekday, ...]] = get_args(Weekday)
_SPAN: Final = re.compile(r"(\d{1,4})\s*(day|days|week|weeks)?", re.ASCII | re.IGNORECASE)
_DENSITY: Final = Example("a density", "0.92")
_LIGHTEST, _HEAVIEST = Decimal("0.001"), Decimal(25)  # air; osmium, 22.6, is the heaviest there is (from memory)
_LIKELY: Final = Example("a number of pieces", "115")


def _any_amount(value: object) -> Amount:
    return Amount.parse(str(value))


def _amount(value: object) -> Amount:
    amount = _any_amount(value)
    if amount.size <= 0:
        raise FieldError(f"{quoted(amount.text)} is nothing at all.", 'Write it as in "340 g".')
    return amount


def _span(value: object) -> int:
    text = str(value).strip()
    match = _SPAN.fullmatch(text)
    if match is None:
        raise FieldError(f"{quoted(text)} is no number of days.", 'Write it as in "6 weeks" or "2 days".')
    return int(match[1]) * (7 if (match[2] or "").lower().startswith("week") else 1)


def _density(value: object) -> Decimal:
    text = str(value).strip().removesuffix("g/ml").strip()
    density = parse_decimal(text, _DENSITY)
    if not _LIGHTEST <= density <= _HEAVIEST:
        raise FieldError(f"{quoted(text)} is no density.", 'Write grams a millilitre, as in "0.92".')
    return density


def _some(count: int) -> int:
    if not count:
        raise FieldError("a batch of 0 makes nothing.", 'Write how many pieces a batch makes, as in "24".')
    return count


def _of_all(share: Decimal) -> Decimal:
    if not 0 < share <= 1:
        message = "nothing would be left of a batch." if not share else f"{share_text(share)} is more than goes in."
        raise FieldError(message, 'Write which share of a batch turns out good, as in "95 %".')
    return share


AmountField = Annotated[
    Amount, PlainValidator(_amount), WithJsonSchema({"type": ["string", "number"], "examples": ["340 g"]})
]
StockAmount = Annotated[
    Amount, PlainValidator(_any_amount), WithJsonSchema({"type": ["string", "number"], "examples": ["2.4 kg"]})
]
Span = Annotated[int, PlainValidator(_span), WithJsonSchema({"type": ["string", "integer"], "examples": ["6 weeks"]})]
Density = Annotated[Decimal, PlainValidator(_density), WithJsonSchema({"type": ["string", "number"]})]
BatchSize = Annotated[Count, AfterValidator(_some)]
GoodShare = Annotated[Share, AfterValidator(_of_all)]


class Ways(ShopModel):
    """How goods of one form are made; an item's own columns go before it."""

    form: Name = Field(description="The form, as the items have it.", examples=["bar soap"])
    batch_size: BatchSize | None = Field(default=None, description="Pieces that one batch makes.", examples=["24"])
    good: GoodShare | None = Field(
        default=None,
        alias="yield",
        description="Which share of them turns out good; all when empty.",
        examples=["95 %"],
    )
    cure: Span | None = Field(
        default=None, description="How long they must rest, holidays included.", examples=["6 weeks"]
    )
    hours_a_batch: Number | None = Field(
        default=None, description="Hours of hand work that one batch takes.", examples=["3"]
    )
    ready_after: Span | None = Field(
        default=None, description="Working days from then until they are wrapped and ready.", examples=["1"]
    )


def by_form(value: object) -> object:
    """Return entries of [[making]]; [making."bar soap"] says the same as one with form = "bar soap"."""
    if isinstance(value, dict):
        return [{"form": form, **ways} if isinstance(ways, dict) else ways for form, ways in value.items()]
    return value


class Workshop(ShopModel):
    """When the owner makes things."""

    hours_a_week: Number | None = Field(
        default=None, description="Hours a week for making and packing.", examples=["24"]
    )
    days: tuple[Weekday, ...] = Field(
        default=WEEKDAYS[:5], description="On which days of the week you work.", examples=[["Tuesday", "Wednesday"]]
    )
    closed: Annotated[tuple[Day, ...], at_most(bounds.CLOSED_DAYS)] = Field(
        default=(), description="Days on which you do not.", examples=[["2026-12-25"]]
    )


class Material(ShopModel):
    """One raw material, or a pack that is bought: a row of materials.csv."""

    material: Name = Field(description="What recipes call it.", examples=["shea butter"])
    unit: AmountField = Field(description='What its price is for: "kg", "5 kg", "piece".', examples=["kg"])
    price: Price | None = Field(default=None, description="What that costs.", examples=["8.40"])
    on_hand: StockAmount | None = Field(
        default=None, description="How much is there; a bare number is of the unit.", examples=["2.4 kg"]
    )
    on_its_way: StockAmount | None = Field(
        default=None, description="How much is ordered and not there yet; the make list counts it.", examples=["5 kg"]
    )
    days_to_get: Span = Field(default=0, description="Days from the order until it is there.", examples=["10"])
    density: Density | None = Field(
        default=None, description="Grams a millilitre, where recipes measure it otherwise.", examples=["0.92"]
    )


class RecipeRow(ShopModel):
    """So much of a material in one batch of an item: a row of recipes.csv."""

    item: Annotated[Name, CODE] = Field(
        description="The item's code, or the name of a mixture that other recipes take.", examples=["OH-B01"]
    )
    material: Annotated[Name, CODE] = Field(
        description="The material, or a mixture or an item that has a recipe.", examples=["olive oil"]
    )
    amount: AmountField = Field(description="How much of it a batch takes.", examples=["1.8 kg"])


@dataclass(frozen=True, slots=True)
class Likely:
    """How many may be asked for: `steps` as number and share, else from `low` to `high`, else around `mean`."""

    text: str
    steps: tuple[tuple[int, Decimal], ...] = ()
    low: int | None = None
    high: int = 0
    mean: Decimal | None = None
    spread: Decimal = Decimal(0)


_STEP: Final = re.compile(r"(\d{1,6})\s*:\s*(\d[\d.]*\s*%)", re.ASCII)
_RANGE: Final = re.compile(r"(\d{1,6})\s*(?:to|-|–)\s*(\d{1,6})", re.ASCII)
_MOST_LIKELY: Final = 10**6
_AROUND: Final = re.compile(r"(\d[\d.]*)\s*(?:±|\+/?-)\s*(\d[\d.]*)", re.ASCII)


def _likely(value: object) -> Likely:
    """Read "20: 5 %; 30: 15 %; 40: 80 %", "80 to 150" or "115 ± 15"."""
    text = " ".join(str(value).split())
    if match := _RANGE.fullmatch(text):
        low, high = int(match[1]), int(match[2])
        if low <= high:
            return Likely(text, low=low, high=high)
    elif match := _AROUND.fullmatch(text):
        mean, spread = parse_decimal(match[1], _LIKELY), parse_decimal(match[2], _LIKELY)
        if max(mean, spread) < _MOST_LIKELY:
            return Likely(text, mean=mean, spread=spread)
    else:
        parts = [_STEP.fullmatch(part.strip()) for part in text.split(";")]
        steps = tuple((int(part[1]), parse_share(part[2])) for part in parts if part)
        if len(steps) == len(parts) and sum(Fraction(share) for _, share in steps) == 1:
            return Likely(text, steps=tuple(sorted(steps)))
        if len(steps) == len(parts):
            total = share_text(sum((share for _, share in steps), Decimal(0)))
            raise FieldError(f"the shares of {quoted(text)} come to {total}.", "Mend them: 100 % is all.")
    figures = re.findall(r"(?<![\d.])\d+", re.sub(r"(?<=\d)[,\u00a0\u202f](?=\d{3}(?!\d))", "", text))
    if any(len(figure.lstrip("0")) >= len(str(_MOST_LIKELY)) for figure in figures):
        raise FieldError(f"{quoted(text)} is more than may be asked for.", f"Write less than {_MOST_LIKELY:,}.")
    hint = 'Write "80 to 150", "115 ± 15", or each number with its share: "20: 30 %; 40: 70 %".'
    raise FieldError(f"{quoted(text)} does not say how many may be asked for.", hint)


LikelyField = Annotated[
    Likely, PlainValidator(_likely), WithJsonSchema({"type": "string", "examples": ["80 to 150", "115 ± 15"]})
]


class PlanRow(ShopModel):
    """So many of a set or an item, ready at a place by a day: a row of plan.csv."""

    set_or_item: Annotated[Name, CODE] = Field(
        description="The code of a set, of one of its variants, or of an item.", examples=["OHS-1"]
    )
    place: str = Field(default="", description="Where they are to be sold.", examples=["stall"])
    how_many: Count | None = Field(
        default=None, description="How many; empty where it follows from the three columns below.", examples=["40"]
    )
    by_when: Day = Field(description="The day by which they are ready.", examples=["2026-11-28"])
    sold_out: Price | None = Field(
        default=None, description="What one too few costs you: what it would have left.", examples=["18.00"]
    )
    left_over: Price | None = Field(
        default=None, description="What one too many costs you: its cost, less what you still get.", examples=["7.00"]
    )
    likely: LikelyField | None = Field(
        default=None, description='How many may be asked for: "80 to 150", "115 ± 15".', examples=["80 to 150"]
    )


@dataclass(frozen=True, slots=True)
class MakingRead:
    """What materials.csv, recipes.csv and plan.csv say, rows with their lines.

    `unsure` are the items and mixtures whose recipe cannot be read whole, None where any may be, or nobody knows how
    they are made: that is told already.
    """

    materials: tuple[tuple[int, Material], ...] = ()
    recipes: tuple[tuple[int, RecipeRow], ...] = ()
    plan: tuple[tuple[int, PlanRow], ...] = ()
    unsure: frozenset[str] | None = frozenset()

    def __bool__(self) -> bool:
        """Whether the shop has any of it."""
        return bool(self.materials or self.recipes or self.plan)


NOTHING_MADE: Final = MakingRead()


def recipe_place(line: int, column: str = "") -> Place:
    """Return the place of a row of recipes.csv."""
    return Place(RECIPES_FILE, line, column=column, key=(column,) if column else ())


def material_place(line: int, column: str = "") -> Place:
    """Return the place of a row of materials.csv."""
    return Place(MATERIALS_FILE, line, column=column, key=(column,) if column else ())


def plan_place(line: int, column: str = "") -> Place:
    """Return the place of a row of plan.csv."""
    return Place(PLAN_FILE, line, column=column, key=(column.replace(" ", "_"),) if column else ())


# What a cost follows from.


@dataclass(frozen=True, slots=True)
class CostStep:
    """One part of what a piece costs: what it is, how much of it a batch takes, what that is a piece, exact.

    `price` is what it goes by: "8.40 a kg", "18.00 an hour".
    """

    label: str
    amount: str
    price: str
    cost: Fraction


@dataclass(frozen=True, slots=True)
class CostFault:
    """Why a cost does not come out: the code of the rule, its place and words."""

    code: str
    place: Place
    message: str
    hint: str


@dataclass(frozen=True, slots=True)
class ItemCost:
    """What an item with a recipe costs to make: steps a piece, rounded once; `cost` None where it does not come out."""

    code: str
    pieces: Fraction
    steps: tuple[CostStep, ...] = ()
    cost: Decimal | None = None
    faults: tuple[CostFault, ...] = ()
    silent: bool = False


Costs = Mapping[str, ItemCost]


@dataclass(frozen=True, slots=True)
class MakingState:
    """The cost of each item that has a recipe; `follows` are the codes of those whose own cell is empty."""

    costs: Costs = field(default_factory=dict)
    follows: frozenset[str] = frozenset()
