"""Filters and tests: what a template may do with a value, and nothing else.

None of them makes a text grow with a number it is given, none takes a name to call, and
each knows the language and currency of the text it writes in. FILTERS and TESTS are the closed tables.
A filter is called as filter(formats, value, *arguments). Nothing in gives nothing out, save for TAKES_NOTHING.
"""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Final

from markupsafe import Markup
from slugify import slugify

from listkit.listing import formats as cldr
from listkit.listing.formats import Formats
from listkit.listing.markdown import MarkdownText, one_line, to_html, to_plain
from listkit.listing.template_operators import LARGEST
from listkit.listing.template_values import field, is_number, kind_of, suggestion, text_of
from listkit.problem import FieldError
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import Money
from listkit.units.table import UnitKind, channel_places
from listkit.units.weight import Weight

LENGTHS: Final = tuple(channel_places(UnitKind.LENGTH))
LONGEST_JOIN: Final = 500_000  # characters
Filter = Callable[..., object]
Test = Callable[[object], bool]


def money(formats: Formats, value: object) -> str:
    """Money, or a bare number in the shop's currency, as the language writes it; half up to the minor digits."""
    amount, currency = (value.amount, value.currency) if isinstance(value, Money) else (value, formats.currency)
    return cldr.money_text(_number(amount, "money"), currency, formats.language)


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
    return f"{cldr.half_up(_number(figure, 'places'), _whole(digits, 'places', most=6, least=0)):f}"


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
    return cldr.half_up(exact, 6).normalize()


def day(formats: Formats, value: object, style: object = "long") -> str:
    """A date in a style: "short", "medium", "long", "full", "day" (without the year) or "iso"."""
    if not isinstance(value, date):
        raise FieldError(f'"date" needs a date, not {kind_of(value)}.', "Put it behind a date.")
    if style not in cldr.DATE_STYLES:
        raise FieldError("that is not a way to write a date.", suggestion(str(style), cldr.DATE_STYLES))
    return cldr.date_text(value, formats.language, style=str(style))


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
    """Return `text` on one line in at most `most` characters; a first word too long for it is cut within."""
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
    return MarkdownText(_markdown(value, "markdown"))


FILTERS: Final[dict[str, Filter]] = {
    "money": money,
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
    "format": 'Write "money", "number", "weight" or "date".',
    "defined": "Every name is always there; ask whether it is empty, as in {% if name %}.",
    "undefined": 'Every name is always there; write "empty".',
}


def _number(value: object, used: str) -> Decimal:
    if not is_number(value) or not abs(value) <= LARGEST:  # type: ignore[arg-type]
        hint = "Put it behind an amount, such as a price." if used == "money" else "Put it behind a number."
        raise FieldError(f'"{used}" cannot be used on {kind_of(value)}.', hint)
    return Decimal(value)  # type: ignore[arg-type]


def _whole(value: object, used: str, *, least: int, most: int) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        example = f'Write it as in "{used}({min(most, 80)})".'
        raise FieldError(f'"{used}" takes a whole number from {least} to {most}.', example)
    return value


def _several(value: object, used: str) -> tuple[object, ...]:
    if value is None:
        return ()
    if not isinstance(value, tuple):
        raise FieldError(f'"{used}" needs several values, not {kind_of(value)}.', "Leave it out.")
    return value


def _markdown(value: object, used: str) -> str:
    if not isinstance(value, str) or isinstance(value, Markup):
        raise FieldError(f'"{used}" needs a text, not {kind_of(value)}.', "Leave it out.")
    return str(value)
