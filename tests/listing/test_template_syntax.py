"""A template's text: bounds before anything is built, slips in plain words with their line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment, nodes

from listkit.listing.template_rules import MOST_SOURCE, TemplateFault, parse, plain_words

ENGINE = Environment(autoescape=False)  # nothing is rendered here
ENGINE_WORDS = ("jinja", "token", "print statement", "statement block", "template data", "unexpected", "parse", "None")


def fault_of(source: str) -> TemplateFault:
    with pytest.raises(TemplateFault) as caught:
        parse(ENGINE, source)
    return caught.value


@pytest.mark.parametrize(
    ("source", "line", "message", "hint"),
    [
        ("{{ name", 1, "{{ is not closed.", "Write }} behind it."),
        ("a\n{% if name", 2, "{% is not closed.", "Write %} behind it."),
        ("{{ }}", 1, "there is nothing between {{ and }}.", "Write a name there."),
        ("\n{% if n %}x", 2, "{% if %} is not closed.", "Write {% endif %}."),
        ("{% for a in b %}x", 1, "{% for %} is not closed.", "Write {% endfor %}."),
        ("{% if n %}{% endfor %}", 1, "{% endfor %} does not belong here.", "Close first what was opened last."),
        ("{% endif %}", 1, "{% endif %} does not belong here.", "Close first what was opened last."),
        ("{% %}", 1, "{% has no word behind it.", "Write {% if %} or {% for %}."),
        ("{{ name ? }}", 1, '"?" is not understood here.', "Leave it out."),
        ("{{ 'abc }}", 1, "a text in quotes is not closed.", "Write the second quote."),
        ("{{ (n }}", 1, '")" is missing before "}".', 'Write ")".'),
        ("{{ n) }}", 1, '")" is not understood here.', "Leave it out."),
        ("{{ name theme }}", 1, '"theme" stands where "}}" should be.', "Look at what is before it."),
        ("{{ name | }}", 1, 'a name is missing before "}}".', "Write it."),
        ("{{ name. }}", 1, 'a name is missing behind ".".', "Write it as in {{ set.name }}."),
        ("{% for a items %}{% endfor %}", 1, '"in" is missing behind "for".', "Write {% for item in items %}."),
        ("{{ a is none is none }}", 1, '"is" stands twice.', 'Write "and" between two questions.'),
        ("a\n{{ set.name } and {{ items }}", 2, 'a brace is missing behind "{{ set.name".', 'Write "{{ set.name }}".'),
        ("{{ set.name }\n", 1, 'a brace is missing behind "{{ set.name".', 'Write "{{ set.name }}".'),
        (
            "{{ price | number(2) }.",
            1,
            'a brace is missing behind "{{ price | number(2)".',
            'Write "{{ price | number(2) }}".',
        ),
        (
            "{{ items, packed snug\nin a box.\n\nMore.",
            1,
            'a brace is missing behind "{{ items".',
            'Write "{{ items }}".',
        ),
        ("{{ items and {{ set.name }}.", 1, 'a brace is missing behind "{{ items".', 'Write "{{ items }}".'),
        ("{% if n }x{% endif %}", 1, 'a brace is missing behind "{% if n".', 'Write "{% if n %}".'),
        ("{% if n %x{% endif %}", 1, 'a brace is missing behind "{% if n".', 'Write "{% if n %}".'),
        ("{# a remark", 1, "{# is not closed.", "Write #} behind it."),
        ("{% raw %}{{ a", 1, "{% raw %} is not closed.", "Write {% endraw %}."),
    ],
)
def test_a_slip_is_told_in_plain_words_with_its_line(source: str, line: int, message: str, hint: str) -> None:
    fault = fault_of(source)
    assert (fault.line, fault.message, fault.hint) == (line, message, hint)


@pytest.mark.parametrize(
    "statement",
    [
        "set a = 1", "macro a()", "call a()", "filter upper", "with a = 1", 'include "/etc/passwd"', 'import "x" as y',
        'from "x" import y', 'extends "x"', "block x", "autoescape false", "print a", "do a", "break", "debug", "trans",
    ],
)  # fmt: skip
def test_only_if_and_for_are_read(statement: str) -> None:
    fault = fault_of(f"one\ntwo\n{{% {statement} %}}")
    assert (fault.line, fault.hint) == (3, "Only {% if %} and {% for %} can.")
    assert fault.message == f"{{% {statement.split(maxsplit=1)[0]} %}} cannot be used here."


@pytest.mark.parametrize(
    "source",
    [
        "a" * (MOST_SOURCE + 1),
        "{{" + "(" * 5000 + "1" + ")" * 5000 + "}}",
        "{{ " + "[" * 50 + "1" + "]" * 50 + " }}",
        "{% if n %}" * 2000 + "{% endif %}" * 2000,
        "{% for a in b %}" * 11 + "{% endfor %}" * 11,
        "{{ " + "not " * 5000 + "n }}",
        "{{ " + "-" * 5000 + "n }}",
        "{{ n" + " if n else n" * 5000 + " }}",
        "{{ n" + "|trim" * 5000 + " }}",
        "{{ n" + ".a" * 5000 + " }}",
        "{{ n" + " + n" * 5000 + " }}",
        "{{ " + "9" * 5000 + " }}",
        "{{ 1e" + "9" * 5000 + " }}",
        "{{ 0x" + "f" * 5000 + " }}",
    ],
)
def test_a_template_larger_or_deeper_than_the_bounds_is_refused(source: str) -> None:
    assert fault_of(source).hint in {"Shorten it.", "Make it simpler.", "Write fewer digits."}


def test_a_template_of_the_full_length_is_read() -> None:
    tree = parse(ENGINE, "a" * MOST_SOURCE)
    assert isinstance(tree, nodes.Template)


@pytest.mark.parametrize("sign", ["\0", "\x07", "\x1b", "\x7f", "\ud800"])
def test_a_sign_that_no_text_holds_is_told_where_it_stands(sign: str) -> None:
    assert fault_of(f"one\r\ntwo\r{sign}").line == 3
    assert f"U+{ord(sign):04X}" in fault_of(sign).message


@pytest.mark.parametrize("text", [r"\x00", r"\ud800", r"\N{DIGIT ONE}", r"\d", "\\\n", r"\\\x41", r"\101"])
def test_a_text_in_quotes_cannot_write_signs_by_number(text: str) -> None:
    assert fault_of(f'{{{{ "{text}" }}}}').message == "a backslash in a text in quotes needs a second one."


def test_a_text_in_quotes_may_hold_line_ends_tabs_quotes_and_backslashes() -> None:
    (output,) = parse(ENGINE, r'{{ "\n\t\"\'\\x41" }}').body
    assert isinstance(output, nodes.Output)
    (text,) = output.nodes
    assert isinstance(text, nodes.Const)
    assert text.value == "\n\t\"'\\x41"


pieces = st.sampled_from(
    ["{{", "}}", "{%", "%}", "{#", "#}", " ", "if", "for", "in", "endif", "endfor", "else", "elif", "a", ".", "|",
     "upper", "(", ")", "[", "]", "{", "}", ",", "'", '"', "\\", "1", "1.5", "~", "+", "-", "**", "==", "<", "is",
     "not", "none", "\n", "é", "raw", "endraw", "_", "loop", "recursive", ":", "=", "!"]
)  # fmt: skip


@given(st.lists(pieces, max_size=30).map("".join) | st.text(max_size=50))
def test_any_text_is_read_or_told_without_the_engines_own_phrases(source: str) -> None:
    try:
        parse(ENGINE, source)
    except TemplateFault as fault:
        assert 1 <= fault.line <= source.count("\n") + source.count("\r") + 1
        assert fault.message
        assert fault.hint
        assert not [word for word in ENGINE_WORDS if word in fault.message + fault.hint and word not in source]


def test_a_phrase_we_do_not_know_is_told_all_the_same() -> None:
    assert plain_words("the frobnicator is out of grease")[0] == "this is not understood."
