"""Items: one row of the owner's sheet each; what the row says, nothing computed."""

from pydantic import Field

from listkit.model.fields import (
    Code,
    Count,
    Mass,
    Months,
    Name,
    Net,
    Price,
    Shape,
    ShopModel,
    Sides,
    Status,
    Words,
    YesNo,
)


class Item(ShopModel):
    """One thing sold on its own or inside a set, as a row of the items table states it."""

    code: Code = Field(description="The owner's own code, once in the shop.")
    name: Name = Field(description="The name buyers see.")
    form: str = Field(default="", description='What kind of thing it is: "bar soap", "body butter".')
    scent: str = Field(default="", description="The scent in a word or two.")
    net: Net | None = Field(
        default=None, description='What is inside, as the label says: "110 g", "100 ml", "4 x 25 g".'
    )
    container: str = Field(default="", description='What it comes in: "jar", "paper band".')
    retail: Price = Field(description="What one piece costs in the shop, tax as the shop says.")
    cost: Price = Field(description="What one piece costs to make: materials, own packaging, labour, overhead.")
    weight: Mass = Field(description='One piece, filled and closed: "340 g" or "12 oz".')
    size: Sides = Field(description="Outside length, width and height as it stands.")
    shape: Shape = Field(default=Shape.BOX, description="box, cylinder or ball.")
    upright: YesNo = Field(default=False, description="Whether it must stand, as a jar of butter must.")
    fragile: YesNo = Field(default=False, description="Whether nothing heavy may lie on it.")
    shelf_life: Months | None = Field(default=None, description="How long it keeps from making, in months.")
    on_hand: Count | None = Field(default=None, description="Pieces ready to sell; empty when they are not counted.")
    gtin: str = Field(default="", description="Its GTIN, when it has one; never made up.")
    ingredients: str = Field(default="", description="The ingredients as the label lists them (INCI).")
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
        default=None, description='From which age it is meant to be used: "3 years", "18 years"; empty for everybody.'
    )
    larger: str = Field(default="", description="The code of the full size, when this is a mini.")
    status: Status = Field(default=Status.ON_SALE, description="on sale, last chance or closed.")
