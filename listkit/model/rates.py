"""Rates: what the owner's own carriers charge; one row of rates.csv a step of a service in a zone."""

from typing import Annotated

from pydantic import AfterValidator, Field

from listkit.model.fields import Mass, Name, Price, ShopModel, YesNo
from listkit.problem import FieldError
from listkit.units.weight import Weight


def _above_zero(value: Weight) -> Weight:
    if value.grams <= 0:
        raise FieldError("it is zero.", 'Write a weight above zero, as in "500 g".')
    return value


class Rate(ShopModel):
    """One step of a service: what it costs to send up to a weight."""

    service: Name = Field(description="What the service is called.")
    zone: str = Field(default="", description='Where to, as in "home"; empty when there is one zone only.')
    over: Mass | None = Field(
        default=None, description="Above which weight, where the rate card says so; else where the step below ends."
    )
    up_to: Annotated[Mass, AfterValidator(_above_zero)] = Field(description="Up to which weight, that weight included.")
    price: Price = Field(description="What it costs.")
    packet: YesNo = Field(
        default=False,
        description="Whether it takes small packets only, see [freight.packet]; then the parcel's own weight counts.",
    )
