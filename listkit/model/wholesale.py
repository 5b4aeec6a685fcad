"""Wholesale: terms for shops that buy from us, and who they are; wholesale.toml and stockists.csv.

Every term is optional and none is invented: what is absent is not printed.
"""

from pydantic import Field

from listkit.model.fields import Code, Count, Day, Name, Price, ShopModel, WholesaleField


class CasePack(ShopModel):
    """How many go into a case."""

    items: Count | None = Field(default=None, description="Pieces of one item in a case.")
    sets: Count | None = Field(default=None, description="Sets in a case.")
    mixed: bool = Field(default=False, description="Whether a case may mix the variants of a set.")


class Window(ShopModel):
    """When to order and when it ships."""

    order_by: Day | None = Field(default=None, description="Last day to order.")
    ships_from: Day | None = Field(default=None, description="First day of sending.")
    ships_until: Day | None = Field(default=None, description="Last day of sending.")


class Display(ShopModel):
    """The display set that shops may put out."""

    price: str = Field(default="", description='"half", "free" or a sum.')
    free_from: Count | None = Field(default=None, description="Free from this many sets.")
    holds: str = Field(default="", description="What it holds.")


class Group(ShopModel):
    """Lines that stand together on the sheet."""

    title: Name = Field(description="Its heading.")
    lines: tuple[Code, ...] = Field(description="Set and item codes in order.")
    window: Window | None = Field(default=None, description="Its own window, when unlike the sheet's.")


class Tier(ShopModel):
    """A lower price from a quantity on."""

    start: Count = Field(alias="from", description="From this many.")
    wholesale: WholesaleField = Field(description="The wholesale rule from there.")


class Wholesale(ShopModel):
    """All of wholesale.toml."""

    issued: Day | None = Field(default=None, description="The day on the sheet.")
    valid_until: Day | None = Field(default=None, description="Until when its prices hold.")
    opening: Price | None = Field(default=None, description="Least worth of a first order.")
    reorder: Price | None = Field(default=None, description="Least worth of later ones.")
    lead: str = Field(default="", description="How long until it ships.")
    payment: str = Field(default="", description="How it is paid.")
    carriage: str = Field(default="", description="Who pays for sending.")
    damages: str = Field(default="", description="What to do when something arrives broken.")
    testers: str = Field(default="", description="Testers.")
    exclusivity: str = Field(default="", description="Whether a shop may be the only one near.")
    online_resale: str = Field(default="", description="Where shops may sell on line.")
    season: str = Field(default="", description="The season of the sheet.")
    gtins: bool = Field(default=False, description="Whether every line must carry a GTIN.")
    case_pack: CasePack = Field(default=CasePack(), description="How many in a case.")
    window: Window = Field(default=Window(), description="When to order and when it ships.")
    display: Display | None = Field(default=None, description="The display set.")
    groups: tuple[Group, ...] = Field(default=(), alias="group", description="Lines that stand together.")
    tiers: tuple[Tier, ...] = Field(default=(), alias="tier", description="Lower prices from a quantity on.")


class Stockist(ShopModel):
    """One row of stockists.csv."""

    code: Code = Field(description="What we call the shop by.")
    name: Name = Field(description="Its name.")
    email: str = Field(default="", description="Where to write.")
    address: str = Field(default="", description="Where it is.")
    area: str = Field(default="", description="Its area, for exclusivity.")
    sheet: str = Field(default="", description="The version code of the line sheet it holds.")
    since: str = Field(default="", description="Since when it sells ours.")
