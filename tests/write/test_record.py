"""Tests of the record: every fact of every row, in canonical form."""

import json
import unicodedata
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from listkit.fields import FIELDS
from listkit.listing.listings import Listing
from listkit.write import record
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings, own

rfc8785 = pytest.importorskip("rfc8785", reason="rfc8785 is not installed: records are not compared")
FIRST, BAR = own(channel())


def rows(*sets: Listing, mode: str = "variant") -> list[dict[str, Any]]:
    return [json.loads(line) for line in record.records(sets or (FIRST, BAR), mode)]


def test_every_line_is_canonical_by_rfc_8785() -> None:
    for line in record.records((FIRST, BAR), "listing, then variants"):
        assert line.encode() == rfc8785.dumps(json.loads(line))


def test_a_row_holds_facts_in_their_own_units_whatever_the_dialect() -> None:
    row = rows()[0]
    expected: dict[str, Any] = {
        "sku": "OHS-1-M02-L01", "price": "23.50", "weight": 275.4, "parcelWeight": 363.4, "width": 166,
        "priceValidUntil": "2027-05-10", "inventoryLevel": 12, "keywords": ["spring gift", "honey"],
        "choice": ["Clover & Cream body butter", "Linden, Oat lip balm"], "itemCodes": ["OH-B01", "OH-M02", "OH-L01"],
        "shelfLife": 18, "gtin": "9520123456788", "lowestPrice": "23.50", "highestPrice": "25.50",
    }  # fmt: skip
    assert {name: row[name] for name in expected} == expected


def test_names_are_fields_and_what_is_not_known_is_left_out() -> None:
    first, *_, bar = rows()
    unknown = {"ingredients", "fragranceAllergens", "netDeclaration", "pricePerMeasure", "priorPrice", "figuresOf"}
    unknown |= {"manufacturer", "email"}
    unknown |= {"opening", "story", "allChoices", "cardAndBox", "care"}  # blocks that no column of this channel names
    assert first.keys() | unknown == FIELDS.keys()
    assert not first.keys() & unknown
    assert "gtin" in bar
    assert not {"width", "parcelWeight", "priceValidUntil", "slot", "choice", "box", "theme"} & bar.keys()


def test_a_stock_of_nothing_is_a_fact() -> None:
    sold = replace(BAR, offers=(replace(BAR.offers[0], stock=0),))
    assert rows(sold)[0]["inventoryLevel"] == 0


def test_equal_texts_are_equal_bytes_however_their_accents_are_spelt() -> None:
    """Unicode Standard Annex 15: form NFC."""
    names = [unicodedata.normalize(form, "Café crème") for form in ("NFC", "NFD")]
    lines = [list(record.records((replace(BAR, title=name),), "variant")) for name in names]
    assert names[0] != names[1]
    assert lines[0] == lines[1]


def test_a_record_has_the_rows_of_the_channel() -> None:
    assert [row["sku"] for row in rows(mode="listing")] == ["OHS-1", "OHS-2"]


def test_every_channel_has_a_record_whatever_it_makes(tmp_path: Path) -> None:
    made = listings(channel("a"), channel("b", make=["price list"]))
    jobs = list(record.write(made, WriteContext("1")))
    assert [file.path for job in jobs for file in job.files] == ["a/record.jsonl", "b/record.jsonl"]
    path = tmp_path / "record.jsonl"
    jobs[0].recipe(*jobs[0].inputs, (path,))
    assert record.verify_record(path, jobs[0].recipe, jobs[0].inputs) == ""
    path.write_bytes(path.read_bytes().replace(b'"23.50"', b'"23.51"', 1))
    assert record.verify_record(path, jobs[0].recipe, jobs[0].inputs) == "line 1 is not the one that was asked for."
