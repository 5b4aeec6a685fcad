"""Price cards: what other programs read on them, and what is told when they are too small."""

import re
import subprocess
from collections import Counter
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, Variant
from listkit.listing.build import build_listings
from listkit.listing.cards import card_paper
from listkit.listing.listings import Listings, OnDay
from listkit.problem import FieldError
from listkit.read.shop import read_shop
from listkit.units.spoken import money_text
from listkit.write.labels import write_cards
from tests.shops import CLEAN, clean_shop
from tests.write.pages import NO_POPPLER, POPPLER, QPDF, barcodes_of, text_of, words_of
from tests.write.printed import CONTEXT, clean_catalog, printed_by

TWO_BARS = """code = "RRS-1"
name = "Two bars"
theme = "One for each hand."
season = "spring"
box = "S"

[[contents]]
item = "RR-B1"
quantity = 2
"""
catalog_of, printed = partial(clean_catalog, "cards"), partial(printed_by, write_cards)
needs_poppler = pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)


def one_a_variant(demo: Listings) -> Catalog:
    """Return the demo as it asks for a card for each variant."""
    shop = demo.catalog.shop
    assert shop.settings.cards is not None
    cards = shop.settings.cards.model_copy(update={"each": "variant"})
    settings = shop.settings.model_copy(update={"cards": cards})
    return replace(demo.catalog, shop=replace(shop, settings=settings))


def on_sale(demo: Listings) -> list[Variant]:
    """Return the variants of the demo of which there are any."""
    return [one for facts in demo.catalog.listed for one in facts.variants if one.can_make != 0]


@pytest.fixture(scope="module")
def demo_cards(demo: Listings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's cards, one a variant."""
    return printed(one_a_variant(demo), tmp_path_factory.mktemp("cards") / "price-cards.pdf")


@needs_poppler
def test_every_variant_has_a_card_with_its_price_and_what_is_inside(demo: Listings, demo_cards: Path) -> None:
    words = text_of(demo_cards)
    prices = Counter(word.text for word in words_of(demo_cards))
    prices -= Counter(re.findall(r"(\S+) per ", words))  # what a unit costs is no price of a card
    expected: Counter[str] = Counter()
    for one in on_sale(demo):
        assert f"No. {one.code}" in words
        expected[money_text(one.price.amount, "GBP", "en-GB")] += 1
        for piece in one.pieces:
            assert f"{piece.item.name} {piece.item.form}" in words
    assert "OHS-7-B05" not in words  # Mélilot & Rye, of which there is none
    assert {price: prices[price] for price in expected} == dict(expected)


@needs_poppler
def test_a_reader_finds_every_number_on_the_cards(demo: Listings, demo_cards: Path, tmp_path: Path) -> None:
    stated = [one.gtin for one in on_sale(demo) if one.gtin]
    assert Counter(barcodes_of(demo_cards, tmp_path)) == Counter(stated)


@pytest.mark.skipif(QPDF is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault(demo_cards: Path) -> None:
    ended = subprocess.run([str(QPDF), "--check", str(demo_cards)], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr) == (0, "")


def test_the_same_cards_have_the_same_bytes(demo: Listings, demo_cards: Path, tmp_path: Path) -> None:
    assert printed(one_a_variant(demo), tmp_path / "again.pdf").read_bytes() == demo_cards.read_bytes()


def test_a_set_whose_options_cost_the_same_has_one_card_and_another_one_for_each(demo: Listings) -> None:
    """Of the demo: First Nectar costs 27.00 and 29.00, Pocket Hive 19.50 whatever is chosen."""
    (job,) = write_cards(demo, CONTEXT)
    paper = card_paper(demo)
    assert paper is not None
    expected = []
    for facts in demo.catalog.listed:
        bought = [one for one in facts.variants if one.can_make != 0]
        alike = len(bought) > 1 and len({one.price for one in bought}) == 1
        expected += [facts.code] if alike else [one.code for one in bought]
    assert [text.code for text in paper.texts] == expected
    assert {"OHS-6", "OHS-1-S03", "OHS-1-U01"} < set(expected)
    assert set(expected) < set(job.files[0].codes)


@needs_poppler
def test_all_cards_have_one_size_of_type_and_the_brand(demo: Listings, tmp_path: Path) -> None:
    pdf = printed(demo.catalog, tmp_path / "a.pdf")
    paper = card_paper(demo)
    assert paper is not None
    words = [word for word in words_of(pdf) if word.page > 1]
    assert sum(word.text == "Ottermarl" for word in words) == len(paper.texts) + max(word.page for word in words) - 1
    prices = {text.amount for text in paper.texts}
    high = {round(word.bottom - word.top, 1) for word in words if word.text in prices and word.bottom - word.top > 14}
    assert len(high) == 1


@needs_poppler
def test_a_card_of_a_set_tells_its_options_with_their_prices_where_they_differ(tmp_path: Path) -> None:
    dearer = (("RR-J2,Water Mint,body butter,100 ml,9.00", "RR-J2,Water Mint,body butter,100 ml,11.00"),)
    pdf = printed(catalog_of(tmp_path / "shop", 'each = "set"', items=dearer), tmp_path / "a.pdf")
    words = text_of(pdf)
    (before,) = [word for word in words_of(pdf) if word.text == "from"]
    (price,) = [word for word in words_of(pdf) if word.text == "£16.50" and word.bottom - word.top > 6]
    assert before.right < price.left
    assert before.bottom - before.top < 0.5 * (price.bottom - price.top)
    assert "Jar: Willow Bark body butter £16.50, Water Mint body butter £18.50" in words
    equal = text_of(printed(catalog_of(tmp_path / "equal", 'each = "set"'), tmp_path / "b.pdf"))
    assert "from £" not in equal
    assert "Jar: Willow Bark body butter, Water Mint body butter" in equal


@needs_poppler
def test_the_price_of_a_unit_is_told_where_one_can_be(tmp_path: Path) -> None:
    """A set of unlike pieces has none; two bars of soap of 100 g at 13.00 and an uplift of 1.00 cost 7.00 per 100 g."""
    catalog = catalog_of(tmp_path / "shop", "unit_price = {}", files={"sets/dawn/set.toml": TWO_BARS})
    assert "£7.00 per 100 g" in text_of(printed(catalog, tmp_path / "a.pdf"))
    unlike = text_of(printed(catalog_of(tmp_path / "unlike", "unit_price = {}"), tmp_path / "b.pdf"))
    assert "per 100" not in unlike


@needs_poppler
def test_cards_of_a_channel_show_its_lowered_prices(tmp_path: Path) -> None:
    """Half of 16.50 for a time; the catalog keeps the usual price."""
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    stall = next((CLEAN / "channels").glob("*.toml")).stem
    lowered = '[[reduction]]\nname = "Spring"\nfrom = 2027-03-01\nuntil = 2027-03-31\nby = "50 %"\n'
    files = {"shop.toml": f'{settings}\n\n[cards]\nchannel = "{stall}"\n\n{lowered}'}
    catalog = catalog_of(tmp_path / "shop", "", files=files)
    listings = build_listings(catalog, OnDay(date(2027, 3, 10)))
    (job,) = write_cards(listings, CONTEXT)
    job.recipe(*job.arguments, (tmp_path / "a.pdf",))
    assert "£8.25" in text_of(tmp_path / "a.pdf")


def test_a_card_of_a_set_speaks_of_the_set_and_all_its_variants(tmp_path: Path) -> None:
    (job,) = write_cards(Listings(catalog_of(tmp_path, 'each = "set"'), ()), CONTEXT)
    assert job.files[0].codes == ("RRS-1", "RRS-1-J1", "RRS-1-J2")


def test_a_card_that_cannot_hold_its_text_says_how_much_is_missing(tmp_path: Path) -> None:
    with pytest.raises(FieldError) as fault:
        printed(catalog_of(tmp_path / "shop", 'size = "60 x 12 mm"'), tmp_path / "a.pdf")
    assert fault.value.message.startswith("a card of this size cannot hold its text")
    needed = int(fault.value.hint.partition("at least ")[2].partition(" mm high")[0])
    assert "faces" not in fault.value.hint
    printed(catalog_of(tmp_path / "enough", f'size = "60 x {needed + 5} mm"'), tmp_path / "b.pdf")


@needs_poppler
def test_the_test_page_draws_a_ruler_and_an_outline_for_each_card(demo_cards: Path) -> None:
    first = " ".join(word.text for word in words_of(demo_cards) if word.page == 1)
    assert "Test page for Price cards" in first
    assert "88 mm × 56 mm" in first
    assert "This line is 150 mm long." in first


def test_without_settings_there_are_no_cards(tmp_path: Path) -> None:
    shop, _ = read_shop(clean_shop(tmp_path))
    assert list(write_cards(Listings(build_catalog(shop), ()), CONTEXT)) == []


@pytest.mark.parametrize(("channels", "price"), [("", "£14.85"), ('channels = ["stall"]\n', "£16.50")])
def test_a_card_follows_a_reduction_that_all_channels_have(tmp_path: Path, channels: str, price: str) -> None:
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    sale = f'\n[[reduction]]\nfrom = 2027-03-01\nuntil = 2027-03-07\nby = "10 %"\n{channels}\n[cards]\n'
    fair = 'name = "Fair"\nmake = ["price list"]\n'
    shop, _ = read_shop(clean_shop(tmp_path, {"shop.toml": settings + sale, "channels/fair.toml": fair}))
    (job,) = write_cards(build_listings(build_catalog(shop), OnDay(date(2027, 3, 2))), CONTEXT)
    assert price in str(job.arguments)


@needs_poppler
def test_a_long_word_is_set_smaller_and_runs_over_no_neighbour(tmp_path: Path) -> None:
    long = "Ringelblumengeschenkschachtel"
    set_file = (CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8")
    named = re.sub(r'(?m)^name = ".*"', f'name = "{long}"', set_file, count=1)
    catalog = catalog_of(tmp_path / "shop", 'size = "88 x 56 mm"', files={"sets/dawn/set.toml": named})
    words = [word for word in words_of(printed(catalog, tmp_path / "a.pdf")) if word.text == long]
    assert words
    assert all(word.right - word.left <= 88 - 2 * 4 + 0.01 for word in words)
