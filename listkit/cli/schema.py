"""`listkit schema`: the JSON Schemas of the shop's files, so that an editor can help while typing."""

import argparse
import json
from typing import Any, Final

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
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
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("file", nargs="?", default="", metavar="FILE", help=f"one of {', '.join(FILES)}")
    parser.add_argument("--json", action="store_true", help="the schemas are JSON in any case")


def run(args: argparse.Namespace) -> int:
    """Print one schema, or all in one object by file; 2 when there is no such file."""
    if args.file and args.file not in FILES:
        print(f'There is no file "{args.file}". There are: {", ".join(FILES)}.')
        return 2
    schemas = {file: schema_of(model) for file, model in FILES.items() if args.file in ("", file)}
    print(json.dumps(schemas[args.file] if args.file else schemas, indent=2, ensure_ascii=False))
    return 0


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
