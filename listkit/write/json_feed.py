"""feed.json: JSON-LD in the schema.org vocabulary (release 30), an OfferCatalog of ProductGroups, with a JSON Schema.

Each variant says what is in the box: a ProductCollection includes so many of each Product. A set that is one piece
without a box is a Product itself. Prices are text with the currency's digits, weights and lengths
numbers in grams and millimetres, named by their UN/CEFACT codes. A line holds one set, so that a large shop
is written and read again one set at a time.
"""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import zip_longest
from pathlib import Path
from typing import Any, Final

from listkit.compute.catalog import Piece, WeightFacts
from listkit.listing.cells import LENGTH_PLACES, WEIGHT_PLACES, money_digits
from listkit.listing.listings import Listing, Listings, Offer
from listkit.listing.photos import photos_folder
from listkit.listing.rows import prices_of, sorted_rows
from listkit.model.channel import Channel
from listkit.model.naming import Naming
from listkit.save.job import File, Job, Recipe, key_of
from listkit.units.weight import Weight
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.json_text import Json, document_fault, in_order, number, read_strictly, readable

# One set in the schema.org vocabulary (release 30.0): a ProductGroup whose variants say what is in them.
#
# Units are common codes of UN/CEFACT Recommendation 20: GRM gram, MMT millimetre, C62 one.
# What is not known is left out, so that no value is ever empty.

Node = dict[str, Any]
SCHEMA_ORG: Final = "https://schema.org/"


def product_group(listing: Listing, photos: str = "") -> Node:
    """Return the set with all variants that the channel shows; its pictures lie at `photos`, seen from the feed."""
    return _known(
        {
            "@type": "ProductGroup",
            "@id": f"#{listing.facts.code}",
            "productGroupID": listing.facts.code,
            "name": listing.title,
            "description": listing.description,
            "keywords": list(listing.keywords),
            "category": listing.facts.source.gift_set.category,
            "brand": _known({"@type": "Brand", "name": listing.brand}),
            "url": listing.address,
            "image": [
                _image(_address(photo.main.address, photos), photo.alt) for photo in listing.photos if photo.main
            ],
            "variesBy": list(listing.slot_names),
            "hasVariant": list(_variants(listing, photos)),
        }
    )


def is_one_piece(listing: Listing) -> bool:
    """Whether the set is one piece without a box, so that its variants are plain products."""
    return listing.facts.box is None and all(
        len(offer.variant.pieces) == 1 and offer.variant.pieces[0].quantity == 1 for offer in listing.offers
    )


def _variants(listing: Listing, photos: str) -> Iterator[Node]:
    """Yield every variant; a piece that lies in many of them is told by one node."""
    told: dict[tuple[str, int], Node] = {}
    one_piece = is_one_piece(listing)
    for offer in listing.offers:
        pieces = () if one_piece else offer.variant.pieces
        keys = [(piece.item.code, piece.quantity) for piece in pieces]
        told |= {
            key: _included(piece, listing.naming) for key, piece in zip(keys, pieces, strict=True) if key not in told
        }
        yield _variant(listing, offer, [told[key] for key in keys], photos)


def _variant(listing: Listing, offer: Offer, included: list[Node], photos: str) -> Node:
    """Return one variant; one that includes nothing is a product of its own."""
    chosen = zip(listing.slot_names, offer.choices, strict=True)
    return _known(
        {
            "@type": "ProductCollection" if included else "Product",
            "sku": offer.variant.code,
            "gtin": offer.variant.gtin,
            "name": offer.name,
            "inProductGroupWithID": listing.facts.code,
            "isVariantOf": {"@id": f"#{listing.facts.code}"},
            "image": [_address(address, photos) for address in offer.images],
            "additionalProperty": [
                {"@type": "PropertyValue", "name": slot, "value": choice} for slot, choice in chosen
            ],
            "weight": _weight(offer.variant.weights.gift),
            "width": _length(offer.width),
            "height": _length(offer.height),
            "depth": _length(offer.depth),
            "includesObject": included,
            "offers": _offer(listing, offer),
        }
    )


def _included(piece: Piece, naming: Naming) -> Node:
    item = piece.item
    good = {
        "@type": "Product",
        "sku": item.code,
        "gtin": item.gtin,
        "name": naming.of(item),
        "size": item.net.text if item.net else "",
        "weight": _weight(item.weight),
    }
    return {
        "@type": "TypeAndQuantityNode",
        "amountOfThisGood": piece.quantity,
        "unitCode": "C62",
        "typeOfGood": _known(good),
    }


def _offer(listing: Listing, offer: Offer) -> Node:
    return _known(
        {
            "@type": "Offer",
            "price": money_digits(offer.variant.prices.price),
            "priceCurrency": listing.currency,
            "priceSpecification": _prior(listing, offer),
            "priceValidUntil": _day(listing.price_until),
            "availability": SCHEMA_ORG + offer.availability,
            "availabilityStarts": _day(listing.on_sale),
            "availabilityEnds": _day(listing.off_sale),
            "inventoryLevel": None if offer.stock is None else _quantity(offer.stock, "C62"),
            "url": listing.address,
            "shippingDetails": _shipping(offer.variant.weights),
        }
    )


def _prior(listing: Listing, offer: Offer) -> Node:
    """Return the price before an announced reduction: schema.org's strikethrough price; nothing without one."""
    if offer.prior is None:
        return {}
    return {
        "@type": "UnitPriceSpecification",
        "priceType": SCHEMA_ORG + "StrikethroughPrice",
        "price": money_digits(offer.prior),
        "priceCurrency": listing.currency,
    }


def _shipping(weights: WeightFacts) -> Node:
    """Return the parcel's weight: on schema.org it stands on OfferShippingDetails, never on the product."""
    return {} if weights.parcel is None else {"@type": "OfferShippingDetails", "weight": _weight(weights.parcel)}


def _address(address: str, photos: str) -> str:
    """Return a picture's address; of one that has none on the web, where it lies, seen from the feed.

    A reference without a scheme is resolved against the document that it stands in (RFC 3986, 5.1).
    """
    return f"{photos}/{address}" if photos and "/" not in address else address


def _image(address: str, alt: str) -> Node:
    return _known({"@type": "ImageObject", "contentUrl": address, "caption": alt})


def _weight(weight: Weight) -> Node:
    return _quantity(number(weight.grams, WEIGHT_PLACES["g"]), "GRM")


def _length(length: Decimal | None) -> Node:
    return {} if length is None else _quantity(number(length, LENGTH_PLACES["mm"]), "MMT")


def _quantity(value: float, unit: str) -> Node:
    return {"@type": "QuantitativeValue", "value": value, "unitCode": unit}


def _day(day: object) -> Json:
    return None if day is None else str(day)


def _known(node: Node) -> Node:
    """Return the node without what is not known: nothing, empty text, empty lists and nodes."""
    kept = {name: value for name, value in node.items() if value not in (None, "", [], {})}
    return kept if len(kept) > 1 else {}


# The JSON Schema (draft 2020-12) of feed.json: what a program that reads it may rely on.
#
# Closed: a name that is not listed is a fault. Money is text, because `multipleOf` cannot be checked on
# binary numbers. A day is text in the form of RFC 3339 full-date.

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


def _quantity_schema(*units: str, whole: bool = False) -> Json:
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
    "inventoryLevel": _quantity_schema("C62", whole=True),
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
        "weight": _quantity_schema("GRM"),
        "length": _quantity_schema("MMT"),
        "gtin": {"type": "string", "pattern": "^([0-9]{8}|[0-9]{12,14})$"},
    },
}


Listed = tuple[Listing, ...]
END: Final = "]}"


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield feed.json and feed.schema.json for every channel that takes a JSON feed."""
    for channel, own in listings.by_channel():
        if "feed" in channel.make and channel.feed == "json":
            shop = listings.catalog.shop
            arguments = (channel, own, shop.settings.name, photos_folder(channel, shop))
            feed = File(
                f"{channel.key}/feed.json",
                stream_key(offer_catalog(*arguments), context.version),
                codes_of(own),
                prices_of(own, "variant"),
                channel=channel.key,
                verify=verify_catalog,
            )
            schema_key = key_of(context.version, readable(FEED_SCHEMA))
            schema = File(f"{channel.key}/feed.schema.json", schema_key, channel=channel.key, verify=verify_schema)
            yield Job(write_catalog, arguments, (feed,))
            yield Job(write_schema, (), (schema,))


def offer_catalog(channel: Channel, listed: Listed, shop: str, photos: str) -> Iterator[str]:
    """Yield the lines of the catalog: what it is, a line a set in the channel's order, its end."""
    rows = ((listing, listing.offers) for listing in listed if listing.offers)
    shown = tuple(
        listing if offers is listing.offers else replace(listing, offers=offers)
        for listing, offers in sorted_rows(rows, channel.sort, together=True)
    )
    yield _opening(channel, shown, shop)
    for place, listing in enumerate(shown, 1):
        yield in_order(product_group(listing, photos)) + ("," if place < len(shown) else "")
    yield END


def _opening(channel: Channel, shown: Listed, shop: str) -> str:
    head: Json = {
        "@context": "https://schema.org",
        "@type": "OfferCatalog",
        "name": f"{shop}: {channel.name}",
        "numberOfItems": len(shown),
        "itemListElement": [],
    }
    return in_order(head).removesuffix(END)


def write_catalog(channel: Channel, listed: Listed, shop: str, photos: str, paths: tuple[Path, ...]) -> None:
    """Write the feed, a set at a time: a recipe."""
    with paths[0].open("w", encoding="utf-8", newline="") as file:
        for line in offer_catalog(channel, listed, shop, photos):
            file.write(line + "\n")


def verify_catalog(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is JSON without a name twice, and holds what is computed afresh."""
    try:
        with path.open(encoding="utf-8", newline="\n") as file:
            for number, (found, wanted) in enumerate(zip_longest(file, offer_catalog(*inputs)), 1):
                if found is None or wanted is None:
                    return f"line {number} is {'missing' if found is None else 'too many'}."
                if fault := _line_fault(found, wanted):
                    return f"line {number} {fault}"
    except ValueError as fault:
        return f"it is no JSON: {fault}."
    return ""


def _line_fault(line: str, wanted: str) -> str:
    """Return what is wrong with a line: each is a document of its own, but for the brackets that span all lines."""
    if line != wanted + "\n":
        return "does not hold what was asked for."
    text = wanted + END if wanted.endswith("[") else wanted.removesuffix(",")
    if wanted != END and not isinstance(read_strictly(text), dict):
        return "is no object."
    return ""


def write_schema(paths: tuple[Path, ...]) -> None:
    """Write the JSON Schema: a recipe."""
    paths[0].write_text(readable(FEED_SCHEMA), encoding="utf-8", newline="")


def verify_schema(path: Path, _recipe: Recipe, _inputs: tuple[object, ...]) -> str:
    """Return "" when the file holds the JSON Schema, else what is wrong."""
    return document_fault(path, FEED_SCHEMA)
