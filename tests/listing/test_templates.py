"""Templates: what they give, what is told of a slip, and that they read as jinja2 itself reads them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment, StrictUndefined
from markdown_it import MarkdownIt
from markupsafe import Markup

from listkit.listing.markdown import MarkdownText, to_html, to_plain
from listkit.listing.templates import Formats, Kind, TemplateFault, compile_template
from tests.listing.template_examples import BALM, BAR, GB, GiftSet, fault_of, render

# What they give


def test_a_cell_puts_two_values_together() -> None:
    assert render("{{ name }}, {{ theme }}") == "First Nectar, One box."


def test_a_story_says_prices_and_dates_in_the_language_of_the_shop() -> None:
    story = "From {{ cheapest | in_currency }} until {{ season.off_sale | date }}: {{ items }}."
    assert render(story, Kind.MARKDOWN) == "From £27.00 until 30 April 2027: bar, balm and tin."
    assert render(story, Kind.MARKDOWN, Formats("fr-FR", "GBP")) == (
        "From 27,00\u00a0£ until 30 avril 2027: bar, balm et tin."
    )


def test_lines_with_only_a_statement_on_them_leave_no_empty_lines() -> None:
    source = "Inside:\n\n{% for item in set.contents %}\n{{ loop.index }}. {{ item.name }}\n{% endfor %}\nEnjoy.\n"
    assert render(source) == "Inside:\n\n1. Rosemary & Rind\n2. *Crème* & [x](y)\nEnjoy.\n"


def test_a_loop_knows_its_first_and_last_turn() -> None:
    assert render("{% for a in items %}{{ '(' if loop.first }}{{ a }}{{ ')' if loop.last else ', ' }}{% endfor %}") == (
        "(bar, balm, tin)"
    )


@pytest.mark.parametrize(
    ("source", "text"),
    [
        ("{{ cheapest * 2 | default(1) }}", "54.00"),
        ("{{ (cheapest * 2) | in_currency }}", "£54.00"),
        ("{{ n / 2 }}", "1.5"),
        ("{{ 0.1 + 0.2 }}", "0.3"),
        ("{{ -n + 1 }}", "-2"),
        ("{{ 'a' + 'b' ~ n }}", "ab3"),
        ("{{ nothing }}|{{ nothing | in_currency }}|{{ nothing | default('none') }}", "||none"),
        ("{{ 'yes' if nothing is none }}{{ 'no' if n > 5 }}", "yes"),
        ("{% for a in nothing %}x{% else %}none{% endfor %}", "none"),
        ("{% if 'bar' in items and n != 4 or false %}in{% elif n %}n{% else %}out{% endif %}", "in"),
        ("{{ set.contents | join(' + ', attribute='name') }}", "Rosemary & Rind + *Crème* & [x](y)"),
        ("{{ (set.contents | first).price | in_currency }}", "£7.50"),
        ("{% raw %}{{ as typed }}{% endraw %}{# a remark #}", "{{ as typed }}"),
        ("a\r\nb\n", "a\nb\n"),
        ("", ""),
    ],
)
def test_a_placeholder_gives_what_an_owner_would_expect(source: str, text: str) -> None:
    assert render(source) == text


def test_values_are_escaped_for_the_kind_of_text() -> None:
    source = "{{ set.name }} {% for i in set.contents %}{{ i.name }};{% endfor %}"
    assert render(source) == "First <Nectar> Rosemary & Rind;*Crème* & [x](y);"
    assert render(source, Kind.HTML) == "First &lt;Nectar&gt; Rosemary &amp; Rind;*Crème* &amp; [x](y);"
    assert render(source, Kind.MARKDOWN) == "First \\<Nectar> Rosemary & Rind;\\*Crème\\* & \\[x\\](y);"


def test_a_text_in_quotes_is_a_value_and_escaped_like_one() -> None:
    assert render("{{ '<b>' }}{{ 'a' ~ '<b>' }}{{ x | join('<br>') }}", Kind.HTML) == "&lt;b&gt;a&lt;b&gt;a&lt;br&gt;b"
    assert render("{{ '*a*' }}", Kind.MARKDOWN) == "\\*a\\*"


def test_a_finished_text_is_put_in_as_it_stands_where_it_belongs() -> None:
    story = {"story": "A *warm* <b>", "page": Markup("<p>x</p>"), "text": MarkdownText("*x*")}
    assert render("{{ story | html }}", Kind.HTML, names=story) == "<p>A <em>warm</em> &lt;b&gt;</p>\n"
    assert render("{{ story | markdown }}", Kind.MARKDOWN, names=story) == "A *warm* <b>"
    assert render("{{ story | plain }}", Kind.PLAIN, names=story) == "A warm <b>"
    assert render("{{ page }}", Kind.HTML, names=story) == "<p>x</p>"
    assert render("{{ text }}", Kind.MARKDOWN, names=story) == "*x*"
    for source, kind in (("{{ page }}", Kind.MARKDOWN), ("{{ text }}", Kind.HTML), ("{{ page | upper }}", Kind.HTML)):
        with pytest.raises(TemplateFault, match="finished text"):
            render(source, kind, names=story)


@given(st.text(max_size=40).filter(lambda text: not any("\ud800" <= sign <= "\udfff" or sign == "\0" for sign in text)))
def test_a_value_in_a_story_comes_out_as_it_was_typed_in_html_and_in_plain_text(name: str) -> None:
    story = render("Our {{ name }} is here.", Kind.MARKDOWN, names={"name": f"x{name}x"})
    wanted = " ".join(f"Our x{name}x is here.".replace("\u2028", " ").replace("\u2029", " ").split(" "))
    assert spaced(to_plain(story)) == spaced(wanted)
    assert spaced(to_html(story)) == spaced(f"<p>{escaped(wanted)}</p>")
    assert "<" not in name or MarkdownIt("commonmark").render(story).count("<") == 2


def spaced(text: str) -> str:
    return "".join(text.split())


def escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def test_the_same_template_is_made_once() -> None:
    one = compile_template("{{ name }}", kind=Kind.PLAIN, formats=GB)
    assert compile_template("{{ name }}", kind=Kind.PLAIN, formats=Formats("en-GB", "GBP")) is one
    assert compile_template("{{ name }}", kind=Kind.HTML, formats=GB) is not one
    assert one.names == ("name",)


# What is told


@pytest.mark.parametrize(
    ("source", "line", "message", "hint"),
    [
        ("{{ nam }}", 1, 'there is no "nam".', 'Write "name".'),
        ("a\nb {% if n > 5 %}{{ nam }}{% endif %}", 2, 'there is no "nam".', 'Write "name".'),
        ("a\n\n{{ set.nam }}", 3, 'there is no "set.nam".', 'Write "set.name".'),
        ("{% for i in set.contents %}\n{{ i.name }}\n{{ i.nme }}{% endfor %}", 3, 'there is no "i.nme".',
         'Write "i.name".'),
        ("{{ name.upper }}", 1, 'there is no "name.upper": "name" is a text.', 'Write "name | upper".'),
        ("{{ set }}", 1, "this has no text of its own.", 'Put in a part of it, such as ".name" behind it.'),
        ("{{ set.season.off_sale | date }}", 1, '"set.season" is empty here, so there is no "set.season.off_sale".',
         "Put {% if set.season %} before it and {% endif %} behind."),
        ("{{ name | in_currency }}", 1, '"in_currency" cannot be used on a text.',
         "Put it behind an amount, such as a price."),
        ("{{ name |\n cut('x') }}", 2, '"cut" takes a whole number from 1 to 100000.', 'Write it as in "cut(80)".'),
        ("a\n{% for i in name %}{% endfor %}", 2, '"name" is a text, not several values.',
         "Go through a name that holds several."),
        ("{{ n / 0 }}", 1, '"/" cannot be worked out here.', "Look whether the number behind it is zero."),
        ("{{ n < name }}", 1, "a number and a text have no order.", "Compare values of one kind."),
    ],
)  # fmt: skip
def test_a_slip_is_told_with_its_line_and_what_to_write(source: str, line: int, message: str, hint: str) -> None:
    fault = fault_of(source)
    assert (fault.line, fault.message, fault.hint) == (line, message, hint)


def test_a_language_nobody_writes_is_told() -> None:
    with pytest.raises(TemplateFault, match="is not a language"):
        render("{{ cheapest | in_currency }}", formats=Formats("x-whatever", "GBP"))


# Against jinja2 itself, in what both can say

PEER = Environment(
    autoescape=False, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True, undefined=StrictUndefined
)
SHARED: dict[str, object] = {
    "n": 3, "m": 10, "name": "Rosemary & Rind", "words": ("b", "a", "c"), "none_here": (),
    "rows": (("a", "b"), (), ("c",)), "set": GiftSet("First Nectar", (BAR, BALM)),
}  # fmt: skip
numbers = st.recursive(
    st.sampled_from(["n", "m", "2", "7", "words | length", "set.contents | length"]),
    lambda inner: st.tuples(inner, st.sampled_from(["+", "-", "*", "//", "%"]), inner).map(
        lambda t: f"({t[0]} {t[1]} {t[2]})"
    ),
    max_leaves=4,
)
texts = st.recursive(
    st.sampled_from(["name", "'x y'", "set.name", "words | first", "words | join('-')"]),
    lambda inner: st.tuples(inner, st.sampled_from([" | upper", " | lower", " | trim", " ~ n", " + name"])).map(
        lambda t: f"({t[0]}{t[1]})"
    ),
    max_leaves=3,
)
questions = st.one_of(
    st.tuples(numbers, st.sampled_from(["<", "<=", "==", "!=", ">", ">="]), numbers).map(" ".join),
    st.tuples(texts, st.sampled_from(["in", "not in", "=="]), st.one_of(texts)).map(" ".join),
    st.sampled_from(["n is odd", "words", "not none_here", "name in words", "n and none_here", "none_here or 0"]),
)
choices = st.tuples(texts, questions, numbers).map(lambda t: f"{t[0]} if {t[1]} else {t[2]}")
puts = (numbers | texts | choices).map(lambda words: f"{{{{ {words} }}}}")
fixed = st.sampled_from(["text", "\n", "  ", "{# remark #}", "{{- n -}}", " {%- if n %} y{% endif %} "])
simple = st.lists(puts | fixed)


def blocks(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    looped = st.tuples(st.sampled_from(["words", "none_here"]), inner, inner).map(
        lambda t: (
            f"{{% for w in {t[0]} %}}\n{{{{ loop.index }}}}{{{{ w if not loop.last }}}}{t[1]}"
            f"{{% else %}}{t[2]}{{% endfor %}}"
        )
    )
    nested = inner.map(
        lambda t: (
            f"{{% for r in rows %}}{{% for w in r %}}{{{{ w if loop.first }}}}{t}"
            "{% else %}{{ loop.index }}{% endfor %}{{ loop.index }}{% endfor %}"
        )
    )
    branched = st.tuples(questions, inner, questions, inner, inner).map(
        lambda t: f"  {{% if {t[0]} %}}\n{t[1]}{{% elif {t[2]} %}}{t[3]}\n  {{% else %}}{t[4]}{{% endif %}}\n"
    )
    return looped | nested | branched


@given(st.recursive(simple.map("".join), blocks, max_leaves=3))
def test_what_both_can_say_reads_as_in_jinja2_itself(source: str) -> None:
    """The engine without our walls is the reference: same language, same text."""
    try:
        ours = render(source, names=SHARED)
    except TemplateFault as fault:
        assert "zero" in fault.hint or "more than 3" in fault.message or "too much" in fault.message
        return
    assert ours == PEER.from_string(source).render(SHARED)
