"""Outside labels: what other programs read on them, how high the type is drawn, what is told when it is too much."""

import re
import subprocess
from collections import Counter
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from functools import partial
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from listkit.compute.build import build_catalog
from listkit.compute.labels import panel_height
from listkit.listing.label_fit import shorts_of
from listkit.listing.labels import by_size, label_paper
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.model.labels import BoxLabels
from listkit.paths import path_fault
from listkit.problem import FieldError, InPartError
from listkit.read.shop import read_shop
from listkit.units.shown import METRIC
from listkit.write import labels
from listkit.write.labels import file_of, write_labels
from tests.checked import problems_of
from tests.shops import CLEAN, clean_shop
from tests.test_problems import TODAY
from tests.write.pages import NO_POPPLER, POPPLER, QPDF, Word, barcodes_of, drawn_height, pages_of, text_of, words_of
from tests.write.printed import CONTEXT, clean_catalog, printed_by

catalog_of, printed = partial(clean_catalog, "labels"), partial(printed_by, write_labels)
needs_poppler = pytest.mark.skipif(not POPPLER, reason=NO_POPPLER)


@pytest.fixture(scope="module")
def demo_labels(demo: Listings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's labels."""
    return printed(demo.catalog, tmp_path_factory.mktemp("labels") / "outside-labels.pdf")


@needs_poppler
def test_every_label_says_what_is_in_it_what_to_heed_and_who_made_it(demo: Listings, demo_labels: Path) -> None:
    words = text_of(demo_labels)
    paper = label_paper(demo.catalog)
    assert paper is not None
    texts = paper.texts
    variants = [one.code for facts in demo.catalog.sets for one in facts.variants]
    assert [text.code for text in texts] == variants
    for text in texts:
        (spoken,) = text.spoken
        contents = [line.replace("\u00a0", " ") for line in spoken.lines]
        for told in (
            text.number,
            text.name,
            *contents,
            *spoken.warnings,
            *spoken.cautions,
            spoken.made[0].replace("\u00a0", " "),
        ):
            assert told in words.replace("\u00a0", " "), text.code
        for name, ingredients in text.ingredients:
            assert f"{name} {ingredients}" in words
    assert words.count("Batch") == words.count("Best used before the end of") == len(variants)
    assert "the rules in force where you sell decide" in words


@needs_poppler
def test_a_reader_finds_every_number_and_none_that_nobody_gave(
    demo: Listings, demo_labels: Path, tmp_path: Path
) -> None:
    stated = [one.gtin for facts in demo.catalog.sets for one in facts.variants if one.gtin]
    assert Counter(barcodes_of(demo_labels, tmp_path)) == Counter(stated)


def test_the_file_is_tagged_and_speaks_of_all_codes(demo: Listings, demo_labels: Path) -> None:
    with pikepdf.open(demo_labels) as pdf:
        assert bool(pdf.Root.MarkInfo.Marked)
        assert str(pdf.Root.Lang) == "en-GB"
    (job,) = write_labels(demo, CONTEXT)
    assert job.files[0].codes == tuple(one.code for facts in demo.catalog.sets for one in facts.variants)


def test_the_same_labels_have_the_same_bytes(demo: Listings, demo_labels: Path, tmp_path: Path) -> None:
    assert printed(demo.catalog, tmp_path / "again.pdf").read_bytes() == demo_labels.read_bytes()


@pytest.mark.skipif(QPDF is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault(demo_labels: Path) -> None:
    ended = subprocess.run([str(QPDF), "--check", str(demo_labels)], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr) == (0, "")


# A form and ingredients without letters that reach above or below the others, to be measured.
ROUND = (
    ("code,name,form", "code,ingredients,name,form"),
    ("RR-B1,Sedge & Salt,bar soap,100 g", "RR-B1,Sucra neaera,Sedge & Salt,nacre rose,100 g"),
    ("\nRR-J1,", "\nRR-J1,,"),
    ("\nRR-J2,", "\nRR-J2,,"),
    ("\nRR-M1,", "\nRR-M1,,"),
)

IN_US = (CLEAN / "shop.toml").read_text(encoding="utf-8").replace('country = "GB"', 'country = "US"')
LARGE = 'size = "180 x 260 mm"\ntest_page = false'


def foot_word(pdf: Path, text: str) -> Word:
    """The lowest of a word's places on the first page: in the declared contents."""
    return max((word for word in words_of(pdf) if word.page == 1 and word.text == text), key=lambda word: word.top)


@needs_poppler
@pytest.mark.parametrize(
    ("outside", "panel", "sixteenths"),
    [
        ("60 x 50 x 50 mm", (180, 260), 3),  # the label is larger than the whole box: a card beside it
        ("150 x 100 x 60 mm", (150, 100), 2),
        ("215 x 165 x 80 mm", (215, 165), 3),
        ("330 x 250 x 90 mm", (330, 250), 4),
    ],
)
def test_declared_contents_are_drawn_as_high_as_the_panel_asks(
    outside: str, panel: tuple[int, int], sixteenths: int, tmp_path: Path
) -> None:
    """21 CFR 701.13(i), from memory: up to 5, 25, 100 and above 100 square inches; measured
    on the drawn page, in ink.
    """
    box = (CLEAN / "packaging.toml").read_text(encoding="utf-8").replace("weight", f'outside = "{outside}"\nweight', 1)
    files = {"packaging.toml": box, "shop.toml": f"{IN_US}\n\n[labels]\n{LARGE}\n"}
    catalog = catalog_of(tmp_path / "shop", "", items=ROUND, files=files)
    assert panel_height(Decimal(panel[0] * panel[1])) == sixteenths * Decimal("25.4") / 16
    pdf = printed(catalog, tmp_path / "a.pdf")
    height = drawn_height(pdf, foot_word(pdf, "nacre"), tmp_path)
    assert sixteenths * 25.4 / 16 <= height <= sixteenths * 25.4 / 16 * 1.08 + 0.05


@needs_poppler
def test_nothing_stands_nearer_above_declared_contents_than_their_lettering_is_high(tmp_path: Path) -> None:
    """21 CFR 701.13(f) and 16 CFR 500.6(b), from memory; measured in ink on the least label that holds its text."""
    box = (CLEAN / "packaging.toml").read_text(encoding="utf-8")
    box = box.replace("weight", 'outside = "330 x 250 x 90 mm"\nweight', 1)
    for high in range(100, 300, 2):
        size = f'[labels]\nsize = "200 x {high} mm"\ntest_page = false\nframe = false'
        files = {"packaging.toml": box, "shop.toml": f"{IN_US}\n\n{size}\n"}
        with suppress(FieldError):
            pdf = printed(catalog_of(tmp_path / str(high), "", items=ROUND, files=files), tmp_path / "a.pdf")
            break
    contents = [word for word in words_of(pdf) if word.page == 1 and word.bottom - word.top > 12]  # in mm
    first = min(contents, key=lambda word: (round(word.top), word.left))
    [page, *_] = pages_of(pdf, tmp_path, 300)
    above = round((first.top + first.bottom) / 2 / 25.4 * 300)
    dark = [bool(row.any()) for row in np.asarray(page)[above::-1] < 128]
    free = dark.index(True, dark.index(False)) - dark.index(False)
    assert free / 300 * 25.4 >= drawn_height(pdf, first, tmp_path)


@needs_poppler
@pytest.mark.parametrize(("wide", "high", "low"), [(90, 90, False), (120, 74, True), (120, 180, True)])
def test_contents_stand_in_the_lowest_thirty_per_cent_of_a_panel_unless_check_tells(
    wide: int, high: int, low: bool, tmp_path: Path
) -> None:
    """21 CFR 701.13, FDA's labelling guide; the label is as high as the largest side of its box, or higher."""
    net_high = CLEAN.parent / "net-high"
    size = f'size = "{wide} x {high} mm"\nsheet = "roll"\nframe = false\nfaces = 2'
    files = {
        "items.csv": (net_high / "items.csv").read_text(encoding="utf-8"),
        "shop.toml": f"{IN_US}\n[labels]\n{size}\n",
    }
    catalog = catalog_of(tmp_path / "shop", "", files=files)
    told = [problem.code for problem in problems_of(tmp_path / "shop", TODAY)]
    assert ("net-high" in told) is not low
    pdf = printed(catalog, tmp_path / "a.pdf")
    front = [word for word in words_of(pdf) if word.page == 2]
    large = 0.9 * next(word.bottom - word.top for word in front if word.text == "oz")
    first = min((word for word in front if word.text == "1" and word.bottom - word.top > large), key=place)
    page = np.asarray([*pages_of(pdf, tmp_path, 300)][1])
    dots = [round(side / 25.4 * 300) for side in (first.top, first.bottom, first.left, first.right)]
    ink = (page[dots[0] : dots[1], dots[2] : dots[3]] < 128).any(axis=tuple(range(1, page.ndim)))
    top = (dots[0] + int(ink.argmax())) / 300 * 25.4
    assert (high - top <= 0.3 * max(120, high)) is low  # the box is 160 x 120 mm


@needs_poppler
def test_figures_are_as_high_as_the_quantity_asks_where_the_panel_is_left_aside(tmp_path: Path) -> None:
    """Directive 76/211/EEC, Annex I: 3 mm for 50 to 200 g or ml; small letters at least 1.2 mm everywhere."""
    pdf = printed(catalog_of(tmp_path / "shop", f'{LARGE}\ntype = "quantity"', items=ROUND), tmp_path / "a.pdf")
    assert 3 <= drawn_height(pdf, foot_word(pdf, "100"), tmp_path) <= 3.3
    assert drawn_height(pdf, foot_word(pdf, "nacre"), tmp_path) >= 1.2


@needs_poppler
@pytest.mark.parametrize(("country", "least"), [("GB", 1.2), ("US", 25.4 / 16)])
def test_ingredients_are_never_smaller_than_their_rule(country: str, least: float, tmp_path: Path) -> None:
    """21 CFR 701.3(b): a sixteenth of an inch; elsewhere 1.2 mm. The label is the smallest that holds its text."""
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8").replace('country = "GB"', f'country = "{country}"')
    words = "Sucra neaera, " * 40
    items = (*ROUND[:1], ("RR-B1,Sedge & Salt,bar soap", f'RR-B1,"{words}",Sedge & Salt,nacre rose'), *ROUND[2:])
    high = 60
    while True:
        labels = f'[labels]\nsize = "110 x {high} mm"\ntest_page = false'
        shop = {"shop.toml": f"{settings}\n\n{labels}\n"}
        try:
            pdf = printed(catalog_of(tmp_path / str(high), "", items=items, files=shop), tmp_path / "a.pdf")
            break
        except FieldError:
            high += 15
    word = next(word for word in words_of(pdf) if word.text == "neaera,")
    comma = 0.35 * least  # that reaches below the line
    assert least <= drawn_height(pdf, word, tmp_path) <= least * 1.2 + comma + 0.1


def test_a_label_that_cannot_hold_its_text_says_how_much_is_missing_and_leaves_no_old_wording(tmp_path: Path) -> None:
    catalog = catalog_of(tmp_path / "shop", 'size = "90 x 60 mm"')
    (tmp_path / "old.pdf").write_bytes(b"the last build's")
    with pytest.raises(InPartError) as fault:
        printed(catalog, tmp_path / "old.pdf")
    said = "a label of this size cannot hold its text in the smallest type allowed: RRS-1-"
    assert fault.value.message.startswith(said)
    assert " mm of height" in fault.value.message
    assert fault.value.codes == ("RRS-1-J1", "RRS-1-J2")
    assert fault.value.message.endswith("The file is new, and has no label of RRS-1-J1, RRS-1-J2.")
    with pikepdf.open(tmp_path / "old.pdf") as emptied:
        assert len(emptied.pages) >= 1
    needed = int(fault.value.hint.partition("at least ")[2].partition(" mm high")[0])
    printed(catalog_of(tmp_path / "enough", f'size = "90 x {needed} mm"'), tmp_path / "enough.pdf")
    with pytest.raises(FieldError, match="lacks"):
        printed(catalog_of(tmp_path / "short", f'size = "90 x {needed - 2} mm"'), tmp_path / "short.pdf")


@needs_poppler
def test_one_label_too_tall_withholds_no_other(tmp_path: Path) -> None:
    """Very many cautions for one jar: its label alone is missing, and the other is made anew."""
    row = "Willow Bark,body butter,100 ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes"
    long = "".join(f";Keep away from {'draught, damp and geese, ' * 20}and house {number}." for number in range(40))
    catalog = catalog_of(tmp_path / "shop", LARGE, items=((row, row.replace("external", '"external') + long + '"'),))
    with pytest.raises(InPartError) as fault:
        printed(catalog, tmp_path / "a.pdf")
    assert fault.value.codes == ("RRS-1-J1",)
    words = text_of(tmp_path / "a.pdf")
    assert ("RRS-1-J1" in words, "RRS-1-J2" in words) == (False, True)


def test_a_word_or_a_barcode_wider_than_the_label_is_told_as_width(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match=r"lacks \d+ mm of width"):
        printed(catalog_of(tmp_path / "shop", 'size = "24 x 280 mm"\ntype = "panel area"'), tmp_path / "a.pdf")


@needs_poppler
def test_without_a_stated_rule_the_quantity_decides_outside_the_united_states(tmp_path: Path) -> None:
    """Directive 76/211/EEC, Annex I, from memory: 3 mm for 50 to 200 g or ml; 21 CFR 701.13 is law elsewhere."""
    pdf = printed(catalog_of(tmp_path / "shop", LARGE, items=ROUND), tmp_path / "a.pdf")
    assert 3 <= drawn_height(pdf, foot_word(pdf, "100"), tmp_path) <= 3.3


def place(word: Word) -> float:
    """How far down its page a word stands."""
    return word.top


@needs_poppler
def test_warnings_stand_before_ingredients_with_the_warning_sign_and_contents_an_item_a_line(
    demo: Listings, demo_labels: Path
) -> None:
    """Lamp-Lighting has tea lights, whose caution is about fire; its contents are three lines."""
    paper = label_paper(demo.catalog)
    assert paper is not None
    text = next(text for text in paper.texts if text.name == "Lamp-Lighting")
    (spoken,) = text.spoken
    assert any("Never leave a burning candle alone" in warning for warning in spoken.warnings)
    assert not set(spoken.warnings) & set(spoken.cautions)
    words = words_of(demo_labels)
    warning = next(word for word in words if word.text == "WARNING:")
    on_page = [word for word in words if word.page == warning.page]
    title = max((word for word in on_page if word.text == "Lamp-Lighting" and word.top < warning.top), key=place)
    ingredients, notes = (
        min((word for word in on_page if word.text == text and word.top > title.top and word.left > 100), key=place)
        for text in ("Ingredients", "Please")
    )
    assert title.top < warning.top < ingredients.top < notes.top
    pieces = next(one for facts in demo.catalog.sets for one in facts.variants if one.code == text.code).pieces
    assert len(spoken.lines) == len({piece.item.form for piece in pieces})


@needs_poppler
def test_all_labels_of_a_set_have_one_scale_of_type(demo_labels: Path) -> None:
    words = [word for word in words_of(demo_labels) if word.text == "Nectar"]
    sizes = {round(word.bottom - word.top, 1) for word in words}
    assert len(words) >= 6
    assert len(sizes) == 2  # one on the fronts, one on the backs


def test_a_sign_that_no_font_has_is_told_with_its_words(tmp_path: Path) -> None:
    catalog = catalog_of(tmp_path / "shop", LARGE, items=(("Willow Bark", "Willow 柳 Bark"),))
    with pytest.raises(FieldError, match='no font of ours has the sign "柳", as in "Willow 柳 Bark'):
        printed(catalog, tmp_path / "a.pdf")


@needs_poppler
def test_two_faces_lie_beside_each_other_and_share_what_is_said(tmp_path: Path) -> None:
    labels = 'size = "96 x 134 mm"\nfaces = 2\ntest_page = false'
    words = words_of(printed(catalog_of(tmp_path / "shop", labels), tmp_path / "a.pdf"))
    title = sorted((word for word in words if word.text == "Weir"), key=lambda word: word.left)
    batch = [word for word in words if word.text == "Batch"]
    assert [word.left < 105 for word in title] == [True, True, False, False]
    assert all(word.left > 105 for word in batch)


@needs_poppler
def test_two_languages_are_told_in_type_of_one_size(tmp_path: Path) -> None:
    """The second language is made here from the English words, so that each can be told from the other."""
    shipped = Path(__file__).parents[2] / "templates"
    others = {
        f"templates/{folder}/nl.toml": (shipped / folder / "en.toml").read_text(encoding="utf-8").replace(old, new)
        for folder, old, new in (
            ("words", 'many = "{one}s"', 'many = "{one}en"'),
            ("cautions", "For external use only.", "Alleen uitwendig."),
            ("label", "Gift set:", "Cadeauset:"),
        )
    }
    catalog = catalog_of(tmp_path / "shop", f'{LARGE}\nlanguages = ["en-GB", "nl"]\norigin = "GB"', files=others)
    pdf = printed(catalog, tmp_path / "a.pdf")
    words = text_of(pdf)
    for told in ("Gift set:", "Cadeauset:", "For external use only.", "Alleen uitwendig.", "Verenigd Koninkrijk"):
        assert told in words
    first = [word for word in words_of(pdf) if word.page == 1]
    english, dutch = (next(word for word in first if word.text == told) for told in ("Gift", "Cadeauset:"))
    assert round(english.bottom - english.top, 2) == round(dutch.bottom - dutch.top, 2)


@needs_poppler
def test_a_roll_has_a_page_a_label_and_the_reminder_on_a_page_of_its_own(tmp_path: Path) -> None:
    labels = 'size = "110 x 160 mm"\nsheet = "roll"\ntest_page = false'
    pdf = printed(catalog_of(tmp_path / "shop", labels), tmp_path / "a.pdf")
    words = words_of(pdf)
    assert {word.page for word in words} == {1, 2, 3}
    assert any(word.text == "rules" for word in words if word.page == 1)
    assert all(word.left >= 0 and word.right <= 110 and word.bottom <= 160 for word in words)


def test_what_is_no_longer_sold_has_no_label(tmp_path: Path) -> None:
    text = (CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8")
    closed = text.replace("photo =", 'status = "closed"\nphoto =')
    catalog = catalog_of(tmp_path / "shop", LARGE, files={"sets/dawn/set.toml": closed})
    (job,) = write_labels(Listings(catalog, ()), CONTEXT)
    assert job.files[0].codes == ("RRS-1-J1",)


def test_without_settings_there_are_no_labels(tmp_path: Path) -> None:
    shop, _ = read_shop(clean_shop(tmp_path))
    assert list(write_labels(Listings(build_catalog(shop), ()), CONTEXT)) == []


def test_many_short_labels_are_told_worst_first_with_how_many_more() -> None:
    same = {"face": "whole", "side": "height"}
    shorts = [{"code": f"A-{at}", "missing": at + 0.2, "needs": 100 + at, **same} for at in range(6)]
    message, hint = labels.told_short(shorts, "label", METRIC)
    told = "; ".join(f"A-{at} lacks {at + 1} mm of height" for at in (5, 4, 3, 2))
    assert message.endswith(f"{told}; and 2 more.")
    assert "at least 105 mm high, a front and a back in place of one, or fewer words" in hint


OPENED = (
    ("code,name,form", "code,after opening (months),name,form"),
    ("\nRR-B1,", "\nRR-B1,{soap},"),
    ("\nRR-J1,", "\nRR-J1,12,"),
    ("\nRR-J2,", "\nRR-J2,6,"),
    ("\nRR-M1,", "\nRR-M1,,"),
)


@needs_poppler
@pytest.mark.parametrize(
    ("soap", "shown"),
    [
        ("12", [["12M"], ["6M", "Body butter", "12M", "Bar soap"]]),
        ("", [["12M", "Body butter"], ["6M", "Body butter"]]),
    ],
)
def test_an_open_jar_has_the_months_and_whose_they_are(soap: str, shown: list[list[str]], tmp_path: Path) -> None:
    """Regulation (EC) No 1223/2009, article 19(1)(c) and Annex VII, from memory: months within the open jar."""
    rows = tuple((old, new.format(soap=soap)) for old, new in OPENED)
    catalog = catalog_of(tmp_path / "shop", LARGE, items=rows)
    paper = label_paper(catalog)
    assert paper is not None
    assert [[word for one in text.opened for word in (one.months, one.names) if word] for text in paper.texts] == shown
    words = words_of(printed(catalog, tmp_path / "a.pdf"))
    assert Counter(word.text for word in words if word.text in {"6M", "12M"}) == Counter(
        word for label in shown for word in label if word in {"6M", "12M"}
    )
    dates = [word for word in words if word.text == "Best"]
    jars = [word for word in words if word.text in {"6M", "12M"}]
    if soap == "12":  # one for all that is inside stands beside the last day, the others below it
        assert jars[0].left > dates[0].left
        assert jars[0].top < dates[0].top + 10 < jars[1].top


def test_what_keeps_at_most_30_months_has_a_last_day_and_what_keeps_longer_its_first(tmp_path: Path) -> None:
    """Regulation (EC) No 1223/2009, article 19(1)(c), from memory: no last day is asked for above 30 months."""
    for months, date in (("30", "Best used before the end of"), ("31", "Made on")):
        rows = (
            ("code,name,form", "code,shelf life (months),name,form"),
            *((f"\nRR-{code},", f"\nRR-{code},{months},") for code in ("B1", "J1", "J2", "M1")),
        )
        paper = label_paper(catalog_of(tmp_path / months, LARGE, items=rows))
        assert paper is not None
        assert {spoken.date for text in paper.texts for spoken in text.spoken} == {date}


@pytest.mark.parametrize(
    ("country", "says"), [("GB", "Best used before the end of"), ("FR", "Best used before the end of"),
                          ("CH", "Best used before the end of"), ("US", "Best before"), ("CA", "Best before")],
)  # fmt: skip
def test_the_last_day_stands_behind_the_words_of_the_law_where_one_prescribes_them(
    country: str, says: str, tmp_path: Path
) -> None:
    """Regulation (EC) No 1223/2009, article 19(1)(c), from memory; the Swiss ordinance SR 817.023.31, article 9."""
    catalog = catalog_of(tmp_path, LARGE)
    settings = catalog.shop.settings.model_copy(update={"country": country})
    paper = label_paper(replace(catalog, shop=replace(catalog.shop, settings=settings)))
    assert paper is not None
    assert {spoken.date for text in paper.texts for spoken in text.spoken} == {says}


def test_a_logo_is_printed_at_a_bounded_size_and_told_where_it_is_no_picture(tmp_path: Path) -> None:
    """A drawing that holds a script is never opened as one; 40 megapixels become 500 pixels."""
    shop = clean_shop(tmp_path / "svg")
    text = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    drawing = f"<svg xmlns='http://www.w3.org/2000/svg'><script>{'x' * 60_000}</script></svg>"
    (shop / "logo.svg").write_text(drawing, encoding="utf-8")
    (shop / "shop.toml").write_text(f'logo = "logo.svg"\n{text}\n[labels]\n{LARGE}\n', encoding="utf-8")
    read, problems = read_shop(shop)
    assert read.logo is None
    assert [(problem.place.file, problem.code) for problem in problems] == [("logo.svg", "not-a-picture")]
    assert "this is an SVG drawing" in problems[0].message
    assert "as PNG" in problems[0].hint

    large = clean_shop(tmp_path / "large")
    Image.new("L", (8000, 5000), 90).save(large / "logo.png")
    (large / "shop.toml").write_text(f'logo = "logo.png"\n{text}\n[labels]\n{LARGE}\n', encoding="utf-8")
    made = printed(build_catalog(read_shop(large)[0]), tmp_path / "a.pdf")
    with pikepdf.open(made) as pdf:
        (logo,) = {image.objgen: image for page in pdf.pages for image in page.images.values()}.values()
        assert (int(logo.Width), int(logo.Height)) == (500, 312)


def test_labels_of_a_box_with_a_size_of_its_own_are_in_a_file_of_their_own(demo: Listings) -> None:
    """Box P has small ones, what lies in no box has others; what is not stated there is as under [labels]."""
    stated = ({"box": "P", "size": "100 x 60 mm"}, {"box": "none", "size": "60 x 90 mm", "sheet": "roll"})
    sizes = tuple(map(BoxLabels.model_validate, stated))
    shop = demo.catalog.shop
    settings = shop.settings.model_copy(update={"box_labels": sizes})
    listings = replace(demo, catalog=replace(demo.catalog, shop=replace(shop, settings=settings)))
    jobs = {job.files[0].path: job for job in write_labels(listings, CONTEXT)}
    boxes: dict[str, list[str]] = {}
    for facts in demo.catalog.sets:
        for one in facts.variants:
            own = one.box.code if one.box else "none"
            boxes.setdefault(own if own in {"P", "none"} else "", []).append(one.code)
    files = {box: f"print/outside-labels{f'-box-{box.lower()}' if box else ''}.pdf" for box in boxes}
    made = {path: list(job.files[0].codes) for path, job in jobs.items()}
    assert made == {files[box]: own for box, own in boxes.items()}
    assert {paper.box: (str(paper.labels.size.width), paper.labels.faces) for paper in papers_of(listings).labels} == {
        box: {"": ("140", 2), "P": ("100", 2), "none": ("60", 2)}[box] for box in boxes
    }


def test_boxes_whose_codes_are_one_in_plain_letters_have_files_of_their_own(demo: Listings) -> None:
    """S.1 and S-1 were both written to …-box-s-1.pdf, which ended the build."""
    paper = papers_of(demo).labels[0]
    codes = ("S.1", "S-1", "S_1")
    texts = tuple(replace(paper.texts[0], code=code, box=code) for code in codes)
    sizes = tuple(BoxLabels.model_validate({"box": code, "size": "100 x 60 mm"}) for code in codes)
    names = [file_of(one)[0] for one in by_size(replace(paper, texts=texts), sizes)]
    assert len(set(names)) == 3
    assert [path_fault(f"print/{name}.pdf") for name in names] == [""] * 3


LONG_NAME = "Ringelblumengeschenkschachtel"


@needs_poppler
@pytest.mark.parametrize("faces", [1, 2])
def test_a_long_word_is_set_smaller_and_runs_over_no_neighbour(faces: int, tmp_path: Path) -> None:
    """A German compound: the type of a name grew with the height that was free, over the label beside it."""
    set_file = (CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8")
    named = re.sub(r'(?m)^name = ".*"', f'name = "{LONG_NAME}"', set_file, count=1)
    says = f'size = "90 x 90 mm"\nsheet = "A4"\nfaces = {faces}\ntest_page = false'
    catalog = catalog_of(tmp_path / "shop", says, files={"sets/dawn/set.toml": named})
    words = [word for word in words_of(printed(catalog, tmp_path / "a.pdf")) if word.text == LONG_NAME]
    assert len(words) == len(catalog.sets[0].variants) * faces
    for word in words:
        assert word.right - word.left <= 90 - 2 * 3.5 + 0.01
        assert word.right <= 210


def test_a_word_for_which_a_label_is_too_narrow_is_told_before_and_when_it_is_made(tmp_path: Path) -> None:
    set_file = (CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8")
    named = re.sub(r'(?m)^name = ".*"', f'name = "{LONG_NAME * 6}"', set_file, count=1)
    catalog = catalog_of(tmp_path / "shop", LARGE, files={"sets/dawn/set.toml": named})
    paper = label_paper(catalog)
    assert paper is not None
    assert {short.side for short in shorts_of(paper)} == {"width"}
    with pytest.raises(FieldError, match=r"lacks \d+ mm of width"):
        printed(catalog, tmp_path / "a.pdf")
