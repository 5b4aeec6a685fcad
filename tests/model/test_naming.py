"""What a piece is called.

Our own wording: no source for English. That a French, German or Spanish trade name follows what it is, and that Spanish
and German put it in their own quotes there, is the usage of the trade, from memory.
"""

import pytest

from listkit.model.naming import NAME_FIRST, Naming, full_name
from listkit.model.shop import Templates
from listkit.read.templates import naming_in, own_templates

OURS = Templates(own_templates())


@pytest.mark.parametrize(
    ("name", "form", "called"),
    [
        ("Rosemary & Rind", "bar soap", "Rosemary & Rind bar soap"),
        ("Lip balm Beeswax", "lip balm", "Lip balm Beeswax"),
        ("Beeswax Lip Balm", "lip balm", "Beeswax Lip Balm"),
        ("Sea Salt", "salt scrub", "Sea Salt scrub"),
        ("Oat bar", "bar soap", "Oat bar soap"),
        ("Baume à lèvres Menthe", "baume à lèvres", "Baume à lèvres Menthe"),
        ("Crème", "creme", "Crème"),
        ("Soapwort", "soap", "Soapwort soap"),
        ("Balm of Gilead", "lip balm", "Balm of Gilead lip balm"),
        ("Mini Clover", "mini butter", "Mini Clover butter"),
        ("Mini Tomato Leaf", "mini sugar scrub", "Mini Tomato Leaf sugar scrub"),
        ("Bar of Oats", "bar soap", "Bar of Oats soap"),
        ("Boar Bristle Brush", "nail brush", "Boar Bristle Brush"),
        ("Lavender soap", "bar soap", "Lavender soap"),
        ("Handsoap", "soap", "Handsoap"),
        ("Starlight", "tea light", "Starlight tea light"),
        ("Plain", "", "Plain"),
    ],
)
def test_no_word_of_name_and_form_is_said_twice(name: str, form: str, called: str) -> None:
    assert full_name(name, form, NAME_FIRST) == called


@pytest.mark.parametrize(
    ("language", "name", "form", "within", "alone"),
    [
        ("en", "Rosemary & Rind", "bar soap", "Rosemary & Rind bar soap", "Rosemary & Rind bar soap"),
        ("en-US", "Rosemary & Rind", "bar soap", "Rosemary & Rind bar soap", "Rosemary & Rind bar soap"),
        ("fr", "Romarin & Zeste", "savon", "savon Romarin & Zeste", "Savon Romarin & Zeste"),
        ("fr", "Savon Romarin & Zeste", "savon", "Savon Romarin & Zeste", "Savon Romarin & Zeste"),
        ("fr", "Baume à lèvres Menthe", "baume à lèvres", "Baume à lèvres Menthe", "Baume à lèvres Menthe"),
        ("fr", "Mini trèfle", "mini-beurre", "mini-beurre Mini trèfle", "Mini-beurre Mini trèfle"),
        ("fr", "Gommage de mer", "gommage au sel", "Gommage de mer", "Gommage de mer"),
        ("fr-CA", "Menthe", "baume à lèvres", "baume à lèvres Menthe", "Baume à lèvres Menthe"),
        ("de", "Rosmarin & Rinde", "Seife", "Seife „Rosmarin & Rinde“", "Seife „Rosmarin & Rinde“"),
        ("de", "Rosmarinseife", "Seife", "Rosmarinseife", "Rosmarinseife"),
        ("de", "Rosmarinseife mit Honig", "Seife", "Rosmarinseife mit Honig", "Rosmarinseife mit Honig"),
        ("de", "Seife mit Rosmarin", "feste Seife", "Seife mit Rosmarin", "Seife mit Rosmarin"),
        ("de", "Rosmarin", "feste Seife", "feste Seife „Rosmarin“", "Feste Seife „Rosmarin“"),
        ("de", "Eis", "Öl", "Öl „Eis“", "Öl „Eis“"),
        ("es", "Romero y corteza", "jabón", "jabón «Romero y corteza»", "Jabón «Romero y corteza»"),
        ("es", "Jabón de romero", "jabón en pastilla", "Jabón de romero", "Jabón de romero"),
        ("es", "Sal de mar", "exfoliante de sal", "exfoliante de sal «Sal de mar»", "Exfoliante de sal «Sal de mar»"),
        ("es-MX", "Menta", "bálsamo labial", "bálsamo labial «Menta»", "Bálsamo labial «Menta»"),
        ("es", "Menta", "", "Menta", "Menta"),
    ],
)
def test_name_and_form_stand_as_the_language_has_them(
    language: str, name: str, form: str, within: str, alone: str
) -> None:
    naming = naming_in(OURS, language)
    assert (full_name(name, form, naming), naming.alone(name, form)) == (within, alone)


@pytest.mark.parametrize("text", ["alone = ", "[titles]\nalone = 3", "titles = 1", "[sentences]"])
def test_words_that_cannot_be_read_leave_the_order_of_english(text: str) -> None:
    """What is wrong with them is told where texts are made."""
    assert naming_in(Templates((("words/xx.toml", text),)), "xx") == NAME_FIRST


def test_the_owner_s_words_and_those_of_a_country_say_the_order() -> None:
    words = (
        ("words/it.toml", '[titles]\nalone = "{form} – {name}"'),
        ("words/it-CH.toml", '[titles]\nshared = "first"'),
    )
    assert naming_in(Templates(words), "it-CH") == Naming("{form} – {name}", "first")


@pytest.mark.parametrize(
    ("name", "form", "called"),
    [
        ("Blend 1 2 4", "½ ¼ soap", "Blend 1 2 4 ½ ¼ soap"),
        ("Kg ml", "㎏ ㎖ soap", "Kg ml ㎏ ㎖ soap"),
        ("Gelée", "gele\u0301e soap", "Gelée soap"),
        ("Gele\u0301e", "gelée soap", "Gele\u0301e soap"),
        ("Rosa", "eco\u0301 soap", "Rosa eco\u0301 soap"),
    ],
)
def test_words_are_counted_as_they_are_written(name: str, form: str, called: str) -> None:
    """One sign may be compared as two words, and a letter may be written as two signs (Unicode, Annex 15)."""
    assert full_name(name, form, Naming()) == called
