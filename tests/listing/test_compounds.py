"""Compounds: gender and plural are those of the last part in German, of the first word in Spanish.

Words and plurals: Duden, and Diccionario de la lengua española, from memory.
"""

import pytest

from listkit.listing.words import Words, counted, many, one, parse_words, small
from listkit.read.templates import own_templates


def words_in(language: str) -> Words:
    path = f"words/{language}.toml"
    words, problems = parse_words(language, ((path, dict(own_templates())[path]),))
    assert problems == ()
    assert words is not None
    return words


def german() -> Words:
    return words_in("de")


@pytest.mark.parametrize(
    ("noun", "single", "several"),
    [
        ("Seife", "eine Seife", "Seifen"),
        ("Ziegenmilchseife", "eine Ziegenmilchseife", "Ziegenmilchseifen"),
        ("Lippenbalsam", "ein Lippenbalsam", "Lippenbalsame"),
        ("Körperbutter", "eine Körperbutter", "Körperbuttern"),
        ("Mini-Butter", "eine Mini-Butter", "Mini-Buttern"),
        ("Zuckerpeeling", "ein Zuckerpeeling", "Zuckerpeelings"),
        ("Badekugel", "eine Badekugel", "Badekugeln"),
        ("Badeöl", "ein Badeöl", "Badeöle"),
        ("Handcreme", "eine Handcreme", "Handcremes"),
        ("Seifenschale", "eine Seifenschale", "Seifenschalen"),
        ("Glastiegel", "ein Glastiegel", "Glastiegel"),
        ("Blechdose", "eine Blechdose", "Blechdosen"),
        ("Windlichtglas", "ein Windlichtglas", "Windlichtgläser"),
        ("Duftteelichter", "ein Satz Duftteelichter", "Sätze Duftteelichter"),
        ("feste Seife", "eine feste Seife", "feste Seifen"),
        ("fester Balsam", "ein fester Balsam", "feste Balsame"),
        ("festes Shampoo", "ein festes Shampoo", "feste Shampoos"),
    ],
)
def test_a_compound_goes_as_its_last_part_does(noun: str, single: str, several: str) -> None:
    words = german()
    assert (one(words, noun), many(words, noun)) == (single, several)
    assert counted(words, noun, 2) == f"zwei {several}"


@pytest.mark.parametrize(
    ("slot", "within"),
    [("Kleiner Tiegel", "kleiner Tiegel"), ("Feste Seife", "feste Seife"), ("Seife Nummer zwei", "Seife Nummer zwei"),
     ("Tiegel", "Tiegel"), ("Wärme nach Wunsch", "Wärme nach Wunsch"), ("LED Lampe", "LED Lampe")],
)  # fmt: skip
def test_an_adjective_before_a_noun_is_written_small_and_a_noun_is_not(slot: str, within: str) -> None:
    assert small(german(), slot) == within


@pytest.mark.parametrize(
    ("noun", "single", "several"),
    [
        ("jabón", "un jabón", "jabones"),
        ("jabón en pastilla", "un jabón en pastilla", "jabones en pastilla"),
        ("jabón sólido", "un jabón sólido", "jabones sólidos"),
        ("bálsamo labial", "un bálsamo labial", "bálsamos labiales"),
        ("manteca corporal", "una manteca corporal", "mantecas corporales"),
        ("exfoliante de azúcar", "un exfoliante de azúcar", "exfoliantes de azúcar"),
        ("crema de manos", "una crema de manos", "cremas de manos"),
        ("crema hidratante de día", "una crema hidratante de día", "cremas hidratantes de día"),
        ("bomba de baño", "una bomba de baño", "bombas de baño"),
        ("vela eficaz", "una vela eficaz", "velas eficaces"),
        ("tarro de cristal", "un tarro de cristal", "tarros de cristal"),
        ("champú 2 en 1", "un champú 2 en 1", "champús 2 en 1"),
        ("jabón suave y sólido", "un jabón suave y sólido", "jabones suaves y sólidos"),
        ("bálsamo multiusos", "un bálsamo multiusos", "bálsamos multiusos"),
        ("jabón marrón, alemán", "un jabón marrón, alemán", "jabones marrones, alemanes"),
        ("aceite virgen extra", "un aceite virgen extra", "aceites vírgenes extra"),
        ("velas", "un juego de velas", "juegos de velas"),
        ("velas de té", "un juego de velas de té", "juegos de velas de té"),
        ("sales de baño", "un paquete de sales de baño", "paquetes de sales de baño"),
    ],
)
def test_a_spanish_noun_goes_as_its_first_word_does(noun: str, single: str, several: str) -> None:
    words = words_in("es")
    assert (one(words, noun), many(words, noun)) == (single, several)
