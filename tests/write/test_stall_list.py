"""The printed price list of a stall: every line of its price-list.csv, on one page, and only where it is asked for."""

import csv
import re
from html import unescape
from pathlib import Path

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.read.shop import read_shop
from listkit.write.csv_feed import price_table
from listkit.write.print import verify_pdf
from listkit.write.stall_list import write
from tests.shops import clean_shop
from tests.write.pages import NO_POPPLER, POPPLER, text_of, words_of
from tests.write.printed import CONTEXT

STALL = 'name = "Market stall"\nmake = ["printed list"]\n'


def printed(listings: Listings, path: Path) -> Path:
    (job,) = write(listings, CONTEXT)
    job.recipe(*job.arguments, (path,))
    assert verify_pdf(path, job.recipe, job.arguments) == ""
    return path


def listings_of(folder: Path, stall: str, shop: str = "") -> Listings:
    clean = clean_shop(folder, {"channels/stall.toml": stall})
    (clean / "shop.toml").write_text((clean / "shop.toml").read_text(encoding="utf-8") + shop, encoding="utf-8")
    return build_listings(build_catalog(read_shop(clean)[0]))


@pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)
def test_the_page_has_every_line_of_the_table_single_pieces_included(demo: Listings, tmp_path: Path) -> None:
    """Held against the CSV of the same channel, whose rows are made elsewhere."""
    pdf = printed(demo, tmp_path / "price-list.pdf")
    printed_lines: dict[int, list[str]] = {}
    for word in sorted(words_of(pdf), key=lambda word: word.left):
        printed_lines.setdefault(round(word.bottom), []).append(unescape(word.text))
    lines = [" ".join(line) for line in printed_lines.values()]
    stall, own = next((channel, own) for channel, own in demo.by_channel() if channel.key == "stall")
    rows = list(csv.reader(",".join(f'"{cell}"' for cell in row) for row in price_table(stall, own, "GBP")))[1:]
    assert len([line for line in lines if "£" in line]) == len(rows) == 30
    for code, _, choice, price, *_ in rows:
        assert any(line.endswith(f"{choice} {code} £{price}".strip()) for line in lines), code
    assert "Mint & Wax lip balm OH-L01 £4.50" in lines
    assert "page 1 of 1" in text_of(pdf)


def test_it_is_made_only_where_it_is_asked_for(tmp_path: Path) -> None:
    assert list(write(listings_of(tmp_path / "no", STALL.replace("printed list", "price list")), CONTEXT)) == []
    (job,) = write(listings_of(tmp_path / "yes", STALL), CONTEXT)
    assert [file.path for file in job.files] == ["stall/price-list.pdf"]


def test_a_shop_in_dollars_prints_on_letter_paper(tmp_path: Path) -> None:
    metric = listings_of(tmp_path / "a4", STALL)
    text = (tmp_path / "a4" / "shop.toml").read_text(encoding="utf-8").replace('"GB"', '"US"')
    (tmp_path / "a4" / "shop.toml").write_text(text, encoding="utf-8")
    (tmp_path / "a4" / "wholesale.toml").unlink()
    letter = build_listings(build_catalog(read_shop(tmp_path / "a4")[0]))
    papers = [str(next(iter(write(each, CONTEXT))).arguments[0]) for each in (metric, letter)]
    assert ['"paper": "a4"' in papers[0], '"paper": "us-letter"' in papers[1]] == [True, True]


@pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)
@pytest.mark.parametrize("long", ["Feuchtigkeitsspendendehandcreme", "orders@reed-and-rushlight.example"])
def test_a_long_word_that_has_room_on_a_line_of_its_own_is_not_parted(long: str, tmp_path: Path) -> None:
    clean = clean_shop(tmp_path / "shop", {"channels/stall.toml": STALL})
    page = clean / "sets/dawn/set.toml"
    name = f"Dawn on the Weir with two bars and one jar of {long}"
    page.write_text(re.sub(r'(?m)^name = ".*"', f'name = "{name}"', page.read_text("utf-8"), count=1), "utf-8")
    pdf = printed(build_listings(build_catalog(read_shop(clean)[0])), tmp_path / "a.pdf")
    assert f"{long}," in [word.text for word in words_of(pdf)]


@pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)
@pytest.mark.parametrize("space", ["", "\u00a0"])
def test_words_without_a_place_to_part_stay_on_the_paper(space: str, tmp_path: Path) -> None:
    """Names with spaces that keep words together, as they come from web pages, ran over prices and off the paper."""
    long = space.join(["Ringelblume"] * 20)
    clean = clean_shop(tmp_path / "shop", {"channels/stall.toml": STALL})
    page = clean / "sets/dawn/set.toml"
    page.write_text(re.sub(r'(?m)^name = ".*"', f'name = "{long}"', page.read_text("utf-8"), count=1), "utf-8")
    pdf = printed(build_listings(build_catalog(read_shop(clean)[0])), tmp_path / "a.pdf")
    words = words_of(pdf)
    assert len({round(word.bottom) for word in words if "ngel" in word.text.replace("\u200b", "")}) > 1
    assert max(word.right for word in words) <= 210 - 13.9
