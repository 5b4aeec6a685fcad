"""Rates: what the owner's own carriers charge; one row of rates.csv a step of a service in a zone."""

from pydantic import Field

from listkit.model.fields import Mass, Name, Price, ShopModel, SomeMass, YesNo


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
