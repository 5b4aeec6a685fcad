"""Templates: texts with placeholders, sandboxed and bounded, because a shop folder may come from someone else.

What a template can do is a closed list: put in the values it is given, reach their public
fields, use the filters and tests of `template_values`, ask {% if %}, go through {% for %} at most
three deep. Nothing can be called, named anew or fetched. Time and size are bounded by
counting, not by the clock, so the same template and values always end the same way: as the text, or as
a TemplateFault with the line. Values are escaped for the kind of text they go into.
"""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from types import GeneratorType, TracebackType
from typing import Any, Final, cast

from jinja2 import StrictUndefined, pass_context
from jinja2 import Template as CompiledTemplate
from jinja2.runtime import Context, LoopContext
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from listkit import bounds
from listkit.listing.formats import Formats
from listkit.listing.markdown import MarkdownText, escape_markdown
from listkit.listing.template_rules import LOOP_FACTS, TemplateFault, parse, read
from listkit.listing.template_values import (
    FILTERS,
    TAKES_NOTHING,
    TESTS,
    Filter,
    calculate,
    compare,
    field,
    is_known,
    kind_of,
    known,
    quoted_path,
    suggestion,
    text_of,
)
from listkit.problem import FieldError

__all__ = ["Formats", "Kind", "Template", "TemplateFault", "compile_template"]

MOST_TURNS: Final = bounds.LOOP_TURNS
MOST_OUTPUT: Final = bounds.RENDERED
MOST_WORK: Final = bounds.RENDER_STEPS
_A_CALL: Final = 100  # steps that a filter takes, however short its value
_STEPS_A_CHARACTER: Final = {"html": 50, "plain": 50, "slug": 5, "cut": 2}


class Kind(StrEnum):
    """What a text is, which decides how the values put in are escaped."""

    MARKDOWN = "markdown"
    HTML = "html"
    PLAIN = "plain"


class _Run:
    """One render: the names, and how much of the bounds is used up. Stands in for the engine's own context."""

    __slots__ = ("formats", "resolve_or_missing", "turns", "work")

    def __init__(self, names: Mapping[str, object], formats: Formats) -> None:
        self.resolve_or_missing = names.__getitem__  # what the compiled template calls for a name, in each turn anew
        self.formats = formats
        self.turns = MOST_TURNS
        self.work = MOST_WORK

    def spend(self, steps: int) -> None:
        self.work -= steps
        if self.work < 0:
            raise FieldError("this takes too long.", "Go through fewer values, or do less with each.")


class _Sandbox(ImmutableSandboxedEnvironment):
    """The engine with nothing in it but ours; `template_rules` lets nothing reach the refusals below, a second wall."""

    intercepted_binops = frozenset(ImmutableSandboxedEnvironment.default_binop_table)

    def call_binop(self, context: Context, operator: str, left: object, right: object) -> object:
        """Called by the compiled template for + - * / // and %."""
        if operator == "+" and isinstance(left, str) and isinstance(right, str):
            return _together(cast("_Run", context), left, right)
        return calculate(left, operator, right)

    def getattr(self, obj: object, attribute: str) -> object:
        """Only the facts of a loop come this way; a value's own fields come through " field"."""
        if isinstance(obj, LoopContext) and attribute in LOOP_FACTS:
            return getattr(obj, attribute)
        raise FieldError(f"there is no {quoted_path(attribute)}.")

    def getitem(self, obj: object, argument: object) -> Any:  # noqa: ANN401 (as in the class above)
        raise FieldError("square brackets cannot be used.")

    def call(self, *_args: object, **_kwargs: object) -> Any:  # noqa: ANN401
        raise FieldError("nothing here can be called.")

    def is_safe_attribute(self, obj: object, attr: str, value: object) -> bool:
        return False

    def is_safe_callable(self, obj: object) -> bool:
        return False


class Template:
    """A template ready to be put to use, any number of times."""

    __slots__ = ("_compiled", "_formats", "_root", "_wanted", "name", "names")

    def __init__(self, compiled: CompiledTemplate, wanted: dict[str, int], formats: Formats, name: str) -> None:
        self.name = name
        self.names = tuple(wanted)  # in the order of their first use
        self._compiled = compiled
        self._root = cast("Callable[[_Run], GeneratorType[str, None, None]]", compiled.root_render_func)
        self._wanted = wanted
        self._formats = formats

    def render(self, names: Mapping[str, object]) -> str:
        """Return the text with the values of `names` put in.

        Raises:
            TemplateFault: something is not there, does not suit what is done with it, or passes a bound.
        """
        for wanted, line in self._wanted.items():
            if wanted not in names:
                raise TemplateFault(f"there is no {quoted_path(wanted)}.", suggestion(wanted, names), line=line)
            try:
                known(names[wanted], wanted)
            except FieldError as fault:
                raise TemplateFault(fault.message, fault.hint, line=line) from None
        pieces = self._root(_Run(names, self._formats))
        text: list[str] = []
        room = MOST_OUTPUT
        try:
            for piece in pieces:
                room -= len(piece)
                if room < 0:
                    raise FieldError(f"the text grows longer than {MOST_OUTPUT:,} characters.", "Put less into it.")
                text.append(piece)
        except FieldError as fault:
            raise TemplateFault(fault.message, fault.hint, line=self._line(pieces, fault.__traceback__)) from None
        return "".join(text)

    def _line(self, pieces: "GeneratorType[str, None, None]", trace: TracebackType | None) -> int:
        """Return the template's line that was at work: where it stands still, or where the fault came through it."""
        at = pieces.gi_frame.f_lineno if pieces.gi_frame else 0
        while trace is not None:
            if trace.tb_frame.f_code is pieces.gi_code:
                at = trace.tb_lineno
            trace = trace.tb_next
        return self._compiled.get_corresponding_lineno(at)


@lru_cache(maxsize=1024)
def compile_template(source: str, *, kind: Kind, formats: Formats, name: str = "") -> Template:
    """Return the template, made once for the same arguments.

    Raises:
        TemplateFault: it breaks the grammar, asks for what is not allowed, or passes a bound.
    """
    sandbox = SANDBOXES[kind]
    tree, wanted = read(parse(sandbox, source))
    tree.set_environment(sandbox)
    try:
        code = sandbox.compile(tree, filename="<template>")
    except (SyntaxError, RecursionError, MemoryError):  # what Python itself says of code that is too deep
        raise TemplateFault("too much stands inside each other.", "Make it simpler.", line=1) from None
    return Template(CompiledTemplate.from_code(sandbox, code, {}), wanted, formats, name)


def _weight(value: object) -> int:
    return len(value) if isinstance(value, str | tuple) else 0


def _bounded(name: str, made: Filter) -> Callable[..., object]:
    """Return a filter that pays for its time before it starts, and for the length of what it made."""
    a_character = _STEPS_A_CHARACTER.get(name, 1)

    def filtered(run: _Run, value: object, *args: object, **named: object) -> object:
        run.spend(_A_CALL + a_character * _weight(value))
        if value is None and name not in TAKES_NOTHING:
            return None
        result = made(run.formats, value, *args, **named)
        run.spend(_weight(result))
        return known(result, "")

    return pass_context(filtered)


@pass_context
def _turns(run: _Run, several: object, size: int, path: str) -> Iterator[object]:
    """Go through several values, each turn paying for the `size` steps of the loop's body."""
    if several is None:
        return
    if not isinstance(several, tuple):
        message = f"{quoted_path(path)} is {kind_of(several)}, not several values."
        raise FieldError(message, "Go through a name that holds several.")
    for value in several:
        run.turns -= 1
        if run.turns < 0:
            raise FieldError(f"the loops take more than {MOST_TURNS:,} turns.", "Go through fewer values.")
        run.spend(size)
        kind: Any = type(value)
        yield value if is_known(kind) else known(value, path)


@pass_context
def _field(_run: _Run, value: object, name: str, path: str) -> object:
    try:
        return field(value, name, path)
    except FieldError as fault:
        if name in FILTERS:  # "name.upper" for "name | upper"
            raise FieldError(fault.message, f'Write "{path.removesuffix(f".{name}")} | {name}".') from None
        raise


@pass_context
def _compare(run: _Run, left: object, sign: str, right: object) -> bool:
    if sign == "eq" and type(left) is str and type(right) is str:  # a block by its name, over and over
        run.spend(len(left) + len(right))
        return left == right
    run.spend(_weight(left) + _weight(right))
    return compare(left, sign, right)


@pass_context
def _together(run: _Run, *parts: object) -> str:
    texts = [text_of(part, run.formats) for part in parts]
    length = sum(map(len, texts))
    run.spend(length)
    if length > MOST_OUTPUT:
        raise FieldError("the text put together is too long.", "Put less together.")
    return "".join(texts)


@pass_context
def _decimal(_run: _Run, text: str) -> Decimal:
    return Decimal(text)


@pass_context
def _put_markdown(run: _Run, value: object) -> str:
    if isinstance(value, MarkdownText):
        return str(value)
    return escape_markdown(text_of(value, run.formats))


@pass_context
def _put_html(run: _Run, value: object) -> str:
    return value if isinstance(value, Markup) else text_of(value, run.formats)


@pass_context
def _put_plain(run: _Run, value: object) -> str:
    return str(value) if isinstance(value, str) else text_of(value, run.formats)


_PUT: Final = {Kind.MARKDOWN: _put_markdown, Kind.HTML: _put_html, Kind.PLAIN: _put_plain}
_STEPS: Final[dict[str, Callable[..., object]]] = {
    " field": _field,
    " turns": _turns,
    " compare": _compare,
    " together": _together,
    " decimal": _decimal,
}


def _sandbox(kind: Kind) -> _Sandbox:
    made = _Sandbox(
        autoescape=kind is Kind.HTML,
        undefined=StrictUndefined,
        finalize=_PUT[kind],
        optimized=False,  # nothing is worked out before it is counted
        trim_blocks=True,  # a line with only {% for %} on it leaves no empty line
        lstrip_blocks=True,
        keep_trailing_newline=True,
        cache_size=0,
    )
    made.globals = {}
    made.filters = {name: _bounded(name, made_filter) for name, made_filter in FILTERS.items()} | _STEPS
    made.tests = dict(TESTS)
    return made


SANDBOXES: Final = {kind: _sandbox(kind) for kind in Kind}
