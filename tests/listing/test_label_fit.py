"""What a label needs, as estimated from the widths of letters, against the page that typst lays out."""

import json
import random
import time
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
import typst

from listkit.compute.labels import TypeHeights
from listkit.listing.label_fit import (
    _BOLD,
    _FIGURES,
    _REGULAR,
    _SMALL_LETTERS,
    BOLD,
    REGULAR,
    face_needs,
    faces_of,
    line_count,
)
from listkit.listing.labels import LabelPaper, Opened, Spoken, label_paper
from listkit.listing.listings import Listings
from listkit.model.labels import Labels
from listkit.write.labels import SHORT, labels_layout, sheet_facts
from listkit.write.print import print_unless_said

WITHIN = 0.03
ONE_LINE = 3.1  # mm, of the smallest type allowed
NAMES = (
    "Willow Bark", "Sedge & Salt", "Reine-des-prés", "The Long Evening", "AVATAR Wave", "Fjord Office",
    "St John's-wort",
)  # fmt: skip
INGREDIENTS = (
    "Aqua", "Sodium Olivate", "Butyrospermum Parkii Butter", "Parfum", "Limonene", "CI 77891", "Cera Alba",
    "Tocopherol",
    "Prunus Amygdalus Dulcis Oil", "Mel", "Citrus Aurantium Bergamia Peel Oil", "Glycerin", "Coco-Caprylate/Caprate",
)  # fmt: skip
CAUTIONS = (
    "For external use only.", "Avoid contact with eyes.", "Keep out of reach of children under 36 months.",
    "À conserver à l’abri de la chaleur — ne pas avaler.", "Patch-test first; do not use 2 days after opening 100 ml.",
)  # fmt: skip

OPENED = (
    (), (Opened("6M", "", "Six months"),),
    (Opened("6M", "Willow Bark scrub", "Six"), Opened("12M", "Body butter and bath salts", "A year")),
)  # fmt: skip


def measured(text: str) -> list[list[float]]:
    """What a line of typst gives, in thousandths of an em, by one call with the fonts that labels are printed with."""
    source = (
        f'#set text(font: "Libertinus Serif", fallback: false, size: 1000pt, kerning: false, ligatures: false)\n{text}'
    )
    compiler = typst.Compiler(source.encode(), ignore_system_fonts=True)
    found: list[list[float]] = json.loads(compiler.query("<m>", field="value"))
    return found


def test_every_width_is_that_of_the_font_that_comes_with_typst() -> None:
    for table, weight in ((_REGULAR, "regular"), (_BOLD, "bold")):
        signs = {sign: width for width, signs in table.items() for sign in signs}
        text = (
            f"#let of(sign) = measure(text(weight: {json.dumps(weight)}, sign)).width.pt()\n"
            f"#context [#metadata({json.dumps(''.join(signs), ensure_ascii=False)}.codepoints()"
            '.map(c => of("n" + c + "n") - of("nn"))) <m>]'
        )
        [widths] = measured(text)
        assert dict(zip(signs, map(round, widths), strict=True)) == signs


def test_the_heights_of_letters_figures_and_lines_are_the_fonts() -> None:
    high = 'measure(text(top-edge: {}, bottom-edge: "baseline", weight: {}, {})).height.pt()'
    asked = (('"x-height"', '"regular"', '"o"'), ('"bounds"', '"regular"', '"1"'),
             ('"cap-height"', '"regular"', '"x"'), ('"cap-height"', '"bold"', '"x"'))  # fmt: skip
    [heights] = measured(f"#context [#metadata(({', '.join(high.format(*one) for one in asked)})) <m>]")
    assert [height / 1000 for height in heights] == [_SMALL_LETTERS, _FIGURES, REGULAR.line, BOLD.line]


def estimates_and_pages(paper: LabelPaper, demo: Listings, path: Path) -> list[tuple[float, float]]:
    """What each face needs in height, as estimated and as the layout says; no label is high enough for its text."""
    shop, labels = demo.catalog.shop, paper.labels
    layout = labels_layout(paper.texts, labels, shop, sheet_facts(labels, shop, paper.voice, "Labels"))
    said = {(one["code"], one["face"]): one["needs"] for one in print_unless_said(path, layout, SHORT)
            if one["side"] == "height"}  # fmt: skip
    faces = [(text, face) for text in paper.texts for face in faces_of(labels)]
    assert len(said) == len(faces)
    return [(face_needs(text, paper, face)[1], said[text.code, face]) for text, face in faces]


DATES = (
    "Made on",
    "Best used before the end of",
    "À utiliser de préférence avant fin",
    "Úsese preferentemente antes del final de",
)
SIZES = [("140 x 12 mm", 2), ("90 x 12 mm", 1), ("55 x 12 mm", 1)]


@pytest.mark.parametrize(("size", "faces"), SIZES)
def test_every_label_of_the_demo_is_as_high_as_estimated(size: str, faces: int, demo: Listings, tmp_path: Path) -> None:
    """Reference: the page that typst lays out; at most 3 % more, and never less."""
    paper = paper_of(demo, size, faces)
    for estimated, needed in estimates_and_pages(paper, demo, tmp_path / "a.pdf"):
        assert needed - 0.01 <= estimated <= needed * (1 + WITHIN)


def paper_of(demo: Listings, size: str, faces: int) -> LabelPaper:
    labels = Labels.model_validate(
        {"size": size, "faces": faces, "barcodes": "80 %", "test_page": False, "logo": False}
    )
    shop = demo.catalog.shop
    assert shop.settings.labels is not None
    large = shop.settings.labels.model_copy(update={"type": "panel area"})  # the larger type of the two rules
    settings = shop.settings.model_copy(update={"labels": large})
    paper = label_paper(replace(demo.catalog, shop=replace(shop, settings=settings)))
    assert paper is not None
    return replace(paper, labels=labels)


@pytest.mark.parametrize(("size", "faces"), SIZES)
def test_random_labels_are_as_high_as_estimated(size: str, faces: int, demo: Listings, tmp_path: Path) -> None:
    """Reference: the page that typst lays out. Never less; 3 % more, or one line where kerning decides it."""
    paper, chance = paper_of(demo, size, faces), random.Random(f"{size} {faces}")
    texts = []
    for number in range(16):
        spoken = tuple(
            Spoken(
                language=language,
                identity=f"Gift set: {', '.join(chance.choices(NAMES, k=chance.randint(1, 4)))}",
                pieces=tuple(chance.choices(NAMES, k=chance.randint(1, 6))),
                contents=chance.choice(("1 bar of soap, 100 g; 2 jars, 30 ml each", "Net 250 g", "3 x 15 ml")),
                lines=("1 bar of soap, 100 g", "2 jars, 30 ml each"),
                warnings=tuple(chance.choices(CAUTIONS, k=number % 3)),
                cautions=tuple(chance.choices(CAUTIONS, k=number % 4)),
                made=("Made by Reed & Rushlight, 1 Mill Lane, Nether Wadlow", "Country of origin: United Kingdom"),
                batch="Batch",
                date=chance.choice(DATES),
            )
            for language in ("en-GB", "fr")[: chance.randint(1, 2)]
        )
        listed = tuple(
            (f"{name}:", ", ".join(chance.choices(INGREDIENTS, k=chance.randint(1, 30))))
            for name in chance.sample(NAMES, k=number % 5)
        )
        text = replace(
            paper.texts[number % len(paper.texts)], code=f"R-{number}", name=chance.choice(NAMES), spoken=spoken,
            ingredients=listed, number=f"No. R-{number}", opened=OPENED[number % 3],
            heights=TypeHeights(Decimal(chance.choice(("1.6", "3.2"))), Decimal(chance.choice((0, 3))), Decimal("1.2")),
        )  # fmt: skip
        texts.append(text)
    for estimated, needed in estimates_and_pages(replace(paper, texts=tuple(texts)), demo, tmp_path / "a.pdf"):
        assert needed - 0.01 <= estimated <= needed + max(needed * WITHIN, ONE_LINE)


def test_a_long_number_on_a_label_is_walked_along_once() -> None:
    """Twice as long takes twice as long, not four times; before, 20,000 digits took five seconds."""
    start = time.process_time()
    assert line_count("1" * 20_000, 30.0) == 1
    assert time.process_time() - start < 0.5
    assert line_count("12.5 g", 0.5) == line_count("1112.5 g", 0.5) == 1
