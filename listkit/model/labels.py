"""Labels and price cards: their size and how they lie on a sheet or roll; [labels] and [cards] of shop.toml."""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, Field, PlainValidator, WithJsonSchema

from listkit.model.fields import (
    Cas,
    Code,
    Count,
    Country,
    Day,
    Distance,
    Language,
    Name,
    Positive,
    PricedMass,
    PricedVolume,
    Share,
    ShopModel,
    YesNo,
)
from listkit.problem import FieldError, Place, quoted
from listkit.units.length import LENGTH_UNITS
from listkit.units.quantity import Example, parse_sides

# What the owner says of labels: documents behind claims, how quantities and unit prices are told, silence.


class Evidence(ShopModel):
    """A document on file that bears out a claim which needs one."""

    claim: Name = Field(description="The kind of claim as it is told, or its words.", examples=["vegan"])
    document: Name = Field(
        description="What bears it out, and where it is kept.", examples=["supplier letters, folder 3"]
    )
    until: Day | None = Field(
        default=None, description="The last day on which it holds.", examples=[datetime.date(2027, 12, 31)]
    )


class OwnAllergen(ShopModel):
    """A fragrance allergen to be named beside those that we know."""

    name: Name = Field(description="What a label calls it (INCI).", examples=["Nerol"])
    cas: Cas = Field(default="", description="Its CAS number, when it has one.")


class NetContents(ShopModel):
    """How net contents are declared: which system first, and how what is converted is rounded."""

    order: Literal["metric", "metric first", "customary first"] | None = Field(
        default=None,
        description='"metric" alone, or with ounces and inches: "metric first", "customary first"; '
        'when left out "customary first" in the United States and "metric" elsewhere.',
    )
    rounding: Literal["down", "half up"] = Field(
        default="down", description='How a converted figure is rounded; "half up" may overstate.'
    )

    def order_in(self, country: str) -> str:
        """Return the order for a shop in `country`, which needs no setting of its own."""
        return self.order or ("customary first" if country == "US" else "metric")


class Silenced(ShopModel):
    """A caution that a rule would choose and that is not printed, with the reason."""

    caution: Name = Field(description="The caution's key.", examples=["keep-cool"])
    items: tuple[Code, ...] = Field(default=(), description="The items it is left off; all when left out.")
    reason: str = Field(
        default="",
        description="Why it does not apply; without a reason it is printed all the same.",
        examples=["It is a resin that does not melt."],
    )


class UnitPricing(ShopModel):
    """What a unit of the goods costs, where a channel's country asks for it; sets of unlike pieces have none."""

    weight: PricedMass = Field(default="100 g", description="The unit of what is weighed.")
    volume: PricedVolume = Field(default="100 ml", description="The unit of liquids and creams.")
    below_one: Literal["whole", "tenth"] = Field(
        default="whole", description="Below 1.00, to whole pence or cents, or to a tenth of one."
    )
    smallest: Count = Field(default=0, description="Grams or millilitres below which none is told.")


PAPERS: Final = {
    "A4": (Decimal(210), Decimal(297)),  # ISO 216
    "A4 landscape": (Decimal(297), Decimal(210)),
    "letter": (Decimal("215.9"), Decimal("279.4")),  # 8 1/2 x 11 in
    "letter landscape": (Decimal("279.4"), Decimal("215.9")),
}
ROLL: Final = "roll"
_FACE: Final = Example("a size", "100 x 140 mm")
_LEAST, _MOST = Decimal("0.8"), Decimal(2)


@dataclass(frozen=True, slots=True)
class Face:
    """A flat size in mm, as it is read: width, then height."""

    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Paper:
    """What is printed on; `face` is None for a roll, which is as wide and long as what is on it."""

    name: str
    face: Face | None


def _face(value: object) -> Face:
    text = value if isinstance(value, str) else str(value)
    sides = parse_sides(text, LENGTH_UNITS, _FACE)
    if len(sides) != 2:
        found = f"{quoted(text)} has {len(sides)} side{'s' * (len(sides) != 1)}, not two."
        raise FieldError(found, f"Write width and height, as in {quoted(_FACE.good)}.")
    if min(sides) <= 0:
        raise FieldError(f"{quoted(text)} has a side of zero.", f"Write width and height, as in {quoted(_FACE.good)}.")
    return Face(*sides)


LEAST_SIDE: Final = 5
"""In mm: nothing that a label must say can be read on less. Common practice, no source."""
MOST_SIDE: Final = 1_200
"""Of a sheet, in mm: the long side of A0 (ISO 216) is 1189."""


def _label(value: object) -> Face:
    face = _face(value)
    if min(face.width, face.height) < LEAST_SIDE:
        raise FieldError(f"{quoted(str(value))} is too small to be read.", f"Write sides of at least {LEAST_SIDE} mm.")
    return face


def _paper(value: object) -> Paper:
    text = str(value).strip()
    if text.lower() == ROLL:
        return Paper(ROLL, None)
    for name, sides in PAPERS.items():
        if text.lower() == name.lower():
            return Paper(name, Face(*sides))
    if not text[:1].isdigit():
        known = ", ".join(quoted(name) for name in (*PAPERS, ROLL))
        raise FieldError(f"{quoted(text)} is no sheet.", f"Write {known}, or its width and height.")
    face = _face(text)
    if max(face.width, face.height) > MOST_SIDE:
        raise FieldError(f"{quoted(text)} is larger than any sheet.", f"Write sides of at most {MOST_SIDE} mm.")
    return Paper(text, face)


def _scale(value: Decimal) -> Decimal:
    if not _LEAST <= value <= _MOST:
        raise FieldError(f"{(value * 100).normalize():f} % is too small or too large.", 'Write "80 %" to "200 %".')
    return value


def _on_a_sheet(count: int) -> int:
    most = MOST_SIDE // LEAST_SIDE
    if count > most:
        raise FieldError(f"{count:,} are more than go on any sheet or strip.", f"Write {most} or less.")
    return count


def _two(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(value) > 2:
        raise FieldError(f"it names {len(value)} languages.", "Name one or two.")
    if len(set(value)) != len(value):
        raise FieldError(f"it names {quoted(value[0])} twice.", "Name each once.")
    return value


def _as_text(example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "examples": [example]})


FaceField = Annotated[Face, PlainValidator(_label), _as_text("100 x 140 mm")]
PaperField = Annotated[Paper, PlainValidator(_paper), _as_text("A4")]
SideBySide = Annotated[Positive, AfterValidator(_on_a_sheet)]
Scale = Annotated[Share, AfterValidator(_scale)]
A4: Final = _paper("A4")


class Laid(ShopModel):
    """How labels or cards lie on what they are printed on: the same for both."""

    size: FaceField = Field(description="Width and height of one, as it is read.")
    sheet: PaperField = Field(
        default=A4,
        description='"A4", "A4 landscape", "letter", "letter landscape", "roll", or width and height. A sheet is '
        "turned where more fit so and nothing else says how they lie.",
    )
    columns: SideBySide | None = Field(
        default=None, description="How many lie side by side; as many as fit when left out."
    )
    rows: SideBySide | None = Field(
        default=None, description="How many lie below each other; as many as fit when left out."
    )
    margin_left: Distance | None = Field(
        default=None,
        description="From the sheet's edge to the first; they lie in its middle when left out.",
        examples=["8 mm"],
    )
    margin_top: Distance | None = Field(default=None, description="The same from above.", examples=["13 mm"])
    pitch_across: Distance | None = Field(
        default=None,
        description="From one's left edge to the next one's; their width when left out.",
        examples=["142 mm"],
    )
    pitch_down: Distance | None = Field(default=None, description="The same downwards.", examples=["102 mm"])
    crop_marks: YesNo = Field(default=True, description="Whether short lines outside show where to cut.")
    test_page: YesNo = Field(
        default=True, description="Whether a first page with a ruler and outlines is made, to lay over the labels."
    )
    barcodes: Scale = Field(
        default=Decimal(1), description='How large barcodes are drawn: "80 %" to "200 %".', examples=["100 %"]
    )


class Labels(Laid):
    """Outside labels, one for each variant."""

    size: FaceField = Field(
        default=Face(Decimal(96), Decimal(134)), description="Width and height of one label, as it is read."
    )
    faces: Literal[1, 2] = Field(
        default=1, description="1: all on one label; 2: a front and a back one, beside each other."
    )
    languages: Annotated[tuple[Language, ...], AfterValidator(_two)] = Field(
        default=(),
        description="One or two, in type of one size; the shop's own when left out.",
        examples=[["en-GB", "fr"]],
    )
    origin: Country | None = Field(
        default=None,
        description="The goods' country of origin, two letters (ISO 3166-1), printed only where you state it.",
        examples=["GB"],
    )
    logo: YesNo = Field(
        default=True, description="Whether your logo stands at its top, where all labels of a set have room for it."
    )
    frame: YesNo = Field(
        default=True,
        description="Whether a thin line in your colour goes around it, around the front where there are two faces.",
    )
    type: Literal["panel area", "quantity"] | None = Field(
        default=None,
        description='What the declared contents\' smallest type goes by: "panel area" (21 CFR 701.13, 16 CFR 500.21) '
        'or "quantity" (Directive 76/211/EEC); the panel\'s in the United States alone when left out.',
    )


NO_BOX: Final = "none"


class BoxLabels(Laid):
    """Outside labels of another size, for what lies in one kind of box; all else is as under [labels]."""

    box: Code = Field(description='The code of the box; "none" for sets that lie in none.', examples=["S"])

    def over(self, labels: Labels) -> Labels:
        """Return the labels as they are for this box: size and sheet are its own, the rest where it is stated."""
        lies = {"size", "sheet", "columns", "rows", "margin_left", "margin_top", "pitch_across", "pitch_down"}
        own = lies | (self.model_fields_set - {"box"})
        return labels.model_copy(update={name: getattr(self, name) for name in own})


class Cards(Laid):
    """Price cards, for the stall and for shelves."""

    size: FaceField = Field(
        default=Face(Decimal(88), Decimal(56)), description="Width and height of one card, as it is read."
    )
    each: Literal["variant", "set"] | None = Field(
        default=None,
        description='"variant": a card for each; "set": one for all its options; when left out one for a set whose '
        "options all cost the same, else one for each.",
    )
    channel: str = Field(
        default="", description="The channel whose prices and variants are shown; when left out all, as usual."
    )
    unit_price: UnitPricing | None = Field(
        default=None, description="What a unit of the goods costs, where the country asks for it."
    )


def _three(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(value) > 3:
        raise FieldError(f"it has {len(value)} lines.", "Write three at most.")
    return value


class Inserts(Laid):
    """Cards that go into a box, one for each set: its name, how to care for it, and where its page is."""

    size: FaceField = Field(
        default=Face(Decimal(85), Decimal(55)), description="Width and height of one card, as it is read."
    )
    lines: Annotated[tuple[str, ...], AfterValidator(_three)] = Field(
        default=(),
        description="Up to three lines of care; how it is kept and how long when left out.",
        examples=[["Keep dry and cool.", "Close the lid after use."]],
    )
    channel: str = Field(
        default="",
        description="The channel whose page the QR code names; the first with listing_address when left out.",
    )


class Messages(Laid):
    """Cards with the words that buyers send along."""

    size: FaceField = Field(
        default=Face(Decimal(95), Decimal(138)), description="Width and height of one card, as it is read."
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """How many of a label or card somebody wants printed; `place` is the row that says so."""

    place: Place
    code: str
    quantity: int


@dataclass(frozen=True, slots=True)
class CardWish:
    """The words that go along with an order; they are people's own, and no message repeats them."""

    place: Place
    order: str
    code: str
    words: str
    sender: str = ""
    recipient: str = ""
