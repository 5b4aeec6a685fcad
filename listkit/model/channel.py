"""Channels: a place that takes files from us; channels/<key>.toml."""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from listkit.model.fields import (
    AddressStart,
    Code,
    Colour,
    ColumnUnit,
    Count,
    Country,
    Language,
    LengthUnit,
    MassUnit,
    Name,
    Number,
    Part,
    Positive,
    Price,
    RatioField,
    Region,
    Share,
    ShopModel,
    TaxShare,
)
from listkit.model.item import Singles
from listkit.model.labels import UnitPricing
from listkit.problem import FieldError, Place, quoted
from listkit.units.quantity import share_text

Output = Literal["feed", "listings", "photos", "price list", "printed list"]
FeedKind = Literal["csv", "json", "jsonl", "xlsx"]
TableKind = Literal["csv", "jsonl", "xlsx"]
RowKind = Literal["variant", "listing", "listing, then variants"]
DayForm = Literal["2027-02-28", "28.02.2027", "28/02/2027", "28-02-2027", "02/28/2027", "20270228"]

PRICE_AND_POSTAGE: Final = "price and postage"
MOST_REPEATED: Final = 99
_FILE_NAME: Final = re.compile(r"[a-z0-9]+(?:[_-][a-z0-9]+)*")
_LONGEST_NAME: Final = 40
_TAKEN: Final = frozenset({"feed", "record", "price-list", "datapackage"})  # what lies beside it


def _from_one(most: int | None = None) -> Callable[[int], int]:
    """Return what lets whole numbers from 1 on pass: a limit of zero would let nothing through."""

    def checked(count: int) -> int:
        if count < 1:
            raise FieldError(f"{count} would let nothing through.", "Write 1 or more, or take the line out.")
        if most is not None and count > most:
            raise FieldError(f"{count} is more than {most}.", f"Write {most} or less.")
        return count

    return checked


def _file_name(name: str) -> str:
    if not _FILE_NAME.fullmatch(name) or len(name) > _LONGEST_NAME:
        hint = f'Use small letters, digits and - or _ between them, at most {_LONGEST_NAME}, as in "stock".'
        raise FieldError(f"{quoted(name[:50])} cannot be the name of a file.", hint)
    if name in _TAKEN:
        raise FieldError(f"{quoted(name)} is the name of another file of the channel.", 'Write another, as in "stock".')
    return name


def _each_once(blocks: tuple[str, ...]) -> tuple[str, ...]:
    twice = next((block for at, block in enumerate(blocks) if block in blocks[:at]), None)
    if twice is not None:
        raise FieldError(f"{quoted(twice)} stands twice among the blocks.", "Keep one of the two.")
    return blocks


def _signs(table: dict[str, str]) -> dict[str, str]:
    for sign in table:
        if not sign.strip() or any(letter.isdigit() for letter in sign):
            what = f"{quoted(sign)} is a figure" if sign.strip() else "nothing is to be replaced"
            raise FieldError(f"{what}, and only signs and words are replaced.", 'Write a sign, as in { "&" = "and" }.')
    return table


def _listed(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _one_or_more(number: Decimal) -> Decimal:
    if number < 1:
        raise FieldError(f"an order of {number:f} pieces is none.", "Write 1 or more.")
    return number


Pieces = Annotated[Number, AfterValidator(_one_or_more)]
Limit = Annotated[Count, AfterValidator(_from_one()), WithJsonSchema({"type": ["integer", "string"], "minimum": 1})]
Repeats = Annotated[
    Count,
    AfterValidator(_from_one(MOST_REPEATED)),
    WithJsonSchema({"type": ["integer", "string"], "minimum": 1, "maximum": MOST_REPEATED}),
]
SortKeys = Annotated[tuple[Name, ...], BeforeValidator(_listed, json_schema_input_type=str | tuple[str, ...])]
Block = Literal[
    "opening", "story", "contents", "choices", "card and box", "care", "ingredients", "allergens", "cautions"
]
Blocks = Annotated[tuple[Block, ...], AfterValidator(_each_once)]
Replacements = Annotated[dict[str, str], AfterValidator(_signs)]
USUAL_BLOCKS: Final[tuple[Block, ...]] = (
    "opening", "story", "contents", "choices", "card and box", "care", "ingredients", "allergens", "cautions",
)  # fmt: skip
FileName = Annotated[Name, AfterValidator(_file_name), WithJsonSchema({"type": "string", "examples": ["stock"]})]


class Dialect(ShopModel):
    """How the feed's file is written."""

    separator: Literal[",", ";", "\t", "|"] = Field(default=",", description="Between cells of a CSV.")
    quote: Literal["needed", "all"] = Field(default="needed", description="Which cells stand in quotes.")
    encoding: Literal["utf-8", "windows-1252", "utf-16"] = Field(
        default="utf-8", description="How letters become bytes."
    )
    byte_order_mark: bool = Field(default=False, description="Whether the file begins with one.")
    line_end: Literal["crlf", "lf"] = Field(default="crlf", description="How a row ends.")
    decimal: Literal[".", ","] = Field(default=".", description="Between whole and part of a number.")
    guard_formulas: bool = Field(
        default=True, description="Whether text that begins like a formula gets an apostrophe."
    )
    header: bool = Field(default=True, description="Whether the first row names the columns.")
    weight: MassUnit = Field(default="g", description="How weights are written.")
    length: LengthUnit = Field(default="mm", description="How lengths are written.")
    date: DayForm = Field(default="2027-02-28", description="How 28 February 2027 is written.")
    yes: Name = Field(default="yes", description='The word for yes, as in "TRUE" or "1".', examples=["TRUE"])
    no: str = Field(default="no", description="The word for no; it may be empty.", examples=["FALSE"])
    transliterate: bool = Field(
        default=False, description="Whether a character that the encoding has not becomes the nearest one."
    )


class Limits(ShopModel):
    """What the channel takes at most; none unless the owner says so."""

    count: Literal["characters", "bytes", "utf-16 units"] = Field(
        default="characters", description="What lengths are counted in; bytes are those of UTF-8."
    )
    title: Limit | None = Field(default=None, description="Length of a title.")
    description: Limit | None = Field(default=None, description="Length of a text.")
    keywords: Limit | None = Field(default=None, description="How many keywords.")
    keyword: Limit | None = Field(default=None, description="Length of one keyword.")
    variants: Limit | None = Field(default=None, description="Variants in a listing.")
    values: Limit | None = Field(default=None, description="Options in a slot.")
    photos: Limit | None = Field(default=None, description="Photos in a listing.")
    forbidden: str = Field(default="", description="Characters that must not stand in a title or text.")


def _of_picture(share: Decimal) -> Decimal:
    if share >= 1:
        raise FieldError(f"{share_text(share)} leaves nothing of the photo.", 'Write less than 100 %, as in "30 %".')
    return share


def _quality(value: int) -> int:
    if not 1 <= value <= 100:
        raise FieldError(f"{value} is no quality.", "Write a whole number from 1 to 100.")
    return value


class Crop(ShopModel):
    """One finished picture that the channel wants of every photo."""

    name: Name = Field(description="Behind the photo's name.", examples=["square"])
    ratio: RatioField = Field(description='Width to height: "1:1".')
    width: Positive = Field(description="Pixels; never more than the original gives.")
    smallest: Count = Field(default=0, description="Finished width below which it is a problem.")
    largest_kb: Positive | None = Field(
        default=None, description="The file is at most this many kilobytes (1000 bytes)."
    )
    if_tight: Literal["pad", "leave out", "problem"] = Field(
        default="pad",
        description="When the ratio cannot hold the focus box: continue the photo's own ground, send another photo "
        "instead where that would show, or a problem.",
    )
    most_ground: Annotated[Share, AfterValidator(_of_picture)] = Field(
        default=Decimal("0.3"), description="The share of the picture that may be continued ground.", examples=["30 %"]
    )
    format: Literal["jpeg", "webp", "avif", "png"] = Field(default="jpeg", description="The kind of picture file.")
    quality: Annotated[Count, AfterValidator(_quality)] = Field(
        default=85, description="From 1 to 100; lower is smaller."
    )
    chroma: Literal["4:2:0", "4:4:4"] = Field(default="4:2:0", description="4:4:4 keeps coloured lettering sharp.")
    linear: bool = Field(default=False, description="true scales amounts of light instead of encoded levels.")
    background: Colour = Field(default="#ffffff", description="Under what is see-through.")


class Column(ShopModel):
    """One column of a feed, or with `repeat` a family of them: Picture 1, Picture 2 ..."""

    heading: str = Field(
        description="What stands in the first row; {n} is the number of a repeated one, {nn} 01.",
        examples=["Picture {n}"],
    )
    value: str = Field(
        default="",
        description="A field by name, a template in {{ }}, or words that stand in every row.",
        examples=["{{ name }}, {{ theme }}"],
    )
    once: bool = Field(default=False, description="Only in the first row of a listing.", examples=[True])
    required: bool = Field(default=False, description="Whether an empty cell is a problem.", examples=[True])
    longest: Limit | None = Field(
        default=None, description="Length of a cell at most, counted as [limits] says.", examples=[40]
    )
    allowed: tuple[str, ...] = Field(
        default=(), description="What a cell may hold, and nothing else.", examples=[["Y", "N"]]
    )
    mapped: dict[str, str] = Field(
        default={},
        alias="map",
        description='Our value = theirs; "" = what stands where we have nothing.',
        examples=[{"InStock": "to be had", "OutOfStock": "gone"}],
    )
    unit: ColumnUnit | None = Field(default=None, description="Of a weight or length, when unlike the dialect's.")
    repeat: Repeats | None = Field(
        default=None,
        description='So many columns: value = "image" gives image_1, image_2 ...; {n} is the number.',
        examples=[8],
    )
    begin: Count = Field(default=1, alias="from", description="The number in the first one's heading.", examples=[0])
    beside: bool = Field(
        default=False,
        description="Side by side with the column before: jar 1, picked 1, jar 2, picked 2 ...",
        examples=[True],
    )


class ExtraFile(ShopModel):
    """One more data file of the channel, beside the feed: prices only, stock only."""

    name: FileName = Field(description='Its name without ending: "stock".', examples=["stock"])
    feed: TableKind | None = Field(default=None, description="The kind of file, when unlike the channel's.")
    rows: RowKind | None = Field(default=None, description="What a row is, when unlike the channel's.")
    sort: SortKeys | None = Field(default=None, description="Fields to sort by, when unlike the channel's.")
    chosen: tuple[Name, ...] = Field(
        default=(), alias="columns", description="Headings of the channel's columns, or fields, in this order."
    )
    columns: tuple[Column, ...] = Field(
        default=(), alias="column", description="Columns of its own, one [[file.column]] each."
    )
    dialect: Dialect = Field(default=Dialect(), description="What is unlike the channel's [dialect], nothing else.")


SalesField = Literal["code", "quantity", "kind", "day", "note"]


class Sales(ShopModel):
    """How the place's export of its sales is read, by `listkit stock add`."""

    columns: dict[str, SalesField] = Field(
        default={},
        description="Their heading = ours: code, quantity, kind, day or note; all others are not looked at.",
        examples=[{"Item number": "code", "Sold": "quantity", "Paid on": "day"}],
    )
    date: DayForm = Field(default="2027-02-28", description="How 28 February 2027 is written there.")
    codes: dict[str, Code] = Field(
        default={}, description="Their code = ours, where they differ.", examples=[{"1001": "OH-B01"}]
    )
    not_ours: tuple[Name, ...] = Field(
        default=(), description="Codes there that are none of our goods: wrapping, postage.", examples=[["POSTAGE"]]
    )


class Channel(ShopModel):
    """All of one channel file; `key` is the file's stem, given by the reader."""

    key: str = Field(default="", exclude=True, json_schema_extra={"given": True})
    name: Name = Field(description="What people read.", examples=["Own web shop"])
    make: tuple[Output, ...] = Field(
        description='What is made: "feed", "listings", "photos", "price list", and as a page of it "printed list".'
    )
    feed: FeedKind = Field(default="csv", description="The kind of feed file.")
    rows: RowKind = Field(default="variant", description="What a row is.")
    sort: SortKeys = Field(
        default=(), description='Fields to sort by: "price", ["-price", "sku"]; - is from high to low.'
    )
    text: Literal["html", "plain", "markdown"] = Field(default="html", description="The kind of text.")
    fee: Part = Field(default=Decimal(0), description="The channel's share of every price.")
    fee_on: Literal["price", "price and postage"] = Field(
        default="price", description="What it takes its share of: the price, or also the postage that a buyer pays."
    )
    fixed_fee: Price | None = Field(default=None, description="And its fixed fee on every sale.", examples=["0.25"])
    fixed_fee_per: Literal["order", "piece"] = Field(
        default="order", description="Whether the fixed fee is taken once an order, or for every piece sold."
    )
    pieces_in_order: Pieces = Field(
        default=Decimal(1), description="Pieces sold in an order, on average; they share a fixed fee an order."
    )
    minimum_fee: Price | None = Field(default=None, description="The least that it takes of a sale.", examples=["0.60"])
    tax: TaxShare | None = Field(
        default=None, description="Tax included in the price here, when unlike the shop's.", examples=["20 %"]
    )
    zone: str | None = Field(
        default=None, description="The zone of rates.csv that its parcels mostly go to.", examples=["home"]
    )
    sold_out: Literal["show", "hide"] = Field(
        default="show", description="Sold-out variants are shown with stock 0, or left out."
    )
    before: Literal["not yet", "pre-order", "leave out"] = Field(
        default="not yet",
        description="Before its season a set is out of stock (OutOfStock), can be ordered (PreOrder), or is left out.",
        examples=["pre-order"],
    )
    after: Literal["sold out", "leave out"] = Field(
        default="sold out",
        description="After its season a set is SoldOut, or left out, as it is where sold-out variants are hidden.",
        examples=["leave out"],
    )
    photo_address: AddressStart = Field(default="", description="Put before a photo's name in the feed.")
    listing_address: AddressStart = Field(default="", description="Put before the set's folder in the feed.")
    country: Country | None = Field(default=None, description="When unlike the shop's.", examples=["IE"])
    region: Region | None = Field(default=None, description="When unlike the shop's.", examples=["GB-NIR"])
    language: Language | None = Field(default=None, description="When unlike the shop's.", examples=["fr"])
    hold_back: Count | None = Field(default=None, description="Pieces kept back here, when unlike the shop's.")
    unit_price: UnitPricing | None = Field(
        default=None, description="What a unit of the goods costs, where the country asks for it."
    )
    sets: tuple[Code, ...] = Field(
        default=(),
        description="The sets that it takes, by their codes; all when left out.",
        examples=[["OHS-1", "OHS-2"]],
    )
    leave_out: tuple[Code, ...] = Field(
        default=(),
        description="What it does not take: a set, whatever holds an item, one option of a set or one variant.",
        examples=[["OHS-7", "OH-B03", "OHS-1-U01"]],
    )
    singles: Singles | None = Field(
        default=None, description="Items that it lists alone, whatever `sets` says; those of shop.toml when left out."
    )
    keywords: Literal["all", "first"] = Field(
        default="all", description='"first" gives it the first keywords, as many as it takes.', examples=["first"]
    )
    replace: Replacements = Field(
        default={},
        description="A sign or word = what is written instead, in words and around figures, not in codes or addresses.",
        examples=[{"&": "and"}],
    )
    blocks: Blocks = Field(
        default=(),
        description="The blocks of its texts in their order; what is not named is left out.",
        examples=[["opening", "contents", "choices", "story", "ingredients", "allergens", "cautions"]],
    )
    if_long: Blocks = Field(
        default=(),
        description="Which blocks go, one after the other, until a text is short enough.",
        examples=[["care", "story"]],
    )
    photos_of: str = Field(
        default="", description="The channel whose pictures this one shows, by its key.", examples=["web_shop"]
    )
    sales: Sales | None = Field(default=None, description="How its export of sales is read, by `listkit stock add`.")
    dialect: Dialect = Field(default=Dialect(), description="How the feed's file is written.")
    limits: Limits = Field(default=Limits(), description="What the channel takes at most.")
    crops: tuple[Crop, ...] = Field(default=(), alias="crop", description="The pictures it wants, one [[crop]] each.")
    columns: tuple[Column, ...] = Field(
        default=(), alias="column", description="The feed's columns, one [[column]] each."
    )
    files: tuple[ExtraFile, ...] = Field(
        default=(), alias="file", description="More data files, beside the feed, one [[file]] each."
    )

    @property
    def is_price_list(self) -> bool:
        """Whether the price list is the channel's only table."""
        return "feed" not in self.make and "price list" in self.make and not self.columns

    @property
    def row_kind(self) -> RowKind:
        """What a row of its table is, and so of its record: feed.json and a price list have a row a variant."""
        in_json = "feed" in self.make and self.feed == "json"
        return "variant" if in_json or self.is_price_list else self.rows

    def place(self, *key: str | int) -> Place:
        """Return a place in the channel's file; the report finds the line."""
        return Place(f"channels/{self.key}.toml", key=key)
