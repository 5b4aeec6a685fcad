"""Values in a template: what may be reached, and how each reads.

What there is, is a closed list: text, whole and decimal numbers, yes and no, dates, nothing, tuples, and frozen
dataclasses by the names of their fields and properties. Everything else (methods, types,
modules, mutable containers, names with an underscore in front) is not there, whatever a template writes.
"""

from collections.abc import Iterable
from dataclasses import fields
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Final

from markupsafe import Markup

from listkit.listing.formats import LONGEST_LIST, Formats, list_text
from listkit.listing.markdown import MarkdownText
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.weight import Weight

_LONGEST_GUESS: Final = 60  # no name of ours is longer, and guessing takes time


@lru_cache(maxsize=1024)
def public_names(kind: Any) -> frozenset[str]:  # noqa: ANN401 (a type; mypy takes types of objects for unhashable)
    """Return the fields and properties that a template may name; none unless `kind` is a frozen dataclass."""
    settings = getattr(kind, "__dataclass_params__", None)
    if settings is None or not settings.frozen:
        return frozenset()
    found = {field.name for field in fields(kind)}
    found |= {name for base in kind.__mro__ for name, value in vars(base).items() if isinstance(value, property)}
    return frozenset(name for name in found if not name.startswith("_"))


@lru_cache(maxsize=1024)
def is_known(kind: Any) -> bool:  # noqa: ANN401
    """Whether values of this type may stand in a template at all."""
    return issubclass(kind, (str, int, Decimal, date, tuple, type(None))) or bool(public_names(kind))


def known(value: object, path: str) -> object:
    """Return `value` if a template may hold it.

    Raises:
        FieldError: it is of another kind.
    """
    kind: Any = type(value)
    if not is_known(kind):
        raise FieldError(f"{told(path)} cannot be put in a text.", "Leave it out.")
    return value


def field(value: object, name: str, path: str) -> object:
    """Return `value`'s field or property `name`; `path` is what the owner wrote for the whole.

    Raises:
        FieldError: there is none of that name.
    """
    kind: Any = type(value)
    if name in public_names(kind):
        return known(getattr(value, name), path)
    owner = path[: -len(name) - 1]
    if value is None:
        message = f'{told(owner)} is empty here, so there is no "{shortened(path)}".'
        hint = f"Put {{% if {owner} %}} before it and {{% endif %}} behind." if owner else "Leave it out."
        raise FieldError(message, hint)
    if not public_names(kind):
        hint = f'Write "{owner}".' if owner else "Leave it out."
        raise FieldError(f'there is no "{shortened(path)}": {told(owner)} is {kind_of(value)}.', hint)
    hint = suggestion(name, public_names(kind), before=f"{owner}." if owner else "")
    raise FieldError(f'there is no "{shortened(path)}".', hint)


def text_of(value: object, formats: Formats) -> str:
    """Return how a value reads: numbers and dates plain, nothing as nothing, several as "a, b and c".

    Raises:
        FieldError: it has no text of its own (a set has a name, but is none), or is finished markup.
    """
    kind: Any = type(value)
    match value:
        case Markup() | MarkdownText():
            message = "a finished text can only be put in as it is, into a text of its own kind."
            raise FieldError(message, 'Write "html" last in HTML, "markdown" in Markdown, "plain" elsewhere.')
        case None:
            return ""
        case bool():
            return "yes" if value else "no"  # as the items table has it
        case str() | int():
            return str(value)
        case Decimal():
            return f"{value:f}"
        case tuple():
            if len(value) > LONGEST_LIST:
                raise FieldError(f"{len(value)} are too many to be put in as one list.", "Write {% for %}.")
            return list_text(tuple(text_of(part, formats) for part in value), formats.language)
    known(value, "")
    if kind.__str__ is object.__str__:
        names = public_names(kind)
        part = "name" if "name" in names else min(names)
        raise FieldError("this has no text of its own.", f'Put in a part of it, such as ".{part}" behind it.')
    return str(value)


def is_number(value: object) -> bool:
    """Whether it is a whole or a decimal number (yes and no are none)."""
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def kind_of(value: object) -> str:
    """Return an owner's word for the kind of a value."""
    for kind, word in _WORDS.items():
        if isinstance(value, kind):
            return word
    return "a thing of several parts"


_PRICES: Final = frozenset(("price", "prices", "cost", "amount", "total", "offer", "retail"))


def suggestion(word: str, known_words: Iterable[str], *, before: str = "") -> str:
    """Return the hint that names the known word nearest to `word`, or some of them when none is near."""
    words = sorted(known_words)
    if word.casefold() in _PRICES and "cheapest" in words:
        return "A set has two prices: write {{ cheapest | money }} or {{ dearest | money }}."
    near = get_close_matches(word, words, n=1, cutoff=0.6) if len(word) <= _LONGEST_GUESS else []
    if near:
        return f'Write "{before}{near[0]}".'
    return f"Known here: {', '.join(words[:12])}{', ...' if len(words) > 12 else ''}." if words else "Leave it out."


def shortened(text: str) -> str:
    """Return `text` as a message quotes it: on one line, forty characters at most."""
    line = " ".join(text.split())
    return line if len(line) <= 40 else f"{line[:39]}…"


def told(path: str) -> str:
    """Return what a value is called in a message."""
    return f'"{shortened(path)}"' if path else "this"


_WORDS: Final[dict[type, str]] = {
    str: "a text", bool: "yes or no", int: "a number", Decimal: "a number", date: "a date", tuple: "several values",
    Money: "an amount of money", Weight: "a weight", type(None): "nothing",
}  # fmt: skip
