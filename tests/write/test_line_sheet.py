"""The line sheet as a buyer and other programs see it: demo, and a shop that is hard to set, on both papers."""

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest
import zxingcpp
from PIL import Image

from listkit import bounds
from listkit.compute.build import build_catalog
from listkit.compute.given_out import GivenLine, PreviousSheet
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.sheet import document_of
from listkit.model.shop import Templates
from listkit.read.shop import read_shop
from listkit.save.save import Saved, save
from listkit.units.money import Money
from listkit.write import barcodes, line_sheet, wholesale_list
from listkit.write.context import WriteContext
from listkit.write.print import print_pdf
from tests.shops import clean_shop
from tests.write.pages import barcodes_of
from tests.write.pages import words_of as boxes_of
from tests.write.sheets import LONG, hard, hard_shop

QPDF, POPPLER = shutil.which("qpdf"), shutil.which("pdftotext")
needs_qpdf = pytest.mark.skipif(QPDF is None, reason="qpdf is not installed")
needs_poppler = pytest.mark.skipif(POPPLER is None, reason="poppler is not installed (Debian: poppler-utils)")
CONTEXT = WriteContext("test")


def printed(of: Listings, folder: Path, context: WriteContext = CONTEXT) -> Path:
    saved = save(line_sheet.write(of, context), folder)
    assert saved.failures == ()
    [path] = (folder / "wholesale").glob("line-sheet-*.pdf")
    return path


def words_of(path: Path) -> str:
    told = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True)
    return told.stdout


@pytest.fixture(scope="module")
def demo_sheet(demo: Listings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return printed(demo, tmp_path_factory.mktemp("sheet"))


@pytest.fixture(scope="module", params=["A4", "letter"])
def hard_sheet(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Listings, Path]:
    of = hard(paper=request.param, case_pack={"sets": 2, "mixed": True}, display={"price": "half"})
    return of, printed(of, tmp_path_factory.mktemp(f"hard-{request.param}"))


def said(of: Listings) -> Iterator[str]:
    """Every code and price that must stand on the sheet."""
    document = document_of(of.catalog)
    assert document is not None
    for entry in (entry for group in document.text.groups for entry in group.entries):
        for line in entry.lines:
            yield from (line.code, line.wholesale, *line.tiers, line.retail, *([line.gtin] if line.gtin else []))
        if entry.display is not None:
            yield from (entry.display.code, entry.display.price)


@needs_poppler
def test_every_code_gtin_and_price_is_read_from_the_demos_pages(demo: Listings, demo_sheet: Path) -> None:
    words = words_of(demo_sheet).split()
    joined = " ".join(words)
    missing = [part for part in said(demo) if (part not in words if " " not in part else part not in joined)]
    assert missing == []


@needs_poppler
def test_every_code_and_price_is_read_from_a_sheet_that_is_hard_to_set(hard_sheet: tuple[Listings, Path]) -> None:
    of, path = hard_sheet
    joined = " ".join(words_of(path).split())
    assert [part for part in said(of) if part not in joined] == []
    assert LONG in joined
    assert len(re.findall(r"SET-1-39 £8\.75", joined)) == 1  # no GTIN, and none made up


@needs_poppler
def test_every_page_says_who_and_where_and_how_many_there_are(demo_sheet: Path) -> None:
    pages = words_of(demo_sheet).split("\f")[:-1]
    assert len(pages) == 5
    for number, page in enumerate(pages, 1):
        assert "hello@ottermarl.example" in page
        assert f"page {number} of {len(pages)}" in page
    assert "LK6JR" in pages[1]
    assert "£240.00" in pages[0]
    assert pages[0].index("Issued") < pages[0].index("Spring sets")


@needs_qpdf
def test_qpdf_finds_no_fault(demo_sheet: Path, hard_sheet: tuple[Listings, Path]) -> None:
    for path in (demo_sheet, hard_sheet[1]):
        ended = subprocess.run([str(QPDF), "--check", str(path)], capture_output=True, text=True, check=False)
        assert (ended.returncode, ended.stderr) == (0, "")


@needs_poppler
def test_poppler_calls_it_tagged_and_of_the_papers_size(demo_sheet: Path, hard_sheet: tuple[Listings, Path]) -> None:
    """ISO 216: A4 is 210 by 297 mm; ANSI/ASME Y14.1: Letter is 8.5 by 11 in."""
    sizes = set()
    for path in (demo_sheet, hard_sheet[1]):
        told = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True).stdout
        facts = dict(line.split(":", 1) for line in told.splitlines() if ":" in line)
        assert facts["Tagged"].strip() == "yes"
        sizes.add(facts["Page size"].split("(")[1].split(")")[0])
    assert sizes in ({"A4"}, {"A4", "letter"})


def test_it_is_tagged_says_its_language_and_every_picture_has_words(demo_sheet: Path) -> None:
    """ISO 14289-1 and ISO 19005-2, by what pikepdf sees in the file: passes these checks, which certifies nothing."""
    with pikepdf.open(demo_sheet) as pdf:
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "/StructTreeRoot" in pdf.Root
        assert str(pdf.Root.Lang) == "en-GB"
        parts = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
        figures = [one for one in parts if one.get("/S") == "/Figure"]
        # the logo, the lead, two of each set, eight items and five that borrow one, the QR code, a barcode a number
        assert len(figures) == 1 + 1 + 2 * 5 + 13 + 1 + 21
        assert all(str(one.Alt).strip() for one in figures)
        assert {"/H1", "/H2", "/H3", "/Table", "/TH"} <= {str(one.get("/S")) for one in parts}
        with pdf.open_outline() as outline:
            titles = [one.title for one in outline.root[0].children]
        assert titles[:2] == ["Spring sets", "Late summer and autumn sets"]
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("2", "A")


def test_the_same_sheet_has_the_same_bytes(demo: Listings, demo_sheet: Path, tmp_path: Path) -> None:
    assert printed(demo, tmp_path).read_bytes() == demo_sheet.read_bytes()


def test_the_demo_stays_far_below_what_goes_into_a_letter(demo_sheet: Path) -> None:
    """Common practice, no source: five megabytes. tests/bench/bench_wholesale.py has a hundred sets."""
    assert demo_sheet.stat().st_size < 1_500_000


@needs_poppler
def test_the_barcodes_on_the_page_are_read_and_as_wide_as_gs1_wants(demo: Listings, demo_sheet: Path) -> None:
    """GS1 General Specifications 5.2, from memory: modules of 0.264 to 0.660 mm; 300 dots an inch, by zxing-cpp."""
    scan = demo_sheet.with_suffix("")
    subprocess.run(["pdftoppm", "-r", "300", "-gray", str(demo_sheet), str(scan)], check=True)
    document = document_of(demo.catalog)
    assert document is not None
    pages = sorted(demo_sheet.parent.glob("*.pgm"))
    found = [one for page in pages for one in zxingcpp.read_barcodes(Image.open(page))]
    codes = [one for one in found if one.format == zxingcpp.BarcodeFormat.QRCode]
    assert {one.text for one in codes} <= {demo.catalog.shop.settings.website}
    found = [one for one in found if one not in codes]
    assert {one.text for one in found} == {one.symbol.gtin for one in barcodes.symbols_of(document)}
    for one in found:
        module = (one.position.top_right.x - one.position.top_left.x) * 25.4 / 300 / 95
        assert 0.264 <= module <= 0.660
        assert module == pytest.approx(0.33, rel=0.02)  # barcodes = "100 %"


def test_a_sheet_without_groups_skips_no_heading(tmp_path: Path) -> None:
    """PDF/UA-1 allows no step from the first to the third level."""
    shop = hard_shop()
    assert shop.wholesale is not None
    bare = replace(shop, wholesale=shop.wholesale.model_copy(update={"groups": ()}))
    with pikepdf.open(printed(Listings(build_catalog(bare), ()), tmp_path)) as pdf:
        kinds = {str(one.get("/S")) for one in pdf.objects if isinstance(one, pikepdf.Dictionary)}
    assert {"/H1", "/H2"} <= kinds
    assert "/H3" not in kinds


@needs_poppler
def test_lines_that_moved_are_told_first_and_marked_where_they_stand(tmp_path: Path) -> None:
    def gbp(amount: str) -> Money:
        return Money(Decimal(amount), "GBP")

    tier = ((24, gbp("8.23")),)
    same = [GivenLine(f"SET-1-{at:02}", gbp("8.75"), gbp("17.50"), "", tier) for at in range(39)]
    gone = GivenLine("B-9", gbp("1"), gbp("2"), "Old balm")
    bar = GivenLine("B-1", gbp("3.50"), gbp("7.50"), "", ((24, gbp("3.53")),))
    before = PreviousSheet("B4C6D", (*same, bar, gone))
    words = " ".join(words_of(printed(hard(), tmp_path, WriteContext("t", before))).split())
    assert "Replaces B4C6D" in words
    table = words[words.index("What has moved") : words.index("Choice")]
    assert "Code Item Price Was Now" in table
    assert "Wholesale £3.50 £3.75" in table  # B-1
    assert ("SET-1-39," in table, "B-2" in table, table.count("New")) == (True, True, 1)  # one row for both
    assert "B-9 Old balm No longer made" in table
    assert (words.count("was £3.50"), words.count("SET-1-39 · New")) == (1, 1)


@needs_poppler
@pytest.mark.parametrize("design", ["quiet", "bold"])
def test_seven_hundred_lines_that_moved_alike_are_all_told(design: str, tmp_path: Path) -> None:
    """Their codes were one cell of 700 boxes, at which the compiler stopped, and which no page could have held."""
    price = Money(Decimal(1), "GBP")
    gone = tuple(GivenLine(f"OLD-{at:03}", price, price, f"Balm {at}, 110 g") for at in range(700))
    sheet = printed(dressed(hard(), design), tmp_path, WriteContext("t", PreviousSheet("B4C6D", gone)))
    told = words_of(sheet)
    assert {f"OLD-{at:03}" for at in range(700)} <= set(re.findall(r"OLD-\d{3}", told))
    assert "more, marked at each line" not in told
    assert {word.text.strip(",") for word in boxes_of(sheet) if word.bottom < 297 - 15} >= {"OLD-000", "OLD-699"}


def test_a_set_of_as_many_pieces_as_there_may_be_is_printed(tmp_path: Path) -> None:
    facts = hard()
    made = papers_of(facts)
    assert made.document is not None
    layout = line_sheet.layout_of(made.document, facts.catalog.shop, ())
    told = json.loads(layout.facts)
    for entry in (entry for group in told["groups"] for entry in group["entries"]):
        entry["contents"] = [f"Soap {at}, 110 g, 3.9 oz" for at in range(bounds.CONTENTS)]
    print_pdf(tmp_path / "sheet.pdf", layout.with_facts(told))
    assert (tmp_path / "sheet.pdf").stat().st_size > 10_000


def dressed(of: Listings, design: str) -> Listings:
    shop = of.catalog.shop
    assert shop.wholesale is not None
    terms = shop.wholesale.model_copy(update={"design": design})
    return Listings(build_catalog(replace(shop, wholesale=terms)), ())


@needs_poppler
@pytest.mark.parametrize("design", ["quiet", "bold"])
def test_a_wide_logo_pushes_nothing_off_the_paper(design: str, tmp_path: Path) -> None:
    """Ten times as wide as high, as wordmarks are; A4 is 210 mm wide, and 14 mm of it are margin."""
    shop = clean_shop(tmp_path / "shop")
    Image.new("RGB", (1000, 100), "#7a5c1e").save(shop / "logo.png")
    settings = (shop / "shop.toml").read_text(encoding="utf-8")
    (shop / "shop.toml").write_text('logo = "logo.png"\n' + settings, encoding="utf-8")
    sheet = printed(dressed(Listings(build_catalog(read_shop(shop)[0]), ()), design), tmp_path)
    assert max(word.right for word in boxes_of(sheet)) <= 210 - 13.9


def over_each_other(pdf: Path) -> list[tuple[str, str]]:
    """Return the words of a page that lie upon another one of it."""
    words = boxes_of(pdf)
    return [
        (one.text, other.text)
        for at, one in enumerate(words)
        for other in words[at + 1 :]
        if one.page == other.page
        and min(one.right, other.right) - max(one.left, other.left) > 0.3
        and min(one.bottom, other.bottom) - max(one.top, other.top) > 1.5
    ]


@needs_poppler
@pytest.mark.parametrize(("tiers", "dear"), [(4, "9.00"), (9, "9.00"), (30, "9.00"), (2, "99999999.00")])
def test_lower_prices_that_have_no_room_beside_names_stand_below_them(tiers: int, dear: str, tmp_path: Path) -> None:
    """Each price is there, and no word lies upon another, however many or long the prices are."""
    of = hard(dear=dear, tier=[{"from": 10 + at, "wholesale": f"{49 - at / 4} %"} for at in range(tiers)])
    document = document_of(of.catalog)
    assert document is not None
    lines = [line for group in document.text.groups for entry in group.entries for line in entry.lines]
    prices = {price for line in lines for price in (line.wholesale, *line.tiers, line.retail)}
    for design in ("quiet", "bold"):
        sheet = printed(dressed(of, design), tmp_path / design)
        assert over_each_other(sheet) == []
        assert max(word.right for word in boxes_of(sheet)) <= 210 - 13.9
        assert prices <= {word.text for word in boxes_of(sheet)}
    assert save(wholesale_list.write(of, CONTEXT), tmp_path / "list").failures == ()
    listed = tmp_path / "list/wholesale/price-list.pdf"
    assert over_each_other(listed) == []
    assert prices <= {word.text for word in boxes_of(listed)}


@needs_poppler
def test_both_designs_say_the_same_under_one_version_and_are_sound(
    demo: Listings, demo_sheet: Path, tmp_path: Path
) -> None:
    bold = printed(dressed(demo, "bold"), tmp_path)
    assert bold.name == demo_sheet.name
    first, second = (
        {word for page in words_of(path).split("\f") for line in page.splitlines()[1:] for word in line.split()}
        for path in (demo_sheet, bold)
    )
    assert {word for word in first ^ second if not word.strip("·").isdigit()} == set()  # digits: numbers of pages
    heads = [page.splitlines()[0] for page in words_of(bold).split("\f")[:-1]]
    assert ("continued" in heads[0], any("sets, continued" in head for head in heads[1:])) == (False, True)
    if QPDF:
        assert subprocess.run([QPDF, "--check", str(bold)], capture_output=True, check=False).returncode == 0
    with pikepdf.open(bold) as pdf, pdf.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        parts = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/Figure"]
        assert all(str(one.Alt).strip() for one in parts)


@needs_poppler
def test_a_first_order_that_meets_the_opening_amount_is_suggested(demo_sheet: Path) -> None:
    """240.00 is asked; worked by hand from the prices of the sheet.

    Twice 13.50, 14.50 and 14.50 of the first set, 16.75 twice, twice 16.00, 16.00 and 17.00, 21.00 twice are 196.50;
    43.50 lack, and of what is left six butters for 48.00 reach it for least: 244.50, and twice as much in a shop.
    """
    words = " ".join(words_of(demo_sheet).split())
    assert "Together £244.50; at the suggested prices it sells for £489.00." in words


def saved_with(layout: str, of: Listings, folder: Path) -> Saved:
    """Print the sheet with somebody's own layout."""
    texts = dict(of.catalog.shop.templates.texts) | {"print/line_sheet.typ": layout}
    shop = replace(of.catalog.shop, templates=Templates(tuple(texts.items())))
    return save(line_sheet.write(Listings(build_catalog(shop), ()), CONTEXT), folder)


@pytest.mark.parametrize(
    ("layout", "says"),
    [
        ('#read("/etc/passwd")', "line 1: it reads a file that it is not given."),
        ('#read("../../shop.toml")', "it reads a file that it is not given."),
        ('#import "@preview/some:0.1.0": x', "line 1: it asks for a package."),
        ("#let x = (", "line 1: unclosed delimiter."),
        ("words without a title", "PDF/UA-1 error"),
    ],
)
def test_an_owners_layout_that_reaches_out_or_is_broken_fails_alone_and_is_told(
    layout: str, says: str, tmp_path: Path
) -> None:
    before = printed(hard(), tmp_path).read_bytes()
    saved = saved_with(layout, hard(), tmp_path)
    [failure] = saved.failures
    assert says in failure.message
    assert failure.hint
    [path] = (tmp_path / "wholesale").glob("line-sheet-*.pdf")
    assert path.read_bytes() == before


def test_an_owners_own_layout_beats_ours(tmp_path: Path) -> None:
    head = '#let facts = json("facts.json")\n#set document(title: facts.title)\n#set text(lang: "en")\n'
    own = f"{head}= #facts.shop only"
    assert saved_with(own, hard(), tmp_path).failures == ()


def test_without_terms_for_shops_there_is_no_sheet() -> None:
    bare = replace(hard_shop(), wholesale=None)
    of = Listings(build_catalog(bare), ())
    assert list(line_sheet.write(of, CONTEXT)) == list(wholesale_list.write(of, CONTEXT)) == []


def test_its_name_says_season_day_and_version(tmp_path: Path) -> None:
    path = printed(hard(season="Early Spring!", issued=date(2027, 1, 15)), tmp_path)
    assert path.name.startswith("line-sheet-early-spring-2027-01-15-")


@needs_poppler
def test_the_qr_code_of_the_website_is_read_from_the_page_and_the_brand_is_the_headline(
    demo: Listings, demo_sheet: Path, tmp_path: Path
) -> None:
    """ISO/IEC 18004, read by zxing-cpp from what poppler draws at 300 dots an inch."""
    assert demo.catalog.shop.settings.website in barcodes_of(demo_sheet, tmp_path)
    with pikepdf.open(demo_sheet) as pdf, pdf.open_outline() as outline:
        assert [one.title for one in outline.root] == [demo.catalog.shop.settings.name]


@needs_poppler
def test_a_case_is_told_with_its_price(demo_sheet: Path) -> None:
    """OH-B01 comes in cases of six at 3.75: 22.50, worked by hand."""
    words = re.sub(r"\s+", " ", words_of(demo_sheet))
    assert re.search(r"OHS-1-S03 £13\.50 £12\.70 £27\.00 2 £27\.00", words)  # two at 13.50
    assert words.count("A case £22.50") == 4  # four bars


def test_a_piece_without_its_own_photo_is_cut_close_from_a_sets_photo_that_says_where_it_is(demo: Listings) -> None:
    """Shares of the picture as they are stated in set.toml, held against the cut in pixels."""
    photos = {photo.code: photo for photo in papers_of(demo).photos if photo.lent_by}
    assert set(photos) == {"OH-T01", "OH-L01", "OH-X01", "OH-X02", "OH-C01"}
    assert len({photo.name for photo in photos.values()}) == 5  # two of one photo are two pictures
    for code, photo in photos.items():
        box, facts, cut = dict(photo.photo.pieces)[code], photo.photo.facts, photo.cut
        assert cut.left <= box.left * facts.width
        assert box.right * facts.width <= cut.right
        longest = max((box.right - box.left) * facts.width, (box.bottom - box.top) * facts.height)
        assert longest <= cut.right - cut.left <= float(longest) * 1.1 + 3
