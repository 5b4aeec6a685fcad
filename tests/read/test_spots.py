"""Paths through the models come back as the owner wrote them, with neighbours and an example."""

import tomllib
from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, get_args

import pytest
from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.settings import Settings
from listkit.model.wholesale import Wholesale
from listkit.present.schema import FILES
from listkit.problem import KeyPath
from listkit.read.faults import field_of, follow, known_keys


def test_tags_of_kinds_of_entry_are_taken_out_of_the_path() -> None:
    assert follow(GiftSet, ("contents", 0, "item", "item")).loc == ("contents", 0, "item")
    assert follow(GiftSet, ("contents", 2, "slot", "slot")).loc == ("contents", 2, "slot")
    assert follow(GiftSet, ("contents", 1, "slot", "choose", 3, "part")).loc == ("contents", 1, "choose", 3, "part")
    assert follow(Settings, ("checks", "a b", "[key]")).loc == ("checks", "a b")


def test_the_keys_of_the_table_around_are_known_by_their_names_in_the_file() -> None:
    assert follow(GiftSet, ("contents", 0, "item", "itm")).keys == ("item", "quantity")
    assert "season" in known_keys(Settings)
    assert "seasons" not in known_keys(Settings)
    assert "key" not in known_keys(Channel)
    assert field_of(Settings, "season") is Settings.model_fields["seasons"]
    assert follow(Wholesale, ("tier", 0, "from")).description == "from this many"


def test_examples_are_written_as_in_the_file() -> None:
    examples: dict[tuple[type[BaseModel], KeyPath], str] = {
        (GiftSet, ("contents",)): "[[contents]]",
        (GiftSet, ("contents", 0, "slot", "choose")): 'choose = ["OH-B01", "OH-B02"]',
        (GiftSet, ("keywords",)): 'keywords = ["spring gift", "soap set"]',
        (GiftSet, ("code",)): 'code = "OHS-1"',
        (GiftSet, ("card",)): "card = true",
        (GiftSet, ("status",)): 'status = "on sale"',
        (GiftSet, ("message_card",)): "[message_card]",
        (GiftSet, ("message_card", "characters")): "characters = 12",
        (Settings, ("currency",)): 'currency = "GBP"',
        (Settings, ("prices", "tax")): 'tax = "20 %"',
        (Settings, ("items", "columns")): 'columns = { "Our no." = "code" }',
        (Settings, ("season", 0, "on_sale")): "on_sale = 2026-11-01",
        (Channel, ("crop", 0, "format")): 'format = "jpeg"',
        (Channel, ("column", 0, "once")): "once = true",
        (Channel, ("replace",)): 'replace = { "&" = "and" }',
        (Channel, ("file", 0, "column")): "[[file.column]]",
        (Channel, ("file", 0, "dialect")): "[file.dialect]",
    }
    assert {spot: follow(*spot).example for spot in examples} == examples


def keys_below(model: type[BaseModel], seen: set[type[BaseModel]]) -> Iterator[tuple[type[BaseModel], str, FieldInfo]]:
    """Every key of a file and of the tables in it, with its field."""
    seen.add(model)
    for key in known_keys(model):
        field = field_of(model, key)
        assert field is not None
        yield model, key, field
        for inner in sorted(models_in(field.annotation) - seen, key=lambda inner: inner.__name__):
            yield from keys_below(inner, seen)


def models_in(kind: object) -> set[type[BaseModel]]:
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return {kind}
    return {model for part in get_args(kind) for model in models_in(part)}


TOML_FILES = [model for file, model in FILES.items() if file.endswith(".toml")]
EVERY_KEY = [key for file in TOML_FILES for key in keys_below(file, set())]


@pytest.mark.parametrize(("model", "key", "field"), EVERY_KEY, ids=[f"{m.__name__}.{key}" for m, key, _ in EVERY_KEY])
def test_every_example_is_toml_and_taken_by_its_key(model: type[BaseModel], key: str, field: FieldInfo) -> None:
    """Read by the standard library's tomllib, which is no work of ours."""
    example = follow(model, (key,)).example
    value = tomllib.loads(example, parse_float=Decimal)[key]
    if not example.startswith("["):
        kind: Any = field.annotation
        for mark in field.metadata:
            kind = Annotated[kind, mark]
        TypeAdapter(kind).validate_python(value, context={"currency": "GBP"})


def test_a_path_that_leads_nowhere_has_no_example() -> None:
    spot = follow(GiftSet, ("nothing", 3, "here"))
    assert (spot.loc, spot.example, spot.description) == (("nothing", 3, "here"), "", "")
