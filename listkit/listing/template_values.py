"""Values in a template: which there are, how each reads, what may be compared and added, and the filters.

The values are a closed list: text, whole and decimal numbers, yes and no, dates, nothing, tuples, and frozen
dataclasses by the names of their fields and properties. Everything else (methods, types,
modules, mutable containers, names with an underscore in front) is not there, whatever a template writes.

Values of unlike kinds are never equal and never larger or smaller. Results stay below LARGEST and come from Decimal,
so that no calculation takes long or loses a digit of a price.
"""

import operator
from collections.abc import Callable, Iterable
from dataclasses import fields
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Final

from markupsafe import Markup
from slugify import slugify

from listkit import bounds
from listkit.listing import formats as cldr
from listkit.listing.formats import LONGEST_LIST, Formats, list_text
from listkit.listing.markdown import MarkdownText, joined, one_line, to_html, to_plain
from listkit.problem import FieldError, quoted
from listkit.units import spoken
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import Money
from listkit.units.table import UnitKind, channel_places
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
        raise FieldError(f"{quoted_path(path)} cannot be put in a text.", "Leave it out.")
    return value


def field(value: object, name: str, path: str) -> object:
    """Return `value`'s field or property `name`; `path` is what the owner wrote for the whole.

    Raises:
        FieldError: there is none of that name.
    """
    kind: Any = type(value)
    if name in public_names(kind):
        part = getattr(value, name)
        kind = type(part)
        return part if is_known(kind) else known(part, path)
    owner = path[: -len(name) - 1]
    if value is None:
        message = f"{quoted_path(owner)} is empty here, so there is no {quoted(shortened(path))}."
        hint = f"Put {{% if {owner} %}} before it and {{% endif %}} behind." if owner else "Leave it out."
        raise FieldError(message, hint)
    if not public_names(kind):
        hint = f"Write {quoted(owner)}." if owner else "Leave it out."
        raise FieldError(f"there is no {quoted(shortened(path))}: {quoted_path(owner)} is {kind_of(value)}.", hint)
    hint = suggestion(name, public_names(kind), before=f"{owner}." if owner else "")
    raise FieldError(f"there is no {quoted(shortened(path))}.", hint)


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
        return "A set has two prices: write {{ cheapest | in_currency }}, {{ dearest | in_currency }} or {{ prices }}."
    near = get_close_matches(word, words, n=1, cutoff=0.6) if len(word) <= _LONGEST_GUESS else []
    if near:
        return f'Write "{before}{near[0]}".'
    return f"Known here: {', '.join(words[:12])}{', ...' if len(words) > 12 else ''}." if words else "Leave it out."


def shortened(text: str) -> str:
    """Return `text` as a message quotes it: on one line, forty characters at most."""
    line = " ".join(text.split())
    return line if len(line) <= 40 else f"{line[:39]}…"


def quoted_path(path: str) -> str:
    """Return what a value is called in a message."""
    return quoted(shortened(path)) if path else "this"


_WORDS: Final[dict[type, str]] = {
    str: "a text", bool: "yes or no", int: "a number", Decimal: "a number", date: "a date", tuple: "several values",
    Money: "an amount of money", Weight: "a weight", type(None): "nothing",
}  # fmt: skip


# Comparing and adding: numbers, money and weights; text is only ever compared.

LARGEST: Final = bounds.LARGEST_NUMBER
_ONE_OF: Final[tuple[type, ...]] = (bool, str, date, Money, Weight, type(None))
_SUMS: Final[dict[str, Callable[[Any, Any], object]]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "//": operator.floordiv,
    "%": operator.mod,
}
_ORDERS: Final[dict[str, Callable[[Any, Any], bool]]] = {
    "lt": operator.lt,
    "lteq": operator.le,
    "gt": operator.gt,
    "gteq": operator.ge,
}


def compare(left: object, sign: str, right: object) -> bool:
    """Return whether `left sign right`; the sign by its name: eq, ne, lt, lteq, gt, gteq, in, notin.

    Raises:
        FieldError: the two are not values that can be compared so.
    """
    if sign in {"in", "notin"}:
        return _within(left, right) is (sign == "in")
    left_kind, right_kind = _comparable(left), _comparable(right)
    if sign in {"eq", "ne"}:
        return (left_kind is right_kind and left == right) is (sign == "eq")
    unlike_money = isinstance(left, Money) and isinstance(right, Money) and left.currency != right.currency
    if left_kind is not right_kind or left_kind in {bool, type(None)} or unlike_money:
        raise FieldError(f"{kind_of(left)} and {kind_of(right)} have no order.", "Compare values of one kind.")
    return _ORDERS[sign](left, right)


def calculate(left: object, sign: str, right: object) -> object:
    """Return `left sign right` of two numbers, or of money or weights where that makes sense.

    Raises:
        FieldError: anything else, a division by zero, a result above LARGEST.
    """
    if is_number(left) and isinstance(right, Money | Weight) and sign == "*":
        left, right = right, left
    if not _can_calculate(left, sign, right):
        raise FieldError(
            f"{quoted(sign)} cannot be used between {kind_of(left)} and {kind_of(right)}.", "Use it on numbers."
        )
    if isinstance(left, int) and sign == "/":
        left = Decimal(left)  # so that no float comes of it
    try:
        result = _SUMS[sign](left, right)
        too_large = abs(_figure(result)) > LARGEST
    except ArithmeticError:
        raise FieldError(
            f"{quoted(sign)} cannot be worked out here.", "Look whether the number behind it is zero."
        ) from None
    if too_large:
        raise FieldError("the result is too large.", "Write smaller numbers.")
    return result


def _can_calculate(left: object, sign: str, right: object) -> bool:
    if is_number(left) and is_number(right):
        return sign in _SUMS
    if isinstance(left, Money) and isinstance(right, Money):
        return sign in {"+", "-"} and left.currency == right.currency
    if isinstance(left, Weight) and isinstance(right, Weight):
        return sign in {"+", "-"}
    signs = {"*", "/"} if isinstance(left, Money) else {"*"} if isinstance(left, Weight) else set()
    return is_number(right) and sign in signs


def _figure(result: object) -> Decimal:
    if isinstance(result, Money):
        return result.amount
    return result.grams if isinstance(result, Weight) else Decimal(result)  # type: ignore[arg-type]


def _within(part: object, whole: object) -> bool:
    if isinstance(part, str) and isinstance(whole, str):
        return str(part) in str(whole)
    if isinstance(whole, tuple):
        scale = _comparable(part)
        return any(type(known) is type(part) and _comparable(known) is scale and known == part for known in whole)
    raise FieldError(f'"in" cannot look for {kind_of(part)} in {kind_of(whole)}.', "Look in a text or among several.")


def _comparable(value: object) -> type:
    """Return the kind that `value` is compared as."""
    if is_number(value):
        return Decimal
    for kind in _ONE_OF:
        if isinstance(value, kind):
            return kind
    raise FieldError(f"{kind_of(value)} cannot be compared as a whole.", "Compare one part of it.")


# Filters and tests: what a template may do with a value, and nothing else. FILTERS and TESTS are the closed tables.
#
# A filter is called as filter(formats, value, *arguments), where formats are the language and currency of the text.
# None of them makes a text grow with a number it is given, and none takes a name to call. Nothing in gives nothing
# out, save for TAKES_NOTHING.

LENGTHS: Final = tuple(channel_places(UnitKind.LENGTH))
LONGEST_JOIN: Final = bounds.JOINED
Filter = Callable[..., object]
Test = Callable[[object], bool]


def in_currency(formats: Formats, value: object) -> str:
    """Money, or a bare number in the shop's currency, as the language writes it; half up to the minor digits."""
    amount, currency = (value.amount, value.currency) if isinstance(value, Money) else (value, formats.currency)
    return spoken.money_text(_number(amount, "in_currency"), currency, formats.language)


def number(formats: Formats, value: object, digits: object = None) -> str:
    """A number with the language's separators; `digits` behind the point, 0 to 6, half up."""
    places = None if digits is None else _whole(digits, "number", most=6, least=0)
    return cldr.number_text(_number(value, "number"), formats.language, digits=places)


def weight(formats: Formats, value: object, unit: object = "g") -> str:
    """A weight, or a bare number of grams, in "g", "kg", "oz" or "lb"."""
    if unit not in cldr.WEIGHT_UNITS:
        raise FieldError("that is not a unit of weight.", suggestion(str(unit), cldr.WEIGHT_UNITS))
    grams = value.grams if isinstance(value, Weight) else value
    return cldr.weight_text(Weight(_number(grams, "weight")), formats.language, unit=str(unit))


def places(_formats: Formats, value: object, digits: object = 2) -> str:
    """An amount or number with so many digits behind the point, 0 to 6, half up; no sign, nothing between thousands."""
    figure = value.amount if isinstance(value, Money) else value
    return f"{spoken.half_up(_number(figure, 'places'), _whole(digits, 'places', most=6, least=0)):f}"


def to(_formats: Formats, value: object, unit: object) -> Decimal:
    """A weight, or a length (a bare number of millimetres), in a unit, as a number of six digits behind the point."""
    if isinstance(value, Weight):
        if unit not in cldr.WEIGHT_UNITS:
            raise FieldError("that is not a unit of weight.", suggestion(str(unit), cldr.WEIGHT_UNITS))
        exact = Weight(_number(value.grams, "to")).in_unit(str(unit))
    elif unit in LENGTHS:
        exact = _number(value, "to") / LENGTH_UNITS[str(unit)]
    else:
        raise FieldError(f"{kind_of(value)} cannot be given in that.", suggestion(str(unit), LENGTHS))
    return spoken.half_up(exact, 6).normalize()


def day(formats: Formats, value: object, style: object = "long") -> str:
    """A date in a style: "short", "medium", "long", "full", "day" (without the year) or "iso"."""
    if not isinstance(value, date):
        raise FieldError(f'"date" needs a date, not {kind_of(value)}.', "Put it behind a date.")
    if style not in spoken.DATE_STYLES:
        raise FieldError("that is not a way to write a date.", suggestion(str(style), spoken.DATE_STYLES))
    return spoken.date_text(value, formats.language, style=str(style))


def join(formats: Formats, value: object, between: object = ", ", attribute: object = "") -> str:
    """Several values in a row with `between` between them; with `attribute`, that field of each."""
    parts = _several(value, "join")
    if attribute:
        name = text_of(attribute, formats)
        parts = tuple(field(part, name, f"item.{name}") for part in parts)
    texts, gap = [text_of(part, formats) for part in parts], text_of(between, formats)
    if sum(map(len, texts)) + len(gap) * len(texts) > LONGEST_JOIN:  # looked at before, so that it never gets there
        raise FieldError("the joined text is too long.", "Join fewer values, or put less between them.")
    return gap.join(texts)


def first(_formats: Formats, value: object) -> object:
    """The first of several values; nothing when there is none."""
    return _several(value, "first")[0] if value else None


def last(_formats: Formats, value: object) -> object:
    """The last of several values; nothing when there is none."""
    return _several(value, "last")[-1] if value else None


def length(formats: Formats, value: object) -> int:
    """How many values, or how many characters a text has."""
    return len(value) if isinstance(value, tuple) else len(text_of(value, formats))


def default(_formats: Formats, value: object, instead: object) -> object:
    """`instead`, when the value is nothing, an empty text or no values; zero is a value."""
    return instead if value is None or value in ("", ()) else value


def cut(formats: Formats, value: object, most: object) -> str:
    """The text in at most `most` characters: cut behind a whole word, with "…" where something is left out."""
    return cut_at_a_word(text_of(value, formats), _whole(most, "cut", most=100_000, least=1))


def cut_at_a_word(text: str, most: int) -> str:
    """Return `text` on one line in at most `most` characters; a first word too long for it is cut within.

    >>> cut_at_a_word("The first warm morning", 12)
    'The first…'
    """
    line = one_line(text)
    if len(line) <= most:
        return line
    whole, space, _ = line[:most].rpartition(" ")
    return (whole if space else line[: most - 1]).rstrip(" ,;:.–-") + "…"


def upper(formats: Formats, value: object) -> str:
    """The text in capitals."""
    return text_of(value, formats).upper()


def lower(formats: Formats, value: object) -> str:
    """The text in small letters."""
    return text_of(value, formats).lower()


def trim(formats: Formats, value: object) -> str:
    """The text without spaces at its ends."""
    return text_of(value, formats).strip()


def slug(formats: Formats, value: object) -> str:
    """The text as a file name or address has it: small plain letters, digits and hyphens."""
    return slugify(text_of(value, formats), entities=False, decimal=False, hexadecimal=False)


def html(_formats: Formats, value: object) -> Markup:
    """A Markdown text as HTML, finished: an HTML template puts it in as it stands."""
    return Markup(to_html(_markdown(value, "html")))  # noqa: S704 (made by our own reader, with HTML off)


def plain(_formats: Formats, value: object) -> str:
    """A Markdown text without its marks."""
    return to_plain(_markdown(value, "plain"))


def markdown(_formats: Formats, value: object) -> MarkdownText:
    """A text that is Markdown already: a Markdown template puts it in as it stands."""
    return MarkdownText(joined(_markdown(value, "markdown")))


FILTERS: Final[dict[str, Filter]] = {
    "in_currency": in_currency,
    "number": number,
    "places": places,
    "weight": weight,
    "to": to,
    "date": day,
    "join": join,
    "first": first,
    "last": last,
    "length": length,
    "default": default,
    "cut": cut,
    "upper": upper,
    "lower": lower,
    "trim": trim,
    "slug": slug,
    "html": html,
    "plain": plain,
    "markdown": markdown,
}
TAKES_NOTHING: Final = frozenset({"default", "length", "join"})

TESTS: Final[dict[str, Test]] = {
    "none": lambda value: value is None,
    "empty": lambda value: value is None or value in ("", ()),
    "odd": lambda value: is_number(value) and value % 2 == 1,  # type: ignore[operator]
    "even": lambda value: is_number(value) and value % 2 == 0,  # type: ignore[operator]
}

# What somebody who knows other templates would write, and what does it here.
INSTEAD: Final[dict[str, str]] = {
    "safe": 'Write "html" or "markdown" behind a text of yours; values are always escaped.',
    "escape": "Leave it out: values are always escaped.",
    "e": "Leave it out: values are always escaped.",
    "round": 'Write "number(2)", or "places(2)" for a bare number.',
    "truncate": 'Write "cut(80)".',
    "striptags": 'Write "plain".',
    "count": 'Write "length".',
    "capitalize": "Type the word as it should be.",
    "title": "Type the words as they should be.",
    "money": 'Write "in_currency".',
    "format": 'Write "in_currency", "number", "weight" or "date".',
    "defined": "Every name is always there; ask whether it is empty, as in {% if name %}.",
    "undefined": 'Every name is always there; write "empty".',
}


def _number(value: object, used: str) -> Decimal:
    if not is_number(value) or not abs(value) <= LARGEST:  # type: ignore[arg-type]
        hint = "Put it behind an amount, such as a price." if used == "in_currency" else "Put it behind a number."
        raise FieldError(f"{quoted(used)} cannot be used on {kind_of(value)}.", hint)
    return Decimal(value)  # type: ignore[arg-type]


def _whole(value: object, used: str, *, least: int, most: int) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        example = f'Write it as in "{used}({min(most, 80)})".'
        raise FieldError(f"{quoted(used)} takes a whole number from {least} to {most}.", example)
    return value


def _several(value: object, used: str) -> tuple[object, ...]:
    if value is None:
        return ()
    if not isinstance(value, tuple):
        raise FieldError(f"{quoted(used)} needs several values, not {kind_of(value)}.", "Leave it out.")
    return value


def _markdown(value: object, used: str) -> str:
    if not isinstance(value, str) or isinstance(value, Markup):
        raise FieldError(f"{quoted(used)} needs a text, not {kind_of(value)}.", "Leave it out.")
    return str(value)
