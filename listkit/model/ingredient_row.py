"""Ingredients with percentages, of items and of raw materials; a row of ingredients.csv each."""

from decimal import Decimal
from typing import Annotated

from pydantic import Field, PlainValidator, WithJsonSchema

from listkit.model.fields import Cas, Name, ShopModel
from listkit.problem import FieldError
from listkit.units.quantity import Example, parse_decimal, parse_share

_EXAMPLE = Example("a percentage", "0.5")


def _percent(value: object) -> Decimal:
    """Return the share that "0.5 %" or "0.5" names; the heading of the column says percent already."""
    text = str(value).strip()
    share = parse_share(text) if text.endswith("%") else parse_decimal(_bare(text), _EXAMPLE) / 100
    if not 0 <= share <= 1:
        raise FieldError(f'"{text}" is not from 0 to 100 %.', 'Write how much of it there is, as in "0.5 %".')
    return share


def _bare(text: str) -> str:
    number = text.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZµ‰ ")
    if number and number != text:
        unit = text[len(number) :].strip()
        raise FieldError(f'"{text}" is in {unit}, not in per cent.', 'Write the share of the whole, as in "0.5 %".')
    return text


Percent = Annotated[
    Decimal, PlainValidator(_percent), WithJsonSchema({"type": ["string", "number"], "examples": ["0.5 %"]})
]


class IngredientRow(ShopModel):
    """One ingredient of an item or of a raw material, with how much of it there is."""

    item: Name = Field(
        description="The item's code, or a raw material as an item's rows write it.", examples=["OH-B01"]
    )
    ingredient: Name = Field(
        description="The ingredient as the label lists it (INCI); brackets tell perfumes apart.",
        examples=["Parfum (clover)"],
    )
    cas: Cas = Field(default="", description="Its CAS number; a fragrance allergen is known by it, else by its name.")
    percent: Percent = Field(description="How much of the item or of the raw material it is.")
