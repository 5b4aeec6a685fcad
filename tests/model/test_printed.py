"""Settings of labels and cards: what is read, and what is told."""

from decimal import Decimal
from pathlib import Path

import pytest

from listkit.model.labels import Face, Labels
from listkit.read.parts import read_settings
from tests.shops import CLEAN, clean_shop, lines

TEXT = (CLEAN / "shop.toml").read_text(encoding="utf-8")


def read(root: Path, more: str) -> tuple[Labels | None, list[str]]:
    clean_shop(root, {"shop.toml": f"{TEXT}\n\n[labels]\n{more}\n"})
    said, problems = read_settings(root, "shop.toml")
    return said.settings.labels, [line.partition(": ")[2] for line in lines(problems)]


def test_labels_are_read_in_any_unit(tmp_path: Path) -> None:
    labels, told = read(tmp_path, 'size = "4 x 3 in"\nsheet = "Letter"\ncrop_marks = "no"\nbarcodes = "80 %"')
    assert told == []
    assert labels is not None
    assert labels.size == Face(Decimal("101.6"), Decimal("76.2"))
    assert labels.sheet.name == "letter"
    assert (labels.crop_marks, labels.test_page, labels.barcodes) == (False, True, Decimal("0.8"))


def test_without_the_table_no_labels_are_asked_for(tmp_path: Path) -> None:
    clean_shop(tmp_path, {})
    assert read_settings(tmp_path, "shop.toml")[0].settings.labels is None


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('size = "0 x 140 mm"', '"0 x 140 mm" has a side of zero. Write width and height, as in "100 x 140 mm".'),
        ('size = "96 mm"', '"96 mm" has 1 side, not two. Write width and height, as in "100 x 140 mm".'),
        ('size = "0.01 x 140 mm"', '"0.01 x 140 mm" is too small to be read. Write sides of at least 5 mm.'),
        ('sheet = "9999 x 297 mm"', '"9999 x 297 mm" is larger than any sheet. Write sides of at most 1200 mm.'),
        ('size = "96 x 134"', '"96" has no unit. Write the unit with it, as in "100 x 140 mm".'),
        ('sheet = "A5"', '"A5" is no sheet. Write "A4", "A4 landscape", "letter", "letter landscape", "roll", or its'),
        ("columns = 0", "it is zero. Write a whole number above zero, or leave it out where it need not be there."),
        ('barcodes = "50 %"', '50 % is too small or too large. Write "80 %" to "200 %".'),
        ('languages = ["en-GB", "fr", "de"]', "it names 3 languages. Name one or two."),
        ('languages = ["fr", "fr"]', 'it names "fr" twice. Name each once.'),
        ('languages = ["english"]', '"english" is not a language. Write it as in "en-GB" or "fr".'),
        ('siez = "100 x 140 mm"', 'there is no key "siez". Write "size".'),
    ],
)
def test_what_is_wrong_is_told_with_what_to_write(line: str, says: str, tmp_path: Path) -> None:
    _, told = read(tmp_path, line)
    assert len(told) == 1
    assert says in told[0]
