"""The JSON Schemas of the shop's files, so that an editor can help while typing."""

from typing import Any, Final

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
from listkit.model.making import Material, PlanRow, RecipeRow
from listkit.model.packaging import Packaging, Rate
from listkit.model.settings import Settings
from listkit.model.translation import Translation
from listkit.model.wholesale import Stockist, Wholesale

FILES: Final[dict[str, type[BaseModel]]] = {
    "shop.toml": Settings,
    "items.csv": Item,
    "packaging.toml": Packaging,
    "sets/*/set.toml": GiftSet,
    "channels/*.toml": Channel,
    "languages/*.toml": Translation,
    "wholesale.toml": Wholesale,
    "stockists.csv": Stockist,
    "rates.csv": Rate,
    "ingredients.csv": IngredientRow,
    "materials.csv": Material,
    "recipes.csv": RecipeRow,
    "plan.csv": PlanRow,
}


class _WithoutDefaults(GenerateJsonSchema):
    """Our values (weights, money) have no JSON form of their own, so defaults are told in words alone."""

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])


def schema_of(model: type[BaseModel]) -> dict[str, Any]:
    """Return the JSON Schema 2020-12 of one file; a row's for a table."""
    schema = model.model_json_schema(schema_generator=_WithoutDefaults)
    schema["$schema"] = GenerateJsonSchema.schema_dialect
    schema.get("properties", {}).pop("key", None)
    return schema
