"""Syntax of a template: its text read into a tree, every slip told in plain words with its line.

Before the tree is built the text is counted over: its length, its brackets and blocks
inside each other, the words in one placeholder, the digits of a number. So building it takes
little time and no depth, whatever the text is. Only {% if %} and {% for %} get as far as the tree.
"""

import re
from collections.abc import Iterator
from typing import Final

from jinja2 import Environment, TemplateSyntaxError, nodes

from listkit.listing.template_values import shortened
from listkit.problem import FieldError

MOST_SOURCE: Final = 100_000  # characters of a template
MOST_WORDS: Final = 200  # words and signs between one {{ or {% and its end
MOST_DIGITS: Final = 16
DEEPEST_BLOCK: Final = 10  # {% if %} and {% for %} inside each other
DEEPEST_BRACKET: Final = 10
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
# The parser's own phrases, and what is told instead: $1 and $2 stand for what it found there.
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
        raise TemplateFault(message, hint, line=fault.lineno) from None
    except RecursionError:  # the counts keep well below; a caller may stand deep already
        raise TemplateFault("too much stands inside each other.", "Make it simpler.", line=1) from None


def plain_words(phrase: str) -> tuple[str, str]:
    """Return message and hint in an owner's words for one of the parser's phrases."""
    for pattern, message, hint in _PHRASES:
        if found := pattern.search(phrase):
            told = f"{message}\n{hint}"
            for number, word in enumerate(found.groups(), 1):
                quoted = word if "{%" in message else _SIGNS.get(word, f'"{shortened(word)}"')
                told = told.replace(f"${number}", quoted)
            return told.partition("\n")[::2]
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
                blocks += _step(text, line)
            first_word = False
            _check_literal(kind, text, line)
        if words > MOST_WORDS or brackets > DEEPEST_BRACKET or blocks > DEEPEST_BLOCK:
            message = "too much stands inside each other, or between {{ and }}."
            raise TemplateFault(message, "Make it simpler.", line=line)


def _step(statement: str, line: int) -> int:
    """Return how much deeper the text behind a statement stands."""
    if statement not in STATEMENTS:
        message = f"{{% {shortened(statement)} %}} cannot be used here."
        raise TemplateFault(message, "Only {% if %} and {% for %} can.", line=line)
    return {"if": 1, "for": 1, "endif": -1, "endfor": -1}.get(statement, 0)


def _check_literal(kind: str, text: str, line: int) -> None:
    if kind in {"integer", "float"} and len(text) > MOST_DIGITS:
        raise TemplateFault(f"the number {shortened(text)} is too long.", "Write fewer digits.", line=line)
    if kind == "string" and _ESCAPE.search(_ESCAPED.sub("", text)):
        raise TemplateFault("a backslash in a text in quotes needs a second one.", 'Write "\\\\".', line=line)
