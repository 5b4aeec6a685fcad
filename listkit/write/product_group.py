"""One set in the schema.org vocabulary (release 30.0): a ProductGroup whose variants say what is in them.

Units are common codes of UN/CEFACT Recommendation 20: GRM gram, MMT millimetre, C62 one.
What is not known is left out, so that no value is ever empty.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from listkit.compute.catalog import Piece, WeightFacts
from listkit.listing.cells import LENGTH_PLACES, WEIGHT_PLACES, money_digits
from listkit.listing.listings import Listing, Offer
from listkit.units.weight import Weight
from listkit.write.json_text import Json, number

Node = dict[str, Any]
SCHEMA_ORG: Final = "https://schema.org/"


def product_group(listing: Listing) -> Node:
    """Return the set with all variants that the channel shows."""
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
            "image": [_image(photo.pictures[0].address, photo.alt) for photo in listing.photos if photo.pictures],
            "variesBy": list(listing.slot_names),
            "hasVariant": list(_variants(listing)),
        }
    )


def is_one_piece(listing: Listing) -> bool:
    """Whether the set is one piece without a box, so that its variants are plain products."""
    return listing.facts.box is None and all(
        len(offer.variant.pieces) == 1 and offer.variant.pieces[0].quantity == 1 for offer in listing.offers
    )


def _variants(listing: Listing) -> Iterator[Node]:
    """Yield every variant; a piece that lies in many of them is told by one node."""
    told: dict[tuple[str, int], Node] = {}
    one_piece = is_one_piece(listing)
    for offer in listing.offers:
        pieces = () if one_piece else offer.variant.pieces
        keys = [(piece.item.code, piece.quantity) for piece in pieces]
        told |= {key: _included(piece) for key, piece in zip(keys, pieces, strict=True) if key not in told}
        yield _variant(listing, offer, [told[key] for key in keys])


def _variant(listing: Listing, offer: Offer, included: list[Node]) -> Node:
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
            "image": list(offer.images),
            "additionalProperty": [
                {"@type": "PropertyValue", "name": slot, "value": choice} for slot, choice in chosen
            ],
            "weight": _weight(offer.variant.weights.gift),
            "width": _length(listing.width),
            "height": _length(listing.height),
            "depth": _length(listing.depth),
            "includesObject": included,
            "offers": _offer(listing, offer),
        }
    )


def _included(piece: Piece) -> Node:
    item = piece.item
    good = {
        "@type": "Product",
        "sku": item.code,
        "gtin": item.gtin,
        "name": item.name,
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
