"""A shop in ounces, inches and dollars, from its sheet to its outputs: nothing that people read is in grams or mm.

Excepted are declared quantities, which the United States want in both (16 CFR 500.19), and JSON, which is for programs.
"""

import json
import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from listkit.cli import main
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.read.shop import read_shop
from tests.ounces import SETS, TODAY, files, items_csv, ounce_shop
from tests.shops import DEMO, demo_photos
from tests.write.pages import NO_POPPLER, POPPLER, text_of, words_of

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")

METRIC = re.compile(
    r"(?<![\w.])\d[\d.,]*[ \u00a0\u202f]?(?:mm|cm|g|kg|ml|l|cm³|m²)(?!\w)|\bmm\b|\bgrams?\b|\((?:g|kg|cm)\)"
)
DECLARED = re.compile(r"\d (?:fl )?(?:oz|in|lb) \([\d.]+(?: × [\d.]+)* (?:g|kg|ml|l|cm)\)")
PROGRAMS = (".json", ".jsonl", ".lock", ".jpg")


def metric(text: str) -> list[str]:
    """Return amounts in grams, millimetres and the like, declared ones left out, with some words around each."""
    text = DECLARED.sub("0 oz", " ".join(text.split()))
    return [text[max(0, match.start() - 40) : match.end() + 20] for match in METRIC.finditer(text)]


def read(file: Path) -> str:
    """Return what people read in an output."""
    if file.suffix == ".pdf":
        return text_of(file)
    if file.suffix == ".xlsx":
        sheets = openpyxl.load_workbook(file).worksheets
        return "\n".join(str(cell.value) for sheet in sheets for row in sheet.rows for cell in row if cell.value)
    return file.read_text(encoding="utf-8")


class Said:
    """Runs commands on the shop and keeps all that they print."""

    def __init__(self, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.shop, self.capsys, self.all = shop, capsys, ""

    def run(self, command: str, *words: str, status: int = 0) -> str:
        """Return what a command printed; it ends with `status`."""
        dated = ["--today", TODAY] if command in ("build", "check", "show", "record", "changes") else []
        assert main([command, *words, "--shop", str(self.shop), *dated]) == status, self.capsys.readouterr()
        told = self.capsys.readouterr()
        self.all += told.out + told.err
        return told.out


@pytest.fixture
def said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Said:
    return Said(ounce_shop(tmp_path / "shop"), capsys)


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), "utf-8")


def test_the_shop_is_in_ounces_throughout() -> None:
    shop = files()
    assert len(items_csv().splitlines()) == 24
    assert metric("\n".join(text for text in shop.values() if isinstance(text, str))) == []
    assert metric("12 oz (340 g), 3 mm") == ["10 oz, 3 mm"]


@pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)
def test_from_check_to_papers_nothing_that_people_read_is_metric(said: Said) -> None:
    said.run("check")
    said.run("build", "--jobs", "1")
    said.run("show", "--all", "--wide")
    for folder in SETS:
        said.run("show", folder)
    drawn = said.shop.parent / "drawn"
    for folder in ("first-rain", "long-porch", "dust-and-roses"):
        said.run("show", folder, "--out", f"{drawn}/")
    for place in ("web_shop", "wholesale"):
        said.run("record", place)
    edit(said.shop / "items.csv", "2.20,8.5,4 x 3 x 2,", "2.20,9.25,4 x 3 x 2 1/4,")
    edit(said.shop / "packaging.toml", 'weight = "2 oz"', 'weight = "2 1/2 oz"')
    edit(said.shop / "packaging.toml", "10 1/8 x", "10 1/4 x")
    changes = said.run("changes", status=1)
    assert metric(said.all) == []
    out = said.shop / "out"
    outputs = [file for file in (*out.rglob("*"), *drawn.rglob("*")) if file.is_file() and file.suffix not in PROGRAMS]
    found = {str(file.relative_to(said.shop.parent)): metric(read(file)) for file in outputs if file.name != ".lock"}
    assert {name: amounts for name, amounts in found.items() if amounts} == {}
    assert {Path(name).suffix for name in found} >= {".csv", ".html", ".pdf", ".xlsx", ".svg", ".md"}
    for words in ("DW-S1, weight 8.5 oz → 9.25 oz", "weight 2 oz → 2.5 oz", "2 lb 5.3 oz  2 lb 6.05 oz"):
        assert words in changes
    assert "6.63 × 5.13 × 2.88 in" in (out / "web_shop/listings/first-rain.html").read_text("utf-8")
    feed = (out / "web_shop/feed.csv").read_text("utf-8")
    assert ",14.9,17.9," in feed  # ounces, as the place's dialect asks for


@pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)
def test_papers_have_pounds_and_ounces_and_rulers_inches(said: Said) -> None:
    said.run("build", "--jobs", "1")
    out = said.shop / "out"
    sheet = text_of(next((out / "wholesale").glob("line-sheet-*.pdf")))
    assert "6.63 × 5.13 × 2.88 in · 14.9 oz" in sheet
    assert "2 lb 5.3 oz" in sheet
    head, *rows = (out / "wholesale/price-list.csv").read_text("utf-8").splitlines()
    assert "Weight (oz),Outside (in)" in head
    assert ",14.9,6.63 x 5.13 x 2.88," in rows[0]
    for page in ("print/outside-labels.pdf", "print/price-cards.pdf"):
        first = " ".join(word.text for word in words_of(out / page) if word.page == 1)
        assert "This line is 6 in long." in first
    labels = text_of(out / "print/outside-labels.pdf")
    assert "4.5 oz (127 g)" in labels


def test_show_has_her_units_and_json_has_grams_and_millimetres(said: Said) -> None:
    """Item weights 4.75 and 7.25 oz, box 2, fill 0.4, card 0.5: 14.9 oz, with a carton of 3 oz 1 lb 1.9 oz."""
    text = said.run("show", "first-rain", "--variant", "DWS-1-T1")
    together = [" ".join(line.split()) for line in said.run("show", "first-rain").splitlines()]
    assert "parcel weight 1 lb 1.9 oz 1 lb 1.9 oz" in together
    for words in (
        "gift weight                14.9 oz",
        "parcel weight          1 lb 1.9 oz",
        "length and girth       27.5 in",
        "small packet           no: weight 4.9 oz over",
        "1.5 × 1.75 × 0.25 in",
        "2.25 × 3.25 × 1 in, flat; 3.73 in from the left",
        "36 boxes, 3 along × 3 across × 4 up (6.625 × 5.125 × 2.875 in); 34 lb 12.4 oz full",
    ):
        assert words in text
    assert "14.9 oz" in said.run("show", "--all", "--wide")
    told = json.loads(said.run("show", "first-rain", "--json"))
    ounce = Decimal("28.349523125")
    assert told["variants"][0]["gift_weight"] == pytest.approx(float(Decimal("14.9") * ounce))
    assert told["boxes"][0]["spare"] == pytest.approx([1.5 * 25.4, 1.75 * 25.4, 0.25 * 25.4])


def test_in_another_language_than_hers_texts_are_as_is_usual_there() -> None:
    """The demo's box S is 166 x 126 x 74 mm outside; its French place goes on in millimetres."""
    shop = read_shop(DEMO, photo_facts=demo_photos())[0]
    texts = {}
    for measure in (None, "customary", "metric"):
        stated = replace(shop, settings=shop.settings.model_copy(update={"measure": measure}))
        for channel, listings in build_listings(build_catalog(stated)).by_channel():
            texts[measure, channel.key] = next(each.plain for each in listings if each.facts.code == "OHS-1")
    assert "6.54 × 4.96 × 2.91 in" in texts["customary", "web_shop"]
    assert " mm" not in texts["customary", "web_shop"]
    assert "166 × 126 × 74 mm" in texts[None, "web_shop"]
    assert texts["metric", "web_shop"] == texts[None, "web_shop"]
    assert texts["customary", "web_shop_fr"] == texts["metric", "web_shop_fr"] == texts[None, "web_shop_fr"]


def test_an_american_shop_that_wants_metric_has_it_in_its_texts_too(tmp_path: Path) -> None:
    hers = str(files()["shop.toml"]).replace('measure = "customary"', 'measure = "metric"')
    shop = ounce_shop(tmp_path, {"shop.toml": hers})
    assert read_shop(shop)[0].settings.measures.system == "metric"
    assert main(["build", "--shop", str(shop), "--today", TODAY, "--jobs", "1"]) == 0
    assert " mm" in (shop / "out/web_shop/listings/first-rain.html").read_text("utf-8")
