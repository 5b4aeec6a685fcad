"""Ten awkward goods: label and listing carry the same warnings, those that the law or good practice asks for."""

import datetime
from pathlib import Path

import pytest

from listkit.listing.labels import label_paper
from listkit.pipeline import Checked, check_shop
from tests.awkward_goods import GOODS, TODAY, awkward_shop

# What an inspector would look for on each, in words of its warning, and whose rule it is.
ASKED = {
    "AG-01": ("Excessive use or prolonged exposure", "slippery"),  # 21 CFR 740.17, foaming detergent bath products
    "AG-02": ("Melt it only in a warmer", "swallow"),  # common practice, no source
    "AG-03": ("nuts or tree fruits", "slippery", "essential oils"),  # common practice; FDA, Aromatherapy
    "AG-04": ("is not food",),  # Regulation (EU) 2023/988, from memory
    "AG-05": ("except under adult supervision", "slippery"),  # 21 CFR 740.17(b), children's products
    "AG-06": ("for babies, ask a doctor", "melts"),  # FDA, Aromatherapy
    "AG-07": ("Never leave a burning candle alone",),  # ASTM F2058-07(2021) and EN 15494:2019
    "AG-08": ("in the area of the eye", "cut or abraded scalp", "behind the ear"),  # 21 CFR 73.2190(d), henna
    "AG-09": ("essential oils", "inside of the arm", "nuts or tree fruits"),  # common practice; FDA, Aromatherapy
    "AG-10": ("does not contain a sunscreen",),  # 21 CFR 740.19
}


@pytest.fixture(scope="module")
def british(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    """The shop in Great Britain."""
    return check_shop(awkward_shop(tmp_path_factory.mktemp("awkward")), datetime.date.fromisoformat(TODAY))


def codes_at(checked: Checked, code: str) -> set[str]:
    """Return the codes of what is told of an item, or of several with it."""
    return {problem.code for problem in checked.problems if problem.place.row == code or code in problem.message}


def _said(caution: str) -> str:
    """Return how a text says a caution: of nuts it tells in the notes beneath its ingredients."""
    return "of nuts, coconut or shea are in" if "nuts or tree fruits" in caution else caution


def test_labels_and_listings_warn_of_the_same(british: Checked) -> None:
    paper = label_paper(british.catalog)
    assert paper is not None
    listed = {listing.facts.code: " ".join(listing.plain.split()) for listing in british.listings}
    for text in paper.texts:
        (spoken,) = text.spoken
        for warning in (*spoken.warnings, *spoken.cautions):
            assert _said(" ".join(warning.split())) in listed[text.code]
        label = " ".join((*spoken.warnings, *spoken.cautions))
        for asked in ASKED[text.code.replace("AGS", "AG")]:
            assert asked in label, text.code


def test_what_is_no_cosmetic_has_no_last_day_unless_its_row_says_so(british: Checked) -> None:
    """Regulation (EC) 1223/2009, Article 19(1)(c), is about cosmetics: a candle and a wax melt are none."""
    paper = label_paper(british.catalog)
    assert paper is not None
    made = {text.code for text in paper.texts if text.spoken[0].date == "Made on"}
    assert made == {"AGS-02", "AGS-07"}


def test_what_a_law_prescribes_for_henna_stands_among_the_warnings(british: Checked) -> None:
    """21 CFR 73.2190(d): not in the area of the eye, not on cut or abraded scalp, or their equivalent."""
    paper = label_paper(british.catalog)
    assert paper is not None
    (henna,) = (text.spoken[0] for text in paper.texts if text.code == "AGS-08")
    assert any("area of the eye" in one and "cut or abraded scalp" in one for one in henna.warnings)


@pytest.mark.parametrize("shop", ["british", "demo"])
def test_a_label_names_the_warnings_of_its_variant_and_no_others(shop: str, request: pytest.FixtureRequest) -> None:
    """Label, feed and text of each variant: all say the sentences chosen for its pieces, in different dress."""
    asked = request.getfixturevalue(shop)
    catalog, listings = asked.catalog, asked.listings
    paper = label_paper(catalog)
    assert paper is not None
    labels = {text.code: text.spoken[0] for text in paper.texts}
    compared = set[str]()
    for listing in (listing for listing in listings if listing.language == paper.voice.language):
        for offer in (offer for offer in listing.offers if offer.variant.code in labels):  # pieces alone have no box
            label = " ".join((*labels[offer.variant.code].warnings, *labels[offer.variant.code].cautions))
            missing = [each for each in offer.cautions if each not in label or _said(each) not in listing.plain]
            assert missing == []
            for sentence in sorted(offer.cautions, key=len, reverse=True):
                label = label.replace(sentence, "")
            assert "." not in label, (offer.variant.code, label)  # names of pieces are left, and no sentence
            compared.add(offer.variant.code)
    assert compared == labels.keys()


def test_what_a_label_cannot_put_right_is_told(british: Checked) -> None:
    """Food look-alikes, oils for babies, goods for children, names that are no INCI names, scented mixtures."""
    assert all("caution-missing" in codes_at(british, code) for code in ("AG-01", "AG-02", "AG-05", "AG-07", "AG-10"))
    assert "like-food" in codes_at(british, "AG-04")
    assert {"caution-age", "claim-evidence"} <= codes_at(british, "AG-06")
    assert "claim-evidence" in codes_at(british, "AG-05")
    assert all("ingredient-plain" in codes_at(british, code) for code in ("AG-01", "AG-03", "AG-09"))
    scented = [problem.place.row for problem in british.problems if problem.code == "hazard-unlabelled"]
    assert scented == ["AG-02", "AG-07"]  # the melts and the candle, once each
    assert len(british.problems) - len(scented) <= len(GOODS) + 1


def test_in_the_united_states_quantities_come_in_ounces_and_ingredients_in_english(tmp_path: Path) -> None:
    """15 USC 1453(a)(2), both systems; 21 CFR 701.3(c), names, from memory; 1 fl oz is 29.5735 ml (NIST)."""
    checked = check_shop(awkward_shop(tmp_path, country="US"), datetime.date.fromisoformat(TODAY))
    paper = label_paper(checked.catalog)
    assert paper is not None
    (bath,) = (text for text in paper.texts if text.code == "AGS-01")
    assert bath.spoken[0].contents.replace("\u00a0", " ") == "8.45 fl oz (250 ml)"
    (plain,) = (problem for problem in checked.problems if problem.code == "ingredient-plain")
    assert '"Water" for "Aqua"' in plain.hint
    assert '"Yellow 5" for "CI 19140"' in plain.hint  # 21 CFR 74, names of colours, from memory
    assert "like-food" not in {problem.code for problem in checked.problems}
