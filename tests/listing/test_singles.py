"""Single pieces in words: their own name in every language, nothing of a set, and the owner's story of the piece."""

import shutil

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listing
from listkit.read.shop import read_shop
from tests.read.test_singles import picture
from tests.shops import DEMO


@pytest.fixture(scope="module")
def pieces(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Listing]:
    """The demo's single pieces by channel and code, listed everywhere."""
    folder = tmp_path_factory.mktemp("singles") / "shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "*.jpg"))
    stall = folder / "channels/stall.toml"
    stall.write_text(stall.read_text(encoding="utf-8").partition("\n[singles]")[0], encoding="utf-8")
    files = {"photos/items/OH-L01.png": picture(), "photos/items/OH-L01-2.png": picture(200)}
    files["items/OH-L01.md"] = b"A balm of {{ shop.name }}: {{ items }}, {{ count }} in a tube, {{ set.name }}.\n"
    files["items/OH-L01.fr.md"] = b"Un baume.\n"
    files["shop.toml"] = (DEMO / "shop.toml").read_bytes() + b"\n[singles]\n"
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    shop, problems = read_shop(folder)
    assert {problem.code for problem in problems} == {"single-is-set", "file-missing"}, "the sets' pictures alone"
    listings = build_listings(build_catalog(shop))
    own = [problem for problem in listings.problems if "frost-on-the-panes" not in problem.place.file]
    assert own == [], "the demo's draft has no story in French"
    return {(each.channel.key, each.facts.code): each for each in listings if each.facts.is_single}


def test_titles_are_name_and_form_in_the_place_s_own_words(pieces: dict[tuple[str, str], Listing]) -> None:
    titles = {key: listing.title for key, listing in pieces.items()}
    assert titles["web_shop", "OH-L01"] == "Mint & Wax lip balm"
    assert titles["hedgerow_fair", "OH-L01"] == "Mint and Wax lip balm"
    assert titles["web_shop_fr", "OH-L01"] == "Baume à lèvres Menthe & Cire"
    assert titles["web_shop", "OH-T01"] == "Hive Hand balm, honey scent"


def test_no_text_of_a_piece_speaks_of_a_set_a_box_or_several(pieces: dict[tuple[str, str], Listing]) -> None:
    for listing in pieces.values():
        words = f"{listing.title} {listing.plain} {' '.join(listing.alts)}".lower()
        for strange in (
            "gift set",
            "gift box",
            "what is inside",
            "message card",
            "all of them",
            "coffret",
            "what keeps least",
        ):
            assert strange not in words, (listing.facts.code, strange)
        assert (listing.facts.source.gift_set.season, listing.offers[0].box, listing.slots) == ("", "", ())


def test_a_story_is_filled_and_is_there_in_the_language_of_the_place(pieces: dict[tuple[str, str], Listing]) -> None:
    plain = pieces["web_shop", "OH-L01"].plain
    assert "A balm of Ottermarl Hive & Herb: a lip balm, 1 in a tube, Mint & Wax lip balm." in plain
    assert "Un baume." in pieces["web_shop_fr", "OH-L01"].plain


def test_pictures_are_named_by_the_code_and_told_apart_in_words(pieces: dict[tuple[str, str], Listing]) -> None:
    balm = pieces["web_shop", "OH-L01"]
    assert [photo.pictures[0].name for photo in balm.photos] == ["oh-l01-grid.jpg", "oh-l01-2-grid.jpg"]
    assert len(set(balm.alts)) == 2
    assert all(alt.startswith("Mint & Wax lip balm in a tube") for alt in balm.alts)


def test_what_a_unit_costs_is_told_of_a_piece_too(pieces: dict[tuple[str, str], Listing]) -> None:
    """16.00 for 100 ml, by hand."""
    assert pieces["web_shop", "OH-U01"].offers[0].unit_price == "£16.00 per 100 ml"


def test_every_place_of_a_piece_is_the_row_of_its_item(pieces: dict[tuple[str, str], Listing]) -> None:
    place = pieces["web_shop", "OH-L01"].place("uplift")
    assert (place.file, place.row, place.key[0]) == ("items.csv", "OH-L01", "single")
    assert pieces["web_shop_fr", "OH-L01"].place("title").key == ("items", "OH-L01")
