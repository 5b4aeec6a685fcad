"""Sections of sentences: read over their base, and every fault told where it stands."""

from dataclasses import dataclass

import pytest

from listkit.listing.print_words import read_sections
from listkit.listing.sentences import with_places
from listkit.model.shop import Templates


@dataclass(frozen=True, slots=True)
class Greeting:
    """Two sentences."""

    plain: str
    named: str = with_places("name")


KINDS = (("greeting", Greeting),)


def read(**texts: str) -> tuple[object, list[str]]:
    templates = Templates(tuple((f"hello/{name.replace('_', '-')}.toml", text) for name, text in texts.items()))
    sections, problems = read_sections(templates, "hello", "en-GB", KINDS)
    return (sections["greeting"] if sections else None), [f"{one}  {one.code}" for one in problems]


BASE = '[greeting]\nplain = "Hello"\nnamed = "Hello {name}"\n'


def test_a_country_is_read_over_its_base() -> None:
    greeting, told = read(en=BASE, en_GB='[greeting]\nplain = "Good day"\n')
    assert (greeting, told) == (Greeting("Good day", "Hello {name}"), [])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "[greeting]\nplain = 3\nnamed = 'a {name}'",
            '"greeting.plain" is not a text. Write it in quotes.  template-fault',
        ),
        ("[greeting]\nnamed = 'a {name}'", 'there is no "greeting.plain". Write plain = "...".  language-missing'),
        (BASE.replace("{name}", "{nmae}"), '"greeting.named" has a place {nmae}. Known here: {name}.  template-fault'),
        ("greeting = ", "this is not TOML. Look at the quotes and brackets.  template-fault"),
    ],
)
def test_a_fault_is_told_with_what_to_write(text: str, says: str) -> None:
    greeting, told = read(en=text)
    assert greeting is None
    assert [line.partition(": ")[2] for line in told] == [says]


def test_a_language_without_words_is_told_once() -> None:
    assert read(fr=BASE)[1] == [
        'Must fix · templates/hello/en.toml: there is nothing in "en-GB". Write this file after '
        "templates/hello/en.toml.  language-missing"
    ]
