"""Stories: values put in and escaped; the short way gives what the whole way gives."""

from dataclasses import dataclass
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from listkit.listing.markdown import to_html
from listkit.listing.templates import Formats, Kind, TemplateFault, compile_template
from listkit.listing.texts import Named, render_story
from listkit.units.money import Money

FORMATS = Formats("en-GB", "GBP")


@dataclass(frozen=True, slots=True)
class SetName:
    name: str


def names(name: str = "Low Tide") -> Named:
    return {"set": SetName(name), "cheapest": Money(Decimal("27.00"), "GBP"), "season": None}


def test_values_are_put_in() -> None:
    assert render_story("{{ set.name }} is {{ cheapest | in_currency }}.", names(), FORMATS) == "Low Tide is £27.00."


def test_no_name_becomes_markup() -> None:
    filled = render_story("{{ set.name }} holds.", names("# *Low* <b>Tide</b> [x](javascript:x)"), FORMATS)
    assert to_html(filled) == "<p># *Low* &lt;b&gt;Tide&lt;/b&gt; [x](javascript:x) holds.</p>\n"


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("One.\n{ set.name }} is it.", 'Write "{{ set.name }}".'),
        ("One.\n{set.name} is it.", 'Write "{{ set.name }}".'),
        ("One.\nFrom { cheapest | in_currency }.", 'Write "{{ cheapest | in_currency }}".'),
        ("{# a { set.name }\n#}{{ set.name }}, { set.name }", 'Write "{{ set.name }}".'),
    ],
)
def test_a_placeholder_with_one_brace_is_no_word_for_buyers(text: str, hint: str) -> None:
    with pytest.raises(TemplateFault) as told:
        render_story(text, names(), FORMATS)
    assert (told.value.line, told.value.hint) == (2, hint)


@pytest.mark.parametrize("text", ["A {smile} for you.", "{# {set.name} #}Soap.", "{} { } {{ set.name }}"])
def test_other_braces_are_words(text: str) -> None:
    assert render_story(text, names(), FORMATS)


def test_a_fault_is_told_with_its_line_in_the_whole() -> None:
    with pytest.raises(TemplateFault) as told:
        render_story("One.\n\nTwo {{ set.name }}.\nThree {{ set.nam }}.", names(), FORMATS)
    assert (told.value.line, told.value.hint) == (4, 'Write "set.name".')


PIECES = st.sampled_from(
    [
        "text ",
        "\n",
        "\n\n",
        "{{ set.name }}",
        "{{ cheapest | in_currency }}",
        "{{set.name}}",
        "{{ set.name | upper }}",
        "{{ season.off_sale | date }}",
        "{{ nobody }}",
        "{% if season %}x{% endif %}",
        "{# a note #}",
        "{{",
        "}}",
        "{",
        "}",
        "# ",
        "* ",
        "\r\n",
        "\x0b",
        "{{ set.name -}}",
        "{{ 'a' }}",
        "{{ set . name }}",
        "{{ | }}",
        "{{ . }}",
        "&",
    ]
)


def way(text: str, *, whole: bool) -> tuple[str, int, str]:
    try:
        if whole:
            return "text", 0, compile_template(text, kind=Kind.MARKDOWN, formats=FORMATS).render(names())
        return "text", 0, render_story(text, names(), FORMATS)
    except TemplateFault as fault:
        return "fault", fault.line, fault.message


@given(st.lists(PIECES, max_size=12).map("".join))
@example("{{ set.name }}\n")
@example("{{ set.name }}{{ nobody }}")
def test_the_short_way_and_the_whole_way_are_one(text: str) -> None:
    assert way(text, whole=False) == way(text, whole=True)


def test_who_asks_for_a_price_is_told_that_a_set_has_two() -> None:
    with pytest.raises(TemplateFault) as caught:
        render_story("{{ price | in_currency }}", {"cheapest": 1, "dearest": 2}, FORMATS)
    hint = "A set has two prices: write {{ cheapest | in_currency }}, {{ dearest | in_currency }} or {{ prices }}."
    assert caught.value.hint == hint
