"""Rules for what a template may say: everything but the few allowed things is refused before it runs."""

import pytest
from jinja2 import Environment, nodes

from listkit.listing.template_rules import MOST_BRANCHES, TemplateFault, parse, read

ENGINE = Environment(autoescape=False)  # nothing is rendered here


def names_of(source: str) -> dict[str, int]:
    return read(parse(ENGINE, source))[1]


def fault_of(source: str) -> TemplateFault:
    with pytest.raises(TemplateFault) as caught:
        names_of(source)
    return caught.value


@pytest.mark.parametrize(
    ("expression", "message"),
    [
        ("range(3)", "nothing here can be called"),
        ("x.format()", "nothing here can be called"),
        ("x.format(1)|upper", "nothing here can be called"),
        ("(1)()", "nothing here can be called"),
        ("x[0]", "square brackets"),
        ("x['__class__']", "square brackets"),
        ("x[1:2]", "square brackets"),
        ("x.0", "square brackets"),
        ("2 ** 3", '"**" cannot'),
        ("10 ** 10 ** 10", '"**" cannot'),
        ("[1, 2]", "a list cannot"),
        ("(1, 2)", "several values cannot"),
        ("1, 2", "several values cannot"),
        ("{'a': 1}", "braces cannot"),
        ("''.__class__", 'there is no "__class__"'),
        ("set.__class__.__mro__", 'there is no "set.__class__.__mro__"'),
        ("items.__iter__", 'there is no "items.__iter__"'),
        ("set._secret", 'there is no "set._secret"'),
        ("self", 'there is no "self"'),
        ("super", 'there is no "super"'),
        ("caller", 'there is no "caller"'),
        ("loop", 'there is no "loop"'),
        ("loop.index", 'there is no "loop"'),
        ("loop.__init__", 'there is no "loop.__init__"'),
        ("_x", 'there is no "_x"'),
        ("ｎame", 'there is no "ｎame"'),
        ("x | attr('__class__')", 'there is no filter "attr"'),
        ("x | format('%s')", 'there is no filter "format"'),
        ("x | replace('a', 'aaaa')", 'there is no filter "replace"'),
        ("x | center(999999)", 'there is no filter "center"'),
        ("x | indent(999999)", 'there is no filter "indent"'),
        ("x | map('upper')", 'there is no filter "map"'),
        ("x | safe", 'there is no filter "safe"'),
        ("x is defined", 'there is no question "defined"'),
        ("x is sameas none", 'there is no question "sameas"'),
        ("x | cut", "does not take"),
        ("x | cut(1, 2)", "does not take"),
        ("x | cut(most=1, other=2)", "does not take"),
        ("x | cut(formats=1)", "does not take"),
        ("x | cut(*y)", "a star cannot"),
        ("x | cut(**y)", "a star cannot"),
        ("x is none(1)", "takes nothing behind it"),
        ("1 < 2 < 3", "two comparisons"),
        ("9999999999999999", "too large"),
        ("1e99", "too large"),
        ("1 +" * 60 + "1", "too much stands inside each other"),
    ],
)
def test_what_is_not_allowed_is_refused_with_a_reason(expression: str, message: str) -> None:
    fault = fault_of(f"one\n{{{{ {expression} }}}}")
    assert message in fault.message
    assert fault.line == 2
    assert fault.hint


@pytest.mark.parametrize(
    ("source", "message"),
    [
        ("{% for a in x %}" * 4 + "{% endfor %}" * 4, "more than 3 {% for %}"),
        ("{% for a in x recursive %}{% endfor %}", 'a {% for %} ends behind "in" and one name.'),
        ("{% for a in x if a %}{% endfor %}", 'a {% for %} ends behind "in" and one name.'),
        ("{% for a, b in x %}{% endfor %}", '"for" needs one name'),
        ("{% for _a in x %}{% endfor %}", '"for" needs one name'),
        ("{% for self in x %}{% endfor %}", '"for" needs one name'),
        ("{% for é in x %}{% endfor %}", '"for" needs one name'),
        ("{% for a in [1, 2] %}{% endfor %}", "a list cannot be written"),
        ("{% for a in x %}{{ loop }}{% endfor %}", '"loop" is no value by itself.'),
        ("{% for a in x %}{{ loop.__init__ }}{% endfor %}", 'there is no "loop.__init__".'),
        ("{% for a in x %}{{ loop.cycle }}{% endfor %}", 'there is no "loop.cycle".'),
        ("{% for a in x %}{{ loop.length }}{% endfor %}", 'there is no "loop.length".'),
        ("{% for a in x %}{{ loop(a) }}{% endfor %}", "nothing here can be called"),
        ("{% if n %}" + "{% elif n %}" * (MOST_BRANCHES + 1) + "{% endif %}", "too many {% elif %}"),
    ],
)  # fmt: skip
def test_loops_and_questions_have_one_plain_form(source: str, message: str) -> None:
    assert message in fault_of(source).message


def test_a_slip_in_a_filter_gets_the_nearest_one() -> None:
    assert fault_of("{{ cheapest | in_curency }}").hint == 'Write "in_currency".'
    assert fault_of("{{ cheapest | money }}").hint == 'Write "in_currency".'
    assert fault_of("{% if x is emty %}{% endif %}").hint == 'Write "empty".'
    assert fault_of("{{ x | cut }}").hint == 'Write "cut(most)".'


def test_the_names_needed_are_those_that_no_loop_gives() -> None:
    question = "{% if g and not h %}{% endif %}"
    loop = "{% for i in b.c %}{{ i.d }}{{ e | join(f) }}{% else %}{{ i }}{% endfor %}"
    assert names_of(f"{{{{ a }}}}\n{loop}{question}") == {"a": 1, "b": 2, "e": 2, "f": 2, "i": 2, "g": 2, "h": 2}


# The whole language: no other kind of node, and of the steps with a space in front only ours.
ALLOWED = {
    "Template", "Output", "TemplateData", "If", "For", "Name", "Const", "Filter", "Test", "Getattr", "CondExpr",
    "And", "Or", "Not", "Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Keyword",
}  # fmt: skip


def test_the_tree_that_runs_holds_only_the_kinds_of_node_that_are_allowed() -> None:
    source = (
        "{% for i in x %}{{ loop.index }}{{ i.name | cut(most=5) ~ 'a' }}{% if i.n > 2 and not i.m or -i.n + 1.5 < 2 %}"
        "a{% elif i is none %}b{% else %}{{ 'c' if i else 'd' }}{% endif %}{% endfor %}{{ a * 2 / 3 // 4 % 5 - 1 }}"
    )
    tree, _ = read(parse(ENGINE, source))
    seen = {type(node).__name__ for node in tree.find_all(nodes.Node)}
    assert seen <= ALLOWED
    assert {node.name for node in tree.find_all(nodes.Filter) if node.name[0] == " "} == {
        " turns", " field", " compare", " together", " decimal",
    }  # fmt: skip
    assert all(node.attr == "index" for node in tree.find_all(nodes.Getattr))
