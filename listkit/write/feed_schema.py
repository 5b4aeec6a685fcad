"""The JSON Schema (draft 2020-12) of feed.json: what a program that reads it may rely on.

Closed: a name that is not listed is a fault. Money is text, because `multipleOf` cannot be checked on
binary numbers. A day is text in the form of RFC 3339 full-date.
"""

from typing import Final

from listkit.write.json_text import Json

_TEXT: Final[Json] = {"type": "string", "minLength": 1}
_DAY: Final[Json] = {"type": "string", "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
_TEXTS: Final[Json] = {"type": "array", "items": _TEXT, "minItems": 1}


def _object(kind: str, required: str, **properties: Json) -> Json:
    """Return the schema of a node; `required` lists its names beside @type."""
    return {
        "type": "object",
        "properties": {"@type": {"const": kind}, **properties},
        "required": ["@type", *required.split()],
        "additionalProperties": False,
    }


def _listed(name: str) -> Json:
    return {"type": "array", "items": _of(name), "minItems": 1}


def _of(name: str) -> Json:
    return {"$ref": f"#/$defs/{name}"}


def _quantity(*units: str, whole: bool = False) -> Json:
    value: Json = {"type": "integer" if whole else "number", "minimum": 0}
    return _object("QuantitativeValue", "value unitCode", value=value, unitCode={"enum": list(units)})


_GROUP: Final = {
    "@id": _TEXT,
    "productGroupID": _TEXT,
    "name": _TEXT,
    "description": _TEXT,
    "keywords": _TEXTS,
    "category": _TEXT,
    "brand": _object("Brand", "name", name=_TEXT),
    "url": _TEXT,
    "image": _listed("image"),
    "variesBy": _TEXTS,
    "hasVariant": {"type": "array", "items": {"oneOf": [_of("collection"), _of("product")]}, "minItems": 1},
}
_PRODUCT: Final = {
    "sku": _TEXT,
    "gtin": _of("gtin"),
    "name": _TEXT,
    "inProductGroupWithID": _TEXT,
    "isVariantOf": {
        "type": "object",
        "properties": {"@id": _TEXT},
        "required": ["@id"],
        "additionalProperties": False,
    },
    "image": _TEXTS,
    "additionalProperty": _listed("choice"),
    "weight": _of("weight"),
    "width": _of("length"),
    "height": _of("length"),
    "depth": _of("length"),
    "offers": _of("offer"),
}
_OFFER: Final = {
    "price": {"type": "string", "pattern": r"^[0-9]+(\.[0-9]{1,4})?$"},
    "priceCurrency": {"type": "string", "pattern": "^[A-Z]{3}$"},
    "priceSpecification": _object(
        "UnitPriceSpecification",
        "priceType price priceCurrency",
        priceType={"const": "https://schema.org/StrikethroughPrice"},
        price={"type": "string", "pattern": r"^[0-9]+(\.[0-9]{1,4})?$"},
        priceCurrency={"type": "string", "pattern": "^[A-Z]{3}$"},
    ),
    "priceValidUntil": _DAY,
    "availability": {"type": "string", "pattern": "^https://schema\\.org/[A-Z][A-Za-z]+$"},
    "availabilityStarts": _DAY,
    "availabilityEnds": _DAY,
    "inventoryLevel": _quantity("C62", whole=True),
    "url": _TEXT,
    "shippingDetails": _object("OfferShippingDetails", "weight", weight=_of("weight")),
}
_GOOD: Final = {"sku": _TEXT, "gtin": _of("gtin"), "name": _TEXT, "size": _TEXT, "weight": _of("weight")}
_PRODUCT_NEEDS: Final = "sku name inProductGroupWithID isVariantOf weight offers"

FEED_SCHEMA: Final[Json] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Feed of gift sets in the schema.org vocabulary",
    **_object(
        "OfferCatalog",
        "@context name numberOfItems itemListElement",
        **{"@context": {"const": "https://schema.org"}},
        name=_TEXT,
        numberOfItems={"type": "integer", "minimum": 0},
        itemListElement={"type": "array", "items": _of("group")},
    ),  # type: ignore[dict-item]
    "$defs": {
        "group": _object("ProductGroup", "@id productGroupID name hasVariant", **_GROUP),
        "collection": _object(
            "ProductCollection", f"{_PRODUCT_NEEDS} includesObject", **_PRODUCT, includesObject=_listed("included")
        ),
        "product": _object("Product", _PRODUCT_NEEDS, **_PRODUCT),
        "included": _object(
            "TypeAndQuantityNode",
            "amountOfThisGood unitCode typeOfGood",
            amountOfThisGood={"type": "integer", "minimum": 1},
            unitCode={"const": "C62"},
            typeOfGood=_object("Product", "sku name weight", **_GOOD),
        ),
        "offer": _object("Offer", "price priceCurrency availability", **_OFFER),
        "image": _object("ImageObject", "contentUrl", contentUrl=_TEXT, caption=_TEXT),
        "choice": _object("PropertyValue", "name value", name=_TEXT, value=_TEXT),
        "weight": _quantity("GRM"),
        "length": _quantity("MMT"),
        "gtin": {"type": "string", "pattern": "^([0-9]{8}|[0-9]{12,14})$"},
    },
}
