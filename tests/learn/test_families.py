"""Headings with a number in them."""

import pytest

from listkit.learn.heading import Numbered, heading_of, members_of, numbered_heading


@pytest.mark.parametrize(
    ("heading", "plain", "number", "pattern"),
    [
        ("Picture 3", "Picture", 3, "Picture {n}"),
        ("Foto_03", "Foto", 3, "Foto_{nn}"),
        ("Jar2 Wert", "Jar Wert", 2, "Jar{n} Wert"),
        ("Bild-URL 12", "Bild-URL", 12, "Bild-URL {n}"),
        ("URL imagen (2)", "URL imagen", 2, "URL imagen ({n})"),
        ("Picture", "Picture", None, "Picture"),
        ("100 ml", "100 ml", None, "100 ml"),
        ("2", "2", None, "2"),
        ("a 1 b 2", "a 1 b 2", None, "a 1 b 2"),
        ("VAT 7,5", "VAT 7,5", None, "VAT 7,5"),
    ],
)
def test_a_number_is_taken_from_its_words(heading: str, plain: str, number: int | None, pattern: str) -> None:
    assert numbered_heading(heading) == Numbered(plain, number, pattern)


def test_a_number_that_belongs_to_the_name_stays() -> None:
    assert heading_of("EAN 13").numbered.number is None
    assert heading_of("GTIN-14").numbered.number is None


@pytest.mark.parametrize(
    ("heading", "plain", "required", "longest"),
    [
        ("Title*", "Title", True, None),
        ("Titel (Pflicht)", "Titel", True, None),
        ("Title (max 72)", "Title", False, 72),
        ("Titre (max. 72 caractères)", "Titre", False, 72),
        ("Titre (72 signes max.)", "Titre", False, 72),
        ("Title [72 characters at most]", "Title", False, 72),
        ("Título [obligatorio]", "Título", True, None),
        ("Story (optional)", "Story", False, None),
        ("Weight (oz)", "Weight (oz)", False, None),
    ],
)
def test_what_a_heading_says_of_its_cells_is_taken_from_it(
    heading: str, plain: str, required: bool, longest: int | None
) -> None:
    found = heading_of(heading)
    assert (found.text, found.numbered.plain, found.required, found.longest) == (heading, plain, required, longest)


@pytest.mark.parametrize(
    ("headings", "members"),
    [
        (["Picture 1", "Picture 2"], (1, 2)),
        (["Foto 0", "Foto 1"], (1, 2)),
        (["Picture", "Picture 2", "Picture 3"], (1, 2, 3)),
        (["Picture", "Picture 1"], (1, 2)),
        (["Photo", "Photo", "Photo"], (1, 2, 3)),
        (["Photo", "Price"], (None, None)),
        (["Picture 2"], (2,)),
    ],
)
def test_members_are_counted_from_one(headings: list[str], members: tuple[int | None, ...]) -> None:
    assert members_of([heading_of(heading) for heading in headings]) == members
