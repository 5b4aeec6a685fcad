"""Reads JSON as listkit writes it: a catalog in the schema.org vocabulary, or JSON Lines under a channel's headings.

A row is facts by name, each as text: lists joined as a feed's cell has them. Weights are grams and
lengths millimetres, unless the node names another unit; then the unit stands with the number.
"""

import json
from collections.abc import Iterator
from typing import Any, Final

from listkit.problem import FieldError
from listkit.units.table import UNITS

BETWEEN: Final = "; "
"""What stands between the members of a list."""
SCHEMA_ORG: Final = "https://schema.org/"
# UN/CEFACT Recommendation 20, common codes.
_PIECE: Final = {"C62": ""}
_UNITS: Final = _PIECE | {unit.code: "" if unit.size == 1 else f" {unit.sign}" for unit in UNITS if unit.code}
_DEEPEST: Final = 40
_AGAIN: Final = "Export it again."


def read_json_lines(text: str) -> list[dict[str, str]]:
    """Return the rows of JSON Lines.

    Raises:
        FieldError: a line is no JSON object; a last one cut short says that the export breaks off.
    """
    rows = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip():
            row = _loaded(line, f"line {number} is no JSON object; does the export break off there?")
            if not isinstance(row, dict):
                raise FieldError(f"line {number} is no JSON object.", _AGAIN)
            rows.append({name: fact_text(value) for name, value in row.items()})
    return rows


def read_json(text: str) -> list[dict[str, str]]:
    """Return a row for every product that has a sku, but for those that lie in another.

    Raises:
        FieldError: it is no JSON, or holds none.
    """
    document = _loaded(text, "it is no JSON; does the export break off?")
    rows = [_product(node, group) for node, group in _products(document, {}, 0)]
    if not rows:
        raise FieldError("it holds no product with a sku.", "Is it the right file?")
    return rows


def _loaded(text: str, message: str) -> Any:  # noqa: ANN401 (any JSON)
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise FieldError(message, _AGAIN) from fault


def fact_text(value: Any) -> str:  # noqa: ANN401 (any JSON)
    """Return a fact as text: lists joined, a quantity's number with its unit, nothing as ""."""
    if isinstance(value, list):
        return BETWEEN.join(fact_text(one) for one in value)
    if isinstance(value, dict):
        return _quantity(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else str(value)


def _quantity(node: dict[str, Any]) -> str:
    if "value" not in node:
        return fact_text(node.get("name", ""))
    unit = str(node.get("unitCode", ""))
    return fact_text(node["value"]) + _UNITS.get(unit, f" {unit}")


def _products(node: Any, group: dict[str, Any], depth: int) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:  # noqa: ANN401 (any JSON)
    if depth > _DEEPEST:
        raise FieldError("it is nested too deeply.", "Is it the right file?")
    if isinstance(node, list):
        for one in node:
            yield from _products(one, group, depth + 1)
    elif isinstance(node, dict):
        if "sku" in node:
            yield node, group
            return
        inner = node if "productGroupID" in node else group
        for one in node.values():
            yield from _products(one, inner, depth + 1)


def _product(node: dict[str, Any], group: dict[str, Any]) -> dict[str, str]:
    """Return one variant's facts under our names."""
    offer = _node(node.get("offers"))
    brand = _node(group.get("brand", node.get("brand")))
    shipping = _node(offer.get("shippingDetails"))
    chosen = [_node(one) for one in node.get("additionalProperty") or () if isinstance(one, dict)]
    facts = {name: node.get(name) for name in ("sku", "gtin", "name", "image", "weight", "width", "height", "depth")}
    facts |= {name: group.get(name) for name in ("description", "keywords", "url", "category")}
    facts |= {
        name: offer.get(name)
        for name in ("price", "priceCurrency", "priceValidUntil", "availabilityStarts", "availabilityEnds")
    }
    facts |= {
        "inProductGroupWithID": node.get("inProductGroupWithID", group.get("productGroupID")),
        "title": group.get("name"),
        "brand": brand.get("name"),
        "availability": fact_text(offer.get("availability")).removeprefix(SCHEMA_ORG),
        "inventoryLevel": offer.get("inventoryLevel"),
        "parcelWeight": shipping.get("weight"),
        "slot": [one.get("name") for one in chosen],
        "choice": [one.get("value") for one in chosen],
    }
    return {name: fact_text(value) for name, value in facts.items()}


def _node(value: Any) -> dict[str, Any]:  # noqa: ANN401 (any JSON)
    if isinstance(value, list) and value:
        value = value[0]
    return value if isinstance(value, dict) else {}
