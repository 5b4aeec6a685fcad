"""Words of labels and cards: ours in every language that we ship them in."""

from pathlib import Path

import pytest

from listkit.listing.print_words import LABEL_FOLDER, CardWords, LabelSheetWords, LabelWords, read_sections, voice_in
from listkit.model.shop import Templates
from listkit.read.shop import read_shop
from tests.shops import clean_shop

SHIPPED = Path(__file__).parents[2] / "templates"
KINDS = (("label", LabelWords), ("card", CardWords), ("sheet", LabelSheetWords))


@pytest.mark.parametrize("file", sorted(SHIPPED.glob(f"{LABEL_FOLDER}/*.toml")), ids=lambda path: path.stem)
def test_every_shipped_language_has_all_sentences(file: Path) -> None:
    files = SHIPPED.glob(f"{LABEL_FOLDER}/*.toml")
    texts = Templates(tuple((f"{LABEL_FOLDER}/{path.name}", path.read_text("utf-8")) for path in files))
    sections, problems = read_sections(texts, LABEL_FOLDER, file.stem, KINDS)
    assert (sections is None, problems) == (False, ())


def test_countries_are_told_by_their_names(tmp_path: Path) -> None:
    """CLDR, through Babel."""
    shop, _ = read_shop(clean_shop(tmp_path))
    voice, problems = voice_in(shop, "en-GB")
    assert voice is not None
    assert (voice.country("GB"), voice.country("FR"), problems) == ("United Kingdom", "France", ())
    assert voice.country("QQ") == "QQ"


def test_what_a_language_lacks_is_told_file_by_file(tmp_path: Path) -> None:
    shop, _ = read_shop(clean_shop(tmp_path))
    voice, problems = voice_in(shop, "sv")
    assert voice is None
    assert sorted(problem.place.file for problem in problems) == [
        "shop.toml", "templates/label/sv.toml",
    ]  # fmt: skip
