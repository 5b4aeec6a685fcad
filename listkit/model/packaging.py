"""Packaging: boxes with their fill and carton, and the card; packaging.toml."""

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from listkit import bounds
from listkit.model.fields import Code, Count, Mass, Name, Number, Price, ShopModel, Sides, SomeMass, YesNo, at_most


class Fill(ShopModel):
    """What lies around the pieces in one box."""

    weight: Mass = Field(description="Fill in one box.", examples=["10 g"])
    cost: Price = Field(description="What that fill costs.", examples=["0.10"])
    on_hand: Count | None = Field(
        default=None, description="For how many boxes it is in the store; it limits what can be made."
    )


class Carton(ShopModel):
    """The outer carton that one closed gift box is sent in."""

    outside: Sides = Field(description="Outside sides, which freight is billed by.", examples=["190 x 150 x 100 mm"])
    weight: Mass = Field(description="Empty, with tape and cushion.", examples=["88 g"])
    on_hand: Count | None = Field(default=None, description="How many are in the store; told only.")


class GiftBox(ShopModel):
    """One kind of gift box."""

    code: Code = Field(description="What sets call it by.", examples=["S"])
    inside: Sides = Field(description="Inside length, width and height.", examples=["162 x 122 x 70 mm"])
    outside: Sides | None = Field(
        default=None,
        description="Outside sides of the closed box, for shelves and cartons.",
        examples=["166 x 126 x 74 mm"],
    )
    weight: Mass = Field(description="The empty box.", examples=["58 g"])
    cost: Price = Field(description="What one box costs.", examples=["0.95"])
    minutes: Number = Field(default=Decimal(0), description="Minutes to pack one.", examples=["4"])
    fill: Fill | None = Field(default=None, description="What lies around the pieces.")
    carton: Carton | None = Field(default=None, description="The outer carton it is sent in.")
    on_hand: Count | None = Field(default=None, description="How many are in the store; they limit what can be made.")
    most_weight: Mass | None = Field(default=None, description="The most that may lie in it.", examples=["1.2 kg"])


class Case(ShopModel):
    """A carton that closed gift boxes are sent to shops in."""

    code: Code = Field(description="What it is called by.", examples=["C1"])
    inside: Sides = Field(description="Inside length, width and height.", examples=["400 x 300 x 240 mm"])
    outside: Sides = Field(description="Outside sides, which freight is billed by.", examples=["410 x 310 x 255 mm"])
    weight: Mass = Field(description="Empty, with tape.", examples=["420 g"])
    any_way_up: YesNo = Field(
        default=False, description="Whether gift boxes may lie on their sides in it; else they stay upright."
    )


class Card(ShopModel):
    """The message card that lies in every boxed set."""

    weight: Mass = Field(description="One card with its envelope.", examples=["14 g"])
    cost: Price = Field(description="What one costs.", examples=["0.18"])
    on_hand: Count | None = Field(default=None, description="How many are in the store; they limit what can be made.")


class Packaging(ShopModel):
    """All of packaging.toml."""

    boxes: Annotated[tuple[GiftBox, ...], at_most(bounds.KINDS_OF_BOX)] = Field(
        default=(), alias="box", description="The kinds of gift box, one [[box]] each."
    )
    card: Card | None = Field(default=None, description="The card that lies in every boxed set.")
    cases: Annotated[tuple[Case, ...], at_most(bounds.KINDS_OF_BOX)] = Field(
        default=(), alias="case", description="The cartons that shops are sent closed gift boxes in, one [[case]] each."
    )


# Rates: what the owner's own carriers charge; one row of rates.csv a step of a service in a zone.


class Rate(ShopModel):
    """One step of a service: what it costs to send up to a weight."""

    service: Name = Field(description="What the service is called.", examples=["Parcel"])
    zone: str = Field(
        default="", description='Where to, as in "home"; empty when there is one zone only.', examples=["home"]
    )
    over: Mass | None = Field(
        default=None,
        description="Above which weight, where the rate card says so; else where the step below ends.",
        examples=["600 g"],
    )
    up_to: SomeMass = Field(description="Up to which weight, that weight included.", examples=["1.2 kg"])
    price: Price = Field(description="What it costs.", examples=["4.75"])
    packet: YesNo = Field(
        default=False,
        description="Whether it takes small packets only, see [freight.packet]; then the parcel's own weight counts.",
        examples=["yes"],
    )
