"""Channels: a place that takes files from us; channels/<key>.toml."""

from decimal import Decimal
from typing import Literal

from pydantic import Field

from listkit.model.fields import Colour, Count, Name, Price, RatioField, Share, ShopModel
from listkit.model.settings import Country, Language

Output = Literal["feed", "listings", "photos", "price list"]


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
    weight: Literal["g", "kg", "oz", "lb"] = Field(default="g", description="How weights are written.")


class Limits(ShopModel):
    """What the channel takes at most; none unless the owner says so."""

    title: Count | None = Field(default=None, description="Characters in a title.")
    description: Count | None = Field(default=None, description="Characters in a text.")
    keywords: Count | None = Field(default=None, description="How many keywords.")
    keyword: Count | None = Field(default=None, description="Characters in one keyword.")
    variants: Count | None = Field(default=None, description="Variants in a listing.")
    values: Count | None = Field(default=None, description="Options in a slot.")
    photos: Count | None = Field(default=None, description="Photos in a listing.")
    forbidden: str = Field(default="", description="Characters that must not stand in a title or text.")


class Crop(ShopModel):
    """One finished picture that the channel wants of every photo."""

    name: Name = Field(description="Behind the photo's name.")
    ratio: RatioField = Field(description='Width to height: "1:1".')
    width: Count = Field(description="Pixels; never more than the original gives.")
    smallest: Count = Field(default=0, description="Finished width below which it is a problem.")
    largest_kb: Count | None = Field(default=None, description="The file is at most this many kilobytes (1000 bytes).")
    if_tight: Literal["pad", "problem"] = Field(
        default="pad",
        description="When the ratio cannot hold the focus box: pad with the ground's colour, or a problem.",
    )
    format: Literal["jpeg", "webp", "avif", "png"] = Field(default="jpeg", description="The kind of picture file.")
    quality: Count = Field(default=85, description="From 1 to 100; lower is smaller.")
    chroma: Literal["4:2:0", "4:4:4"] = Field(default="4:2:0", description="4:4:4 keeps coloured lettering sharp.")
    linear: bool = Field(default=False, description="true scales amounts of light instead of encoded levels.")
    background: Colour = Field(default="#ffffff", description="Under what is see-through.")


class Column(ShopModel):
    """One column of the feed."""

    heading: str = Field(description="What stands in the first row.")
    value: str = Field(
        default="", description="A field by name, a template in {{ }}, or words that stand in every row."
    )
    once: bool = Field(default=False, description="Only in the first row of a listing.")


class Channel(ShopModel):
    """All of one channel file; `key` is the file's stem, given by the reader."""

    key: str = Field(default="", exclude=True, json_schema_extra={"given": True})
    name: Name = Field(description="What people read.")
    make: tuple[Output, ...] = Field(description='What is made: "feed", "listings", "photos", "price list".')
    feed: Literal["csv", "json", "jsonl", "xlsx"] = Field(default="csv", description="The kind of feed file.")
    rows: Literal["variant", "listing", "listing, then variants"] = Field(
        default="variant", description="What a row is."
    )
    text: Literal["html", "plain", "markdown"] = Field(default="html", description="The kind of text.")
    fee: Share = Field(default=Decimal(0), description="The channel's share of every price.")
    fixed_fee: Price | None = Field(default=None, description="And its fixed fee on every sale.")
    sold_out: Literal["show", "hide"] = Field(
        default="show", description="Sold-out variants are shown with stock 0, or left out."
    )
    photo_address: str = Field(default="", description="Put before a photo's name in the feed.")
    listing_address: str = Field(default="", description="Put before the set's folder in the feed.")
    country: Country | None = Field(default=None, description="When unlike the shop's.")
    language: Language | None = Field(default=None, description="When unlike the shop's.")
    hold_back: Count | None = Field(default=None, description="Pieces kept back here, when unlike the shop's.")
    dialect: Dialect = Field(default=Dialect(), description="How the feed's file is written.")
    limits: Limits = Field(default=Limits(), description="What the channel takes at most.")
    crops: tuple[Crop, ...] = Field(default=(), alias="crop", description="The pictures it wants, one [[crop]] each.")
    columns: tuple[Column, ...] = Field(
        default=(), alias="column", description="The feed's columns, one [[column]] each."
    )
