"""Rules for what a template may say: its text read into a tree, and the tree read node by node, before it runs.

Before the tree is built the text is counted over: its length, its brackets and blocks inside each other, the words
in one placeholder, the digits of a number. So building it takes little time and no depth, whatever the text is; every
slip is a TemplateFault in plain words with its line.

Then a new tree is built from the few kinds of node that are named here; what is not named cannot pass.
In it every step that could reach somewhere or take time is a call of one of ours, under names
with a space in front, which no template can write: " field" reaches into a value, " turns"
counts a loop, " compare", " together" and " decimal" do what their names say.
"""

import inspect
import re
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from jinja2 import Environment, TemplateSyntaxError, nodes

from listkit import bounds
from listkit.listing.template_values import FILTERS, INSTEAD, LARGEST, TESTS, shortened, suggestion
from listkit.problem import FieldError

# From text to tree.

MOST_SOURCE: Final = bounds.TEMPLATE
MOST_WORDS: Final = bounds.PLACEHOLDER_WORDS
MOST_DIGITS: Final = bounds.NUMBER_DIGITS
DEEPEST_BLOCK: Final = bounds.BLOCKS_DEEP
DEEPEST_BRACKET: Final = bounds.BRACKETS_DEEP
STATEMENTS: Final = ("if", "elif", "else", "endif", "for", "endfor")

# No file of text holds these: what is left of a broken character, and signs for machines.
_UNPRINTABLE: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_ESCAPE: Final = re.compile(r"\\(?![\\nt'\"])", re.DOTALL)
_ESCAPED: Final = re.compile(r"\\\\")

_SIGNS: Final = {
    "end of print statement": '"}}"',
    "begin of print statement": '"{{"',
    "end of statement block": '"%}"',
    "begin of statement block": '"{%"',
    "end of template": "the end",
    "integer": "a number",
    "float": "a number",
    "string": "a text in quotes",
}
# The parser's own phrases, with our message and hint: $1 and $2 are what it met there.
_PHRASES: Final = tuple(
    (re.compile(phrase), message, hint)
    for phrase, message, hint in (
        (r"unexpected end of template, expected 'end of print", "{{ is not closed.", "Write }} behind it."),
        (r"unexpected end of template, expected 'end of statement", "{% is not closed.", "Write %} behind it."),
        (r"Unexpected end of template.*closed is '(if|for)'", "{% $1 %} is not closed.", "Write {% end$1 %}."),
        (r"unknown tag '(\w+)'", "{% $1 %} does not belong here.", "Close first what was opened last."),
        (r"(?i)missing end of comment", "{# is not closed.", "Write #} behind it."),
        (r"(?i)missing end of raw", "{% raw %} is not closed.", "Write {% endraw %}."),
        (r"tag name expected", "{% has no word behind it.", "Write {% if %} or {% for %}."),
        (r"Expected an expression, got 'end of print", "there is nothing between {{ and }}.", "Write a name there."),
        (r"unexpected char ([\"']\"[\"']|\"'\")", "a text in quotes is not closed.", "Write the second quote."),
        (r"unexpected '(.)', expected '(.)'", "$2 is missing before $1.", "Write $2."),
        (r"expected token 'in'", '"in" is missing behind "for".', "Write {% for item in items %}."),
        (r"expected token 'name', got '(.+)'", "a name is missing before $1.", "Write it."),
        (r"expected token '(.+)', got '(.+)'", "$2 stands where $1 should be.", "Look at what is before it."),
        (r"Expected an expression, got '(.+)'", "a value is missing before $1.", "Write a name there."),
        (r"unexpected end of template, expected '(.+)'", "$1 is missing at the end.", "Write it."),
        (r"expected name or number", 'a name is missing behind ".".', "Write it as in {{ set.name }}."),
        (r"can't assign to", '"for" needs a name of your choice.', "Write {% for item in items %}."),
        (r"chain multiple tests", '"is" stands twice.', 'Write "and" between two questions.'),
        (r"unexpected (?:char )?'(.+?)'", "$1 is not understood here.", "Leave it out."),
    )
)


class TemplateFault(FieldError):  # noqa: N818 (a fault of the text, told to its owner; not an error of the program)
    """A template breaks a rule, or asks for what is not there; `line` counts from 1 in the template's text."""

    def __init__(self, message: str, hint: str = "", *, line: int) -> None:
        super().__init__(message, hint)
        self.line = line


def parse(environment: Environment, source: str) -> nodes.Template:
    """Return the tree of a template.

    Raises:
        TemplateFault: it breaks the grammar or is larger or deeper than the bounds.
    """
    if len(source) > MOST_SOURCE:
        raise TemplateFault(f"a template is at most {MOST_SOURCE:,} characters long.", "Shorten it.", line=1)
    if odd := _UNPRINTABLE.search(source):
        line = len(_LINE_END.findall(source, 0, odd.start())) + 1
        raise TemplateFault(f"there is an unprintable character (U+{ord(odd[0]):04X}).", "Delete it.", line=line)
    try:
        _count_over(environment.lex(source))
        return environment.parse(source)
    except TemplateSyntaxError as fault:
        message, hint = plain_words(fault.message or "")
        raise _unclosed(source) or TemplateFault(message, hint, line=fault.lineno) from None
    except RecursionError:  # the counts keep well below; a caller may stand deep already
        raise TemplateFault("too much stands inside each other.", "Make it simpler.", line=1) from None


# A placeholder with one brace behind it, or with none before its paragraph ends or another begins.
_UNCLOSED: Final = re.compile(
    r"(\{\{[^{}\n]*)\}(?!\})|(\{%[^{}%\n]*)(?:\}|%(?!\}))|(\{\{\s*[\w.]+)[^{}]*?(?=\{[{%]|\n\s*\n)"
)
_ONE_BRACE: Final = re.compile(r"(?<!\{)\{\s?(([A-Za-z_]\w*)(?:\.\w+)*(?:\s?\|[^{}\n]*)?)\s?\}{1,2}")
# What is left open goes on to the end, so that no later beginning looks for an end in vain again.
_SILENT: Final = re.compile(r"\{#.*?(?:#\}|\Z)|\{%\s*raw\b.*?(?:\{%\s*endraw\s*%\}|\Z)", re.DOTALL)


def _unclosed(source: str) -> TemplateFault | None:
    """Return the fault of the first placeholder that lacks a brace behind it, None where the parser's own is better."""
    if (slip := _UNCLOSED.search(source)) is None:
        return None
    line = len(_LINE_END.findall(source, 0, slip.start())) + 1
    text, closing = (slip[1] or slip[2] or slip[3]).strip(), "%}" if slip[2] else "}}"
    return TemplateFault(
        f'a brace is missing behind "{shortened(text)}".', f'Write "{shortened(text)} {closing}".', line=line
    )


def one_brace(source: str, names: Container[str]) -> TemplateFault | None:
    """Return the fault of the first of `names` that has one brace before it, and so would come out as it is typed."""
    if "{" not in source:
        return None
    text = _SILENT.sub(lambda silent: "\n" * silent[0].count("\n"), source)
    slip = next((slip for slip in _ONE_BRACE.finditer(text) if slip[2] in names), None)
    if slip is None:
        return None
    line = len(_LINE_END.findall(text, 0, slip.start())) + 1
    hint = f'Write "{{{{ {shortened(slip[1].strip())} }}}}".'
    return TemplateFault(f'a brace is missing before "{shortened(slip[0][1:])}".', hint, line=line)


def plain_words(phrase: str) -> tuple[str, str]:
    """Return message and hint in an owner's words for one of the parser's phrases."""
    for pattern, message, hint in _PHRASES:
        if match := pattern.search(phrase):
            text = f"{message}\n{hint}"
            for number, word in enumerate(match.groups(), 1):
                quoted = word if "{%" in message else _SIGNS.get(word, f'"{shortened(word)}"')
                text = text.replace(f"${number}", quoted)
            return text.partition("\n")[::2]
    return "this is not understood.", "Look at the signs between {{ and }} or {% and %}."


def _count_over(tokens: Iterator[tuple[int, str, str]]) -> None:
    """Raise a TemplateFault where a template is larger or deeper than the bounds."""
    blocks = brackets = words = 0
    first_word = False
    for line, kind, text in tokens:
        if kind in {"variable_begin", "block_begin"}:
            words, brackets, first_word = 0, 0, kind == "block_begin"
        elif kind in {"name", "operator", "string", "integer", "float"}:
            words += 1
            brackets += (text in {"(", "[", "{"}) - (text in {")", "]", "}"})
            if first_word and kind == "name":
                if text not in STATEMENTS:
                    message = f"{{% {shortened(text)} %}} cannot be used here."
                    raise TemplateFault(message, "Only {% if %} and {% for %} can.", line=line)
                blocks += {"if": 1, "for": 1, "endif": -1, "endfor": -1}.get(text, 0)
            first_word = False
            _check_literal(kind, text, line)
        if words > MOST_WORDS or brackets > DEEPEST_BRACKET or blocks > DEEPEST_BLOCK:
            message = "too much stands inside each other, or between {{ and }}."
            raise TemplateFault(message, "Make it simpler.", line=line)


def _check_literal(kind: str, text: str, line: int) -> None:
    if kind in {"integer", "float"} and len(text) > MOST_DIGITS:
        raise TemplateFault(f"the number {shortened(text)} is too long.", "Write fewer digits.", line=line)
    if kind == "string" and _ESCAPE.search(_ESCAPED.sub("", text)):
        raise TemplateFault("a backslash in a text in quotes needs a second one.", 'Write "\\\\".', line=line)


# From tree to tree.

DEEPEST_LOOP: Final = bounds.LOOPS_DEEP
MOST_BRANCHES: Final = bounds.BRANCHES
DEEPEST_EXPRESSION: Final = bounds.EXPRESSION_DEEP
LOOP_FACTS: Final = ("index", "first", "last")
# The engine binds these by itself, to things with methods.
RESERVED: Final = frozenset({"self", "super", "caller", "varargs", "kwargs", "loop", "context", "environment"})

_REFUSED: Final[dict[type[nodes.Node], tuple[str, str]]] = {
    nodes.Call: ("brackets behind a name call something, and nothing here can be called.", "Leave the brackets out."),
    nodes.Getitem: ("square brackets cannot be used.", 'Write "first" or "last" behind "|", or a name behind ".".'),
    nodes.Pow: ('"**" cannot be used.', "Multiply with *."),
    nodes.List: ("a list cannot be written here.", "Use one of the names that hold several values."),
    nodes.Tuple: ("several values cannot be written here.", "Use one of the names that hold several values."),
    nodes.Dict: ("braces cannot be used here.", "Leave them out."),
}
_CHEAP: Final = (nodes.Const, nodes.Name, nodes.TemplateData, nodes.And, nodes.Or, nodes.Not, nodes.CondExpr)
_A_STEP_OF_OURS: Final = 10  # what any other node takes, against one for a cheap one
_SIGNATURES: Final = {name: inspect.signature(made) for name, made in FILTERS.items()}
_PAIRS: Final = (nodes.And, nodes.Or, nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod)
_Pair = TypeVar("_Pair", bound=nodes.BinExpr)
_Node = TypeVar("_Node", bound=nodes.Node)
_Call = TypeVar("_Call", nodes.Filter, nodes.Test)


@dataclass(frozen=True, slots=True)
class _Scope:
    """Where a node stands: the names of the loops around it, and how deep it is in its expression."""

    bound: tuple[str, ...] = ()
    depth: int = 0


def read(tree: nodes.Template) -> tuple[nodes.Template, dict[str, int]]:
    """Return the tree to run, and each name that it needs with the line where it is first used.

    Raises:
        TemplateFault: the template asks for more than is allowed, or for a filter or test that is not there.
    """
    reader = _Reader()
    return nodes.Template(reader.statements(tree.body, _Scope()), lineno=1), reader.names


class _Reader:
    """One reading: the names met so far, and the steps that all nodes take once."""

    def __init__(self) -> None:
        self.names: dict[str, int] = {}
        self.size = 0
        self.expressions: dict[type[nodes.Node], Callable[..., nodes.Expr]] = {
            nodes.TemplateData: lambda node, _scope: node,
            nodes.Const: self.const,
            nodes.Name: self.name,
            nodes.Getattr: self.getattr,
            nodes.Filter: self.filter,
            nodes.Test: self.test,
            nodes.CondExpr: self.choice,
            nodes.Compare: self.compare,
            nodes.Concat: self.together,
            nodes.Not: self.negation,
            nodes.Neg: self.minus,
        }
        self.expressions.update(dict.fromkeys(_PAIRS, self.pair))

    def statements(self, body: Sequence[nodes.Node], scope: _Scope) -> list[nodes.Node]:
        return [self.statement(node, scope) for node in body]

    def statement(self, node: nodes.Node, scope: _Scope) -> nodes.Node:
        self.size += 1
        match node:
            case nodes.Output():
                self.size += _A_STEP_OF_OURS * len(node.nodes)
                return nodes.Output([self.expression(part, scope) for part in node.nodes], lineno=node.lineno)
            case nodes.If():
                return self.branch(node, scope)
            case nodes.For():
                return self.loop(node, scope)
        raise TemplateFault("this cannot be used here.", "Only {% if %} and {% for %} can.", line=node.lineno)

    def branch(self, node: nodes.If, scope: _Scope) -> nodes.If:
        if len(node.elif_) > MOST_BRANCHES:
            raise TemplateFault("too many {% elif %} follow each other.", "Make it simpler.", line=node.lineno)
        test = self.expression(node.test, scope)
        body = self.statements(node.body, scope)
        branches = [self.branch(branch, scope) for branch in node.elif_]
        return nodes.If(test, body, branches, self.statements(node.else_, scope), lineno=node.lineno)

    def loop(self, node: nodes.For, scope: _Scope) -> nodes.For:
        line, target = node.lineno, node.target
        if len(scope.bound) >= DEEPEST_LOOP:
            message = f"more than {DEEPEST_LOOP} {{% for %}} stand inside each other."
            raise TemplateFault(message, "Take one of them out.", line=line)
        if node.test is not None or node.recursive:
            message = 'a {% for %} ends behind "in" and one name.'
            raise TemplateFault(message, "Write {% if %} inside the loop.", line=line)
        name = target.name if isinstance(target, nodes.Name) else ""
        if not name or not name.isascii() or name.startswith("_") or name in RESERVED:
            message = '"for" needs one name of your choice, of small letters.'
            raise TemplateFault(message, "Write {% for item in items %}.", line=line)
        several = self.expression(node.iter, scope)
        before = self.size
        body = self.statements(node.body, replace(scope, bound=(*scope.bound, name)))
        otherwise = self.statements(node.else_, scope)
        turns = _ours(" turns", several, self.size - before + 1, path_of(node.iter))
        named = nodes.Name(name, "store", lineno=line)
        parts = {"target": named, "iter": turns, "body": body, "else_": otherwise, "test": None, "recursive": False}
        return _node(nodes.For, line, parts)

    def expression(self, node: nodes.Node, scope: _Scope) -> nodes.Expr:
        """Return the node to run for `node`, whose parts have been read likewise."""
        self.size += 1 if isinstance(node, _CHEAP) else _A_STEP_OF_OURS
        if scope.depth >= DEEPEST_EXPRESSION:
            raise TemplateFault("too much stands inside each other.", "Make it simpler.", line=node.lineno)
        read_node = self.expressions.get(type(node))
        if read_node is None:
            message, hint = _REFUSED.get(type(node), ("this cannot be used here.", "Leave it out."))
            raise TemplateFault(message, hint, line=node.lineno)
        return read_node(node, replace(scope, depth=scope.depth + 1))

    def const(self, node: nodes.Const, _scope: _Scope) -> nodes.Expr:
        if isinstance(node.value, int | float) and not abs(node.value) <= LARGEST:
            raise TemplateFault("a number is too large.", "Write a smaller one.", line=node.lineno)
        if isinstance(node.value, float):  # its shortest decimal form, which is what was typed
            return _ours(" decimal", nodes.Const(repr(node.value), lineno=node.lineno))
        return nodes.Const(node.value, lineno=node.lineno)

    def name(self, node: nodes.Name, scope: _Scope) -> nodes.Expr:
        if node.name == "loop" and scope.bound:
            raise TemplateFault('"loop" is no value by itself.', 'Write "loop.index".', line=node.lineno)
        if node.name in RESERVED or node.name.startswith("_") or not node.name.isascii():
            raise TemplateFault(f'there is no "{shortened(node.name)}".', "Leave it out.", line=node.lineno)
        if node.name not in scope.bound:
            self.names.setdefault(node.name, node.lineno)
        return nodes.Name(node.name, "load", lineno=node.lineno)

    def getattr(self, node: nodes.Getattr, scope: _Scope) -> nodes.Expr:
        path = path_of(node) or node.attr
        if isinstance(node.node, nodes.Name) and node.node.name == "loop" and scope.bound:
            if node.attr not in LOOP_FACTS:
                hint = suggestion(node.attr, LOOP_FACTS, before="loop.")
                raise TemplateFault(f'there is no "{shortened(path)}".', hint, line=node.lineno)
            return nodes.Getattr(nodes.Name("loop", "load"), node.attr, "load", lineno=node.lineno)
        if node.attr.startswith("_"):
            raise TemplateFault(f'there is no "{shortened(path)}".', "Leave it out.", line=node.lineno)
        return _ours(" field", self.expression(node.node, scope), node.attr, path)

    def filter(self, node: nodes.Filter, scope: _Scope) -> nodes.Expr:
        _check_exists(node, "filter", FILTERS)
        if node.node is None or node.dyn_args is not None or node.dyn_kwargs is not None:
            raise TemplateFault("a star cannot be used here.", "Leave it out.", line=node.lineno)
        args = [self.expression(part, scope) for part in node.args]
        named = [nodes.Keyword(part.key, self.expression(part.value, scope)) for part in node.kwargs]
        try:
            _SIGNATURES[node.name].bind(None, None, *args, **{part.key: part.value for part in named})
        except TypeError:
            message = f'"{node.name}" does not take what stands in its brackets.'
            takes = ", ".join([*_SIGNATURES[node.name].parameters][2:])
            hint = f'Write "{node.name}({takes})".' if takes else f'Write "{node.name}".'
            raise TemplateFault(message, hint, line=node.lineno) from None
        return _call(
            nodes.Filter, self.expression(node.node, scope), node.name, args=args, named=named, line=node.lineno
        )

    def test(self, node: nodes.Test, scope: _Scope) -> nodes.Expr:
        _check_exists(node, "question", TESTS)
        if node.args or node.kwargs or node.dyn_args or node.dyn_kwargs:
            raise TemplateFault(f'"{node.name}" takes nothing behind it.', "Leave it out.", line=node.lineno)
        return _call(nodes.Test, self.expression(node.node, scope), node.name, args=[], named=[], line=node.lineno)

    def choice(self, node: nodes.CondExpr, scope: _Scope) -> nodes.Expr:
        otherwise = nodes.Const(None, lineno=node.lineno) if node.expr2 is None else self.expression(node.expr2, scope)
        parts = (self.expression(node.test, scope), self.expression(node.expr1, scope), otherwise)
        return nodes.CondExpr(*parts, lineno=node.lineno)

    def compare(self, node: nodes.Compare, scope: _Scope) -> nodes.Expr:
        if len(node.ops) != 1:
            raise TemplateFault("two comparisons stand in one.", 'Write "and" between them.', line=node.lineno)
        right = self.expression(node.ops[0].expr, scope)
        return _ours(" compare", self.expression(node.expr, scope), node.ops[0].op, right)

    def together(self, node: nodes.Concat, scope: _Scope) -> nodes.Expr:
        return _ours(" together", *(self.expression(part, scope) for part in node.nodes))

    def negation(self, node: nodes.Not, scope: _Scope) -> nodes.Expr:
        return nodes.Not(self.expression(node.node, scope), lineno=node.lineno)

    def minus(self, node: nodes.Neg, scope: _Scope) -> nodes.Expr:
        return nodes.Sub(nodes.Const(0, lineno=node.lineno), self.expression(node.node, scope), lineno=node.lineno)

    def pair(self, node: _Pair, scope: _Scope) -> _Pair:
        return type(node)(self.expression(node.left, scope), self.expression(node.right, scope), lineno=node.lineno)


def path_of(node: nodes.Node) -> str:
    """Return a chain of names as it was written, "set.name"; "" for anything else."""
    match node:
        case nodes.Name():
            return str(node.name)
        case nodes.Getattr() if path := path_of(node.node):
            return f"{path}.{node.attr}"
    return ""


def _ours(name: str, base: nodes.Expr, *rest: nodes.Expr | str | int) -> nodes.Filter:
    """Return a call of one of our own steps."""
    args = [part if isinstance(part, nodes.Expr) else nodes.Const(part, lineno=base.lineno) for part in rest]
    return _call(nodes.Filter, base, name, args=args, named=[], line=base.lineno)


def _call(
    kind: type[_Call], base: nodes.Expr, name: str, *, args: list[nodes.Expr], named: list[nodes.Keyword], line: int
) -> _Call:
    """Return a filter or test of `base`."""
    parts = {"node": base, "name": name, "args": args, "kwargs": named, "dyn_args": None, "dyn_kwargs": None}
    return _node(kind, line, parts)


def _node(kind: type[_Node], line: int, parts: dict[str, object]) -> _Node:
    """Return a node with its parts by name."""
    return kind(*[parts[name] for name in kind.fields], lineno=line)


def _check_exists(node: nodes.Filter | nodes.Test, what: str, table: Mapping[str, object]) -> None:
    if node.name not in table:
        hint = INSTEAD.get(node.name) or suggestion(node.name, table)
        raise TemplateFault(f'there is no {what} "{shortened(node.name)}".', hint, line=node.lineno)
