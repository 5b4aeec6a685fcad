"""Packaging: boxes with their fill and carton, and the card; packaging.toml."""

from decimal import Decimal

from pydantic import Field

from listkit.model.fields import Code, Count, Mass, Name, Number, Price, ShopModel, Sides, SomeMass, YesNo


class Fill(ShopModel):
    """What lies around the pieces in one box."""

    weight: Mass = Field(description="Fill in one box.")
    cost: Price = Field(description="What that fill costs.")
    on_hand: Count | None = Field(
        default=None, description="For how many boxes it is in the store; it limits what can be made."
    )


class Carton(ShopModel):
    """The outer carton that one closed gift box is sent in."""

    outside: Sides = Field(description="Outside sides, which freight is billed by.")
    weight: Mass = Field(description="Empty, with tape and cushion.")
    on_hand: Count | None = Field(default=None, description="How many are in the store; told only.")


class GiftBox(ShopModel):
    """One kind of gift box."""

    code: Code = Field(description="What sets call it by.")
    inside: Sides = Field(description="Inside length, width and height.")
    outside: Sides | None = Field(default=None, description="Outside sides of the closed box, for shelves and cartons.")
    weight: Mass = Field(description="The empty box.")
    cost: Price = Field(description="What one box costs.")
    minutes: Number = Field(default=Decimal(0), description="Minutes to pack one.")
    fill: Fill | None = Field(default=None, description="What lies around the pieces.")
    carton: Carton | None = Field(default=None, description="The outer carton it is sent in.")
    on_hand: Count | None = Field(default=None, description="How many are in the store; they limit what can be made.")
    most_weight: Mass | None = Field(default=None, description="The most that may lie in it.")


class Case(ShopModel):
    """A carton that closed gift boxes are sent to shops in."""

    code: Code = Field(description="What it is called by.")
    inside: Sides = Field(description="Inside length, width and height.")
    outside: Sides = Field(description="Outside sides, which freight is billed by.")
    weight: Mass = Field(description="Empty, with tape.")
    any_way_up: YesNo = Field(
        default=False, description="Whether gift boxes may lie on their sides in it; else they stay upright."
    )


class Card(ShopModel):
    """The message card that lies in every boxed set."""

    weight: Mass = Field(description="One card with its envelope.")
    cost: Price = Field(description="What one costs.")
    on_hand: Count | None = Field(default=None, description="How many are in the store; they limit what can be made.")


class Packaging(ShopModel):
    """All of packaging.toml."""

    boxes: tuple[GiftBox, ...] = Field(default=(), alias="box", description="The kinds of gift box, one [[box]] each.")
    card: Card | None = Field(default=None, description="The card that lies in every boxed set.")
    cases: tuple[Case, ...] = Field(
        default=(), alias="case", description="The cartons that shops are sent closed gift boxes in, one [[case]] each."
    )


# Rates: what the owner's own carriers charge; one row of rates.csv a step of a service in a zone.


class Rate(ShopModel):
    """One step of a service: what it costs to send up to a weight."""

    service: Name = Field(description="What the service is called.")
    zone: str = Field(default="", description='Where to, as in "home"; empty when there is one zone only.')
    over: Mass | None = Field(
        default=None, description="Above which weight, where the rate card says so; else where the step below ends."
    )
    up_to: SomeMass = Field(description="Up to which weight, that weight included.")
    price: Price = Field(description="What it costs.")
    packet: YesNo = Field(
        default=False,
        description="Whether it takes small packets only, see [freight.packet]; then the parcel's own weight counts.",
    )
