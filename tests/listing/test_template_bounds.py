"""Hostile templates: what they cannot reach, and that they end, whatever is written in them."""

import time
import tracemalloc
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.template_rules import MOST_SOURCE
from listkit.listing.templates import MOST_OUTPUT, MOST_TURNS, SANDBOXES, Kind, TemplateFault, compile_template
from listkit.problem import FieldError
from tests.listing.template_examples import GB, NAMES, fault_of, render

# What they cannot do


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize(
    "source",
    [
        "{{ ''.__class__ }}",
        "{{ set.__class__.__mro__ }}",
        "{{ items.__iter__ }}",
        "{{ items.count }}",
        "{{ set.method }}",
        "{{ set.contents.method }}",
        "{% for i in set.contents %}{{ i.method }}{% endfor %}",
        "{% for i in set.contents %}{{ i.method() }}{% endfor %}",
        "{% for a in x %}{% for b in x %}{% for c in x %}{% for d in x %}",
        "{% for a in x %}{% for b in x %}{% for c in x %}{% for d in x %}" + "{% endfor %}" * 4,
        '{{ "a" * 10**9 }}',
        '{{ "a" * 1000000000 }}',
        '{{ x * 1000000000 }}',
        "{{ 10 ** 10 ** 10 }}",
        "{% set a = 1 %}",
        "{% macro m() %}{% endmacro %}",
        '{% include "/etc/passwd" %}',
        '{% import "os" as os %}',
        '{{ x | attr("__class__") }}',
        '{{ x | map(attribute="__class__") | join }}',
        '{{ x | join(attribute="__class__") }}',
        '{{ "%s" % x }}',
        '{{ "%999999999d" % n }}',
        "{{ x.format() }}",
        "{{ name.format }}",
        "{{ '{0.__class__}'.format(n) }}",
        "{{ self }}",
        "{{ self.__init__.__globals__ }}",
        "{{ loop.__init__ }}",
        "{% for a in x %}{{ loop.__init__ }}{% endfor %}",
        "{% for a in x %}{{ loop }}{% endfor %}",
        "{{ range(10) }}",
        "{{ cycler('a') }}",
        "{{ lipsum() }}",
        "{{ namespace() }}",
        "{{ dict }}",
        "{{ joiner }}",
        "{{ context }}",
        "{{ environment }}",
        "{{ undefined }}",
        "{{ resolve }}",
        "{{ l_0_name }}",
        "{{ caller() }}",
        "{{ config }}",
        "{{ name | field }}",
        "{{ name | turns }}",
        "{{ cheapest.__class__.__init__.__globals__ }}",
        "{{ cheapest.rounded }}",
        "{{ cheapest.parse('1', 'GBP') }}",
        "\0",
        "{{ '\\x00' }}",
        "{{ name" + "|upper" * 1000 + " }}",
        "a" * (MOST_SOURCE + 1),
    ],
)  # fmt: skip
def test_a_hostile_template_is_told_and_never_run(source: str, kind: Kind) -> None:
    fault = fault_of(source, kind)
    assert fault.line >= 1
    assert fault.message
    assert "jinja" not in str(fault).lower()


@pytest.mark.parametrize("value", [open, int, object(), [1], {"a": 1}, {1}, b"x", 0.5, time])
def test_a_name_that_holds_something_else_is_told(value: object) -> None:
    for source in ("{{ odd }}", "{% if odd %}{% endif %}", "{{ odd | default(1) }}", "{{ odd.real }}"):
        with pytest.raises(TemplateFault, match="cannot be put in a text"):
            render(source, names={"odd": value})
    for source in ("{{ odd | first }}", "{% for one in odd %}{{ one }}{% endfor %}", "{{ odd }}", "{{ odd | join }}"):
        with pytest.raises(TemplateFault):
            render(source, names={"odd": (value,)})


# That they end


def test_all_loops_together_take_at_most_so_many_turns() -> None:
    ten, hundred = tuple("abcdefghij"), tuple("abcdefghij" * 10)
    names: dict[str, object] = {"ten": ten, "hundred": hundred, "two": ("a", "b")}
    inner = "{% for b in hundred %}{% for c in hundred %}{% endfor %}{% endfor %}"
    assert 10 + 10 * 100 + 10 * 100 * 100 < MOST_TURNS < 20 + 20 * 100 + 20 * 100 * 100
    assert render(f"{{% for a in ten %}}{inner}{{% endfor %}}", names=names) == ""
    with pytest.raises(TemplateFault, match="200,000 turns"):
        render(f"{{% for a in ten %}}{inner}{{% endfor %}}" * 2, names=names)


def test_the_turns_are_counted_anew_in_each_render() -> None:
    template = compile_template("{% for a in big %}{% endfor %}", kind=Kind.PLAIN, formats=GB)
    assert [template.render(NAMES) for _ in range(MOST_TURNS // 10_000 + 1)] == [""] * (MOST_TURNS // 10_000 + 1)


def test_a_text_stops_growing_at_the_bound_and_not_after_it() -> None:
    asked: list[int] = []

    @dataclass(frozen=True)
    class Long:
        @property
        def text(self) -> str:
            asked.append(1)
            return "x" * 1000

    source = "{% for a in turns %}{{ long.text }}{% endfor %}"
    full = MOST_OUTPUT // 1000
    assert len(render(source, names={"turns": ("a",) * full, "long": Long()})) == MOST_OUTPUT
    asked.clear()
    with pytest.raises(TemplateFault, match="500,000 characters"):
        render(source, names={"turns": ("a",) * 100_000, "long": Long()})
    assert len(asked) == full + 1


@pytest.mark.parametrize(
    "source",
    [
        "{{ big | join('" + "x" * 90_000 + "') }}",
        "{{ (big | join('" + "x" * 90_000 + "')) is none }}",
        "{{ " + " ~ ".join(["big | join"] * 40) + " }}",
        "{{ (" + " + ".join(["(big | join)"] * 30) + ") is none }}",
    ],
)
def test_a_text_too_long_is_told_before_it_is_made(source: str) -> None:
    """Ten thousand times ninety thousand characters would be a gigabyte; what is held stays below a few megabytes."""
    tracemalloc.start()
    try:
        assert "too long" in fault_of(source).message
        assert tracemalloc.get_traced_memory()[1] < 30_000_000
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize(
    "source", ["{{ n.real }}", "{{ x[0] }}", "{{ x.count(1) }}", "{{ n() }}", "{{ ''.__class__ }}", "{{ '%s' % n }}"]
)
def test_the_engine_refuses_by_itself_what_the_rules_never_let_through(source: str, kind: Kind) -> None:
    """The second wall, tried without the first: the bare engine with no rules before it."""
    with pytest.raises(FieldError):
        SANDBOXES[kind].from_string(source).render(n=3, x=("a",))


MANY: dict[str, object] = {**NAMES, "long": "word " * 20_000, "marks": "*a **a [b](c) " * 5_000}


@pytest.mark.parametrize(
    "inner",
    [
        "",
        "{% if a == b and b == a and 1 == 2 %}{% endif %}" * 500,
        "{% if n + n == 7 %}{% endif %}" * 3000,
        "{% if n | in_currency == b %}{% endif %}",
        "{% if a in big %}{% endif %}",
        "{% if long == long %}{% endif %}",
        "{% if long in long %}{% endif %}",
        "{% if (long | upper) == b %}{% endif %}",
        "{% if (long | slug) == b %}{% endif %}",
        "{% if (long | cut(99999)) == b %}{% endif %}",
        "{% if (marks | html) is none %}{% endif %}",
        "{% if (marks | plain) == b %}{% endif %}",
        "{% if (big | join) == b %}{% endif %}",
        "{% if (x | join | length) == 0 %}{% endif %}",
        "{% if 1 / 3 * 1.5 == 0 %}{% endif %}",
        "{% if " + " ~ ".join(["long"] * 90) + " == b %}{% endif %}",
        "{% if " + " + ".join(["long"] * 30) + " == b %}{% endif %}",
        "{{ (n | default(2)) if false }}",
        "{{ '' ~ nothing }}",
        "{{ nothing }}" * 6000,
    ],
)
def test_loops_without_output_end(inner: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a fortieth of the turns that a template may take; all of them take half a second here at most."""
    monkeypatch.setattr("listkit.listing.templates.MOST_TURNS", MOST_TURNS // 40)
    source = f"{{% for a in big %}}{{% for b in big %}}{inner}{{% endfor %}}{{% endfor %}}"
    with pytest.raises(TemplateFault, match=r"turns|too long"):
        render(source, names=MANY)


@pytest.mark.parametrize(
    "unit",
    ["{{ n }}", "{% if n %}{% endif %}", "{{ n", "{{'", "{%", "{#", "{{", "{% raw %}", "(", "\n {% if n %}\n",
     " ", "{{ a.b", "}}", "{% for a in x %}{{ a }}{% endfor %}", "\\", "-%}", "{% raw %}{% endraw %}"],
)  # fmt: skip
def test_a_template_of_the_full_length_is_read(unit: str) -> None:
    try:
        render(unit * (MOST_SOURCE // len(unit)))
    except TemplateFault as fault:
        assert fault.message


# Any text as a template

pieces = st.sampled_from(
    ["{{ ", " }}", "{% ", " %}", "{% if n %}", "{% endif %}", "{% for a in x %}", "{% endfor %}", "{% else %}",
     "a", "name", ".", "n", "set", "items", " | ", "upper", "in_currency", "join", "cut(5)", "(", ")", "'text'", "1",
     "2.5", " ~ ", " + ", " - ", " * ", " / ", " == ", " < ", " in ", " is ", "none", " not ", " and ", " or ",
     " if ", " else ", "loop.index", "loop", "\n", "é", "__class__", "[", "]", ",", "{#", "#}", "-", "cheapest",
     "season.off_sale", " | date", " | html", " | default(n)"]
)  # fmt: skip


placed = st.lists(pieces, min_size=1, max_size=8).map(lambda parts: "{{ " + "".join(parts) + " }}")


@given(placed | st.lists(pieces, max_size=25).map("".join) | st.text(max_size=60), st.sampled_from(Kind))
def test_any_text_as_a_template_gives_a_text_or_is_told(source: str, kind: Kind) -> None:
    try:
        text = render(source, kind)
    except TemplateFault as fault:
        assert 1 <= fault.line <= source.count("\n") + source.count("\r") + 1
        assert fault.message
        return
    assert "<class" not in text
    assert " object at 0x" not in text
