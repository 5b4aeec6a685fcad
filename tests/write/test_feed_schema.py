"""Tests of the JSON Schema itself: it is closed, and every name it points at is there."""

from collections.abc import Iterator
from typing import Any

from listkit.write.json_feed import FEED_SCHEMA


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
    for part in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from nodes(part)


def test_no_object_takes_a_name_that_is_not_listed() -> None:
    objects = [node for node in nodes(FEED_SCHEMA) if node.get("type") == "object"]
    assert len(objects) > 10
    assert all(node["additionalProperties"] is False for node in objects)


def test_every_required_name_is_listed_and_every_reference_leads_somewhere() -> None:
    assert isinstance(FEED_SCHEMA, dict)
    for node in nodes(FEED_SCHEMA):
        if node.get("type") == "object":
            assert set(node["required"]) <= node["properties"].keys()
        if isinstance(node.get("$ref"), str):
            assert node["$ref"].removeprefix("#/$defs/") in FEED_SCHEMA["$defs"]
