"""What the owner says of labels: documents behind claims, how quantities and unit prices are told, silence."""

from typing import Literal

from pydantic import Field

from listkit.model.fields import Cas, Code, Count, Day, Name, PricedMass, PricedVolume, ShopModel


class Evidence(ShopModel):
    """A document on file that bears out a claim which needs one."""

    claim: Name = Field(description="The kind of claim as it is told, or its words.", examples=["vegan"])
    document: Name = Field(description="What bears it out, and where it is kept.")
    until: Day | None = Field(default=None, description="The last day on which it holds.")


class OwnAllergen(ShopModel):
    """A fragrance allergen to be named beside the 24 that we know, as of the longer list of 2023."""

    name: Name = Field(description="What a label calls it (INCI).", examples=["Menthol"])
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
    reason: str = Field(default="", description="Why it does not apply; without a reason it is printed all the same.")


class UnitPricing(ShopModel):
    """What a unit of the goods costs, where a channel's country asks for it; sets of unlike pieces have none."""

    weight: PricedMass = Field(default="100 g", description="The unit of what is weighed.")
    volume: PricedVolume = Field(default="100 ml", description="The unit of liquids and creams.")
    below_one: Literal["whole", "tenth"] = Field(
        default="whole", description="Below 1.00, to whole pence or cents, or to a tenth of one."
    )
    smallest: Count = Field(default=0, description="Grams or millilitres below which none is told.")
