"""What the pieces of a variant are made with: allergens that all hold, nuts, bees and the like."""

from typing import Any

from listkit.cli.table import table
from listkit.compute.catalog import Variant
from listkit.compute.ingredients import all_allergens, by_name, named_allergens, origins_of, shared_allergens
from listkit.model.shop import Shop


def made_with_text(one: Variant, shop: Shop) -> str:
    """Return a line for what all products with ingredients name, and one for each thing people ask for; "" for none."""
    items = tuple(piece.item for piece in one.pieces)
    rows = [[f"made with {of.key}", ", ".join(item.code for item in of.items)] for of in origins_of(items)]
    if shared := shared_allergens(items, by_name(all_allergens(shop))):
        rows.insert(0, ["all hold", ", ".join(shared)])
    return table(rows) if rows else ""


def made_with_json(one: Variant, shop: Shop) -> dict[str, Any]:
    """Return the same by item code, and the fragrance allergens that the ingredients of any piece name."""
    items = tuple(piece.item for piece in one.pieces)
    known = by_name(all_allergens(shop))
    return {
        "allergens": list(dict.fromkeys(name for item in items for name in named_allergens(item, known))),
        "shared_allergens": list(shared_allergens(items, known)),
        "made_with": {of.key: [item.code for item in of.items] for of in origins_of(items)},
    }
