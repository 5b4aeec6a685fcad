"""Tests of one set in the schema.org vocabulary."""

from dataclasses import replace

from listkit.write.json_feed import is_one_piece, product_group
from tests.write.two_sets import channel, own

FIRST, BAR = own(channel())


def test_a_variant_says_what_is_in_the_box_and_how_often() -> None:
    variant = product_group(FIRST)["hasVariant"][0]
    assert variant["@type"] == "ProductCollection"
    assert [(one["amountOfThisGood"], one["typeOfGood"]["sku"]) for one in variant["includesObject"]] == [
        (1, "OH-B01"),
        (1, "OH-M02"),
        (2, "OH-L01"),
    ]
    assert variant["includesObject"][0]["typeOfGood"] == {
        "@type": "Product",
        "sku": "OH-B01",
        "gtin": "9520000010003",
        "name": "Rosemary & Rind bar soap",
        "size": "110 g",
        "weight": {"@type": "QuantitativeValue", "value": 119, "unitCode": "GRM"},
    }


def test_an_offer_has_the_price_as_text_and_the_parcels_weight_in_its_shipping_details() -> None:
    """UN/CEFACT Recommendation 20: GRM is the gram, C62 one."""
    assert product_group(FIRST)["hasVariant"][0]["offers"] == {
        "@type": "Offer",
        "price": "23.50",
        "priceCurrency": "GBP",
        "priceValidUntil": "2027-05-10",
        "availability": "https://schema.org/InStock",
        "availabilityStarts": "2027-02-15",
        "availabilityEnds": "2027-05-10",
        "inventoryLevel": {"@type": "QuantitativeValue", "value": 12, "unitCode": "C62"},
        "url": "https://ottermarl.example/first-nectar",
        "shippingDetails": {
            "@type": "OfferShippingDetails",
            "weight": {"@type": "QuantitativeValue", "value": 363.4, "unitCode": "GRM"},
        },
    }


def test_a_group_varies_by_its_slots_and_each_variant_names_its_choices() -> None:
    group = product_group(FIRST)
    assert group["variesBy"] == ["Jar", "Balm"]
    assert [(one["name"], one["value"]) for one in group["hasVariant"][3]["additionalProperty"]] == [
        ("Jar", "Ginger & Propolis body butter"),
        ("Balm", "Café crème lip balm"),
    ]
    assert {one["inProductGroupWithID"] for one in group["hasVariant"]} == {group["productGroupID"]}
    assert {one["isVariantOf"]["@id"] for one in group["hasVariant"]} == {group["@id"]}


def test_one_piece_without_a_box_is_a_product_itself() -> None:
    assert is_one_piece(BAR)
    [variant] = product_group(BAR)["hasVariant"]
    assert variant["@type"] == "Product"
    assert "includesObject" not in variant
    assert not is_one_piece(FIRST)


def test_two_of_one_piece_without_a_box_are_a_collection() -> None:
    [offer] = BAR.offers
    two = replace(offer.variant, pieces=(replace(offer.variant.pieces[0], quantity=2),))
    [variant] = product_group(replace(BAR, offers=(replace(offer, variant=two),)))["hasVariant"]
    assert variant["@type"] == "ProductCollection"


def test_what_is_not_known_is_left_out() -> None:
    [variant] = product_group(replace(BAR, address="", photos=()))["hasVariant"]
    offer = variant["offers"]
    assert not {"width", "height", "depth", "additionalProperty"} & variant.keys()
    assert not {"url", "priceValidUntil", "shippingDetails", "availabilityEnds"} & offer.keys()
    uncounted = replace(BAR.offers[0], stock=None)
    [variant] = product_group(replace(BAR, offers=(uncounted,)))["hasVariant"]
    assert "inventoryLevel" not in variant["offers"]


def test_a_sold_out_variant_has_a_stock_of_nothing_which_is_known() -> None:
    sold = replace(BAR.offers[0], stock=0, availability="OutOfStock")
    [variant] = product_group(replace(BAR, offers=(sold,)))["hasVariant"]
    assert variant["offers"]["inventoryLevel"]["value"] == 0
    assert variant["offers"]["availability"] == "https://schema.org/OutOfStock"
