"""languages/*.toml: what the shop calls its goods in other languages."""

from pathlib import Path

from listkit.read.shop import read_shop
from tests.shops import clean_shop, lines


def test_a_form_is_a_word_or_a_table_and_the_file_s_name_is_the_language(tmp_path: Path) -> None:
    text = '[forms]\n"bar soap" = "savon"\n"body butter" = { name = "beurre", many = "beurres" }\n'
    shop, problems = read_shop(clean_shop(tmp_path, {"languages/fr-CA.toml": text}))
    assert problems == []
    [(language, words)] = shop.translations
    assert (language, words.forms["bar soap"].name, words.forms["body butter"].many) == ("fr-CA", "savon", "beurres")


def test_slips_are_told_with_their_place(tmp_path: Path) -> None:
    text = '[froms]\n"bar soap" = "savon"\n\n[sets.RRS-1]\ntheme = "Rien."\n'
    _, problems = read_shop(clean_shop(tmp_path, {"languages/fr.toml": text, "languages/french.toml": ""}))
    assert lines(problems) == [
        'Must fix · languages/fr.toml, line 1: there is no key "froms". Write "forms".  unknown-key',
        'Must fix · languages/fr.toml, line 4: "name" is missing. Add name = "Premier nectar": the set\'s name.'
        "  missing-key",
        'Must fix · languages/french.toml: "french" is not a language. Name the file as in "fr.toml" or "fr-CA.toml".'
        "  bad-value",
    ]
