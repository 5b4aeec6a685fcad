"""What the owner says of labels: the documents behind her claims; parts of shop.toml."""

from pydantic import Field

from listkit.model.fields import Day, Name, ShopModel


class Evidence(ShopModel):
    """A document on file that bears out a claim which needs one."""

    claim: Name = Field(description="The kind of claim as it is told, or its words.", examples=["vegan"])
    document: Name = Field(description="What bears it out, and where it is kept.")
    until: Day | None = Field(default=None, description="The last day on which it holds.")
