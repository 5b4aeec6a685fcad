"""Reads numbers with units as owners write them: "340 g", "1 lb 2 oz", "3in x 2 1/2in x 1in", "12.5 %".

Exact: a number becomes a Decimal, a fraction must end (halves to sixty-fourths, tenths),
nothing is rounded. A bare number is refused unless the caller knows the unit from a heading.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal, localcontext
from typing import Final

from listkit.problem import FieldError, quoted
from listkit.units.table import UNITS

Units = Mapping[str, Decimal]
"""The words for each unit, lower case, and its size in the base unit."""

_NUMBER: Final = r"\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+\.\d+|\.\d+|\d+"
_PLAIN: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
_USUAL: Final = re.compile(r"(\d{1,9}(?:\.\d{1,9})?) ?([a-z]*)", re.ASCII)
"""One number and its unit, as nearly all are written: read without looking for anything else."""
_EXPONENT: Final = re.compile(r"[+-]?\d+(\.\d*)?[eE][+-]?\d+", re.ASCII)
_COMMA: Final = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_TIMES: Final = re.compile(r"\s*[x×X*](?!\))\s*")  # the last letter of "(approx)" is none
_SHARE: Final = re.compile(r"(.*?)[\s\u00a0\u202f]*%", re.DOTALL)
_HYPHEN: Final = re.compile(r"(?<=\d)-(?=\d+\s*/\s*\d)")
_BAR: Final = r"\d\s*/\s*(?=\d)"  # of a fraction, with a digit alone before it, so that it is found in one way
_BOTH: Final = re.compile(rf"((?:{_BAR}|[^/(=])+[^\W\d_]\.?)\s*(?:[/=]\s*((?:{_BAR}|[^/()=])+)|\(([^/()=]+)\))")
_LAST: Final = re.compile(r"(?:/\s*(?P<bottom>\d+)|\.(?P<decimals>\d+)|\d)\s*(?P<unit>[^\W\d_]+)\.?$")
_METRIC: Final = frozenset(word for unit in UNITS if unit.metric for word in unit.words.split())
_FRACTION: Final = re.compile(r"\s*([¼½¾⅓⅔⅛⅜⅝⅞])")
_LETTER: Final = r"[^\W\d_¼-¾⅐-⅞]"
UNIT_WORD: Final = f"{_LETTER}+"
"""The letters of a unit, as a regular expression; a fraction that is one sign is no digit there, and no letter."""
_LONGEST: Final = 40
_MOST: Final = Decimal(10) ** 8  # grams, millilitres, millimetres: a hundred tonnes, a hundred kilometres
_LEAST: Final = Decimal(10) ** -6  # of the same, above nothing; between the two 28 digits are enough for what follows
_LONGEST_VALUE: Final = 300
# By a mark that is no letter, the first word of its unit: ″ is "in".
MARKS: Final = {mark: unit.words.split()[0] for unit in UNITS for mark in unit.marks}
# An apostrophe is read so that it can be refused by name.
_TERM: Final = re.compile(rf"\s*({_NUMBER})\s*([^\W\d_]+\.?|[{re.escape(''.join(MARKS))}'])?", re.ASCII | re.IGNORECASE)
_APART: Final = r"\.?\s*"
_JOINED: Final = tuple(
    (re.compile(rf"(?<!{_LETTER}){_APART.join(sign.split())}s?(?!{_LETTER})\.?", re.IGNORECASE), sign.replace(" ", ""))
    for sign in sorted((unit.sign for unit in UNITS if " " in unit.sign), key=len, reverse=True)
)


@dataclass(frozen=True, slots=True)
class Example:
    """How to write a value of one kind, for hints: what it is called, and a good one."""

    kind: str
    good: str


SHARE_EXAMPLE: Final = Example("a share", "12.5 %")


def in_bounds(text: str, example: Example) -> str:
    """Return a text without the spaces around it.

    Raises:
        FieldError: it is longer than any value of its kind; patterns would take minutes over thousands of spaces.
    """
    text = text.strip()
    if len(text) > _LONGEST_VALUE:
        raise _unreadable(text, example)
    return text


def parse_decimal(text: str, example: Example) -> Decimal:
    """Return a plain decimal number: digits and at most one point; no exponent, no comma, no grouping."""
    text = text.strip()
    if len(text) <= _LONGEST and _PLAIN.fullmatch(text):
        return Decimal(text)
    if _COMMA.fullmatch(text):
        raise FieldError(f"{quoted(text)} has a comma.", f"Write {quoted(text.replace(',', '.'))} with a point.")
    if _EXPONENT.fullmatch(text):
        raise _exponent(text, example)
    raise _unreadable(text, example)


def parse_quantity(text: str, units: Units, example: Example, *, unit: str = "") -> Decimal:
    """Return `text` in the base unit of `units`: "340 g", "4oz", "1 lb 2 oz", "2 1/2 in".

    Args:
        text: one or more numbers each with a unit; they add up.
        units: every word that may stand as a unit.
        example: for the hint.
        unit: taken for a bare number, when a heading has named it.

    Raises:
        FieldError: no number, no or an unknown unit, an exponent, a decimal comma, a negative, more or less than
            anything of a shop has.
    """
    if (usual := _USUAL.fullmatch(text)) and (size := units.get(usual[2] or unit)) is not None:
        return meant(Decimal(usual[1]) * size, text, example)
    terms = list(_terms(in_bounds(text, example), example))
    if len(terms) == 1 and not terms[0][1]:
        if not unit:
            raise FieldError(
                f"{quoted(text.strip())} has no unit.", f"Write the unit with it, as in {quoted(example.good)}."
            )
        terms = [(terms[0][0], unit)]
    return meant(
        sum((number * _factor(word, units, text, example) for number, word in terms), Decimal(0)), text, example
    )


def meant(size: Decimal, text: str, example: Example) -> Decimal:
    """Return a size in the base unit that something in a shop can have."""
    if size and not _LEAST <= size < _MOST:
        much = "more" if size >= _MOST else "less"
        raise FieldError(
            f"{quoted(text.strip())} is {much} than can be meant.", f"Write it as in {quoted(example.good)}."
        )
    return size


def parse_sides(text: str, units: Units, example: Example, *, unit: str = "") -> tuple[Decimal, ...]:
    """Return the sides in the base unit: "86 x 58 x 28 mm", "3in x 2 1/2in x 1in".

    A unit may stand once at the end or behind every side.
    """
    return sides_and_unit(text, units, example, unit=unit)[0]


def sides_and_unit(text: str, units: Units, example: Example, *, unit: str) -> tuple[tuple[Decimal, ...], str]:
    """Return the sides, and the word of the unit behind the last, else the heading's; folded as in tables of units.

    >>> sides_and_unit("3 x 2 1/2 x 1 Inches", {"inches": Decimal("25.4")}, SHARE_EXAMPLE, unit="")
    ((Decimal('76.2'), Decimal('63.50'), Decimal('25.4')), 'inches')
    """
    parts = _TIMES.split(in_bounds(text, example))
    if not all(map(str.strip, parts)):
        raise _unreadable(text.strip(), example)
    read = [list(_terms(part, example)) for part in parts]
    stated = [terms[-1][1] for terms in read]
    if "" in stated and len({_fold(word) for word in stated if word}) > 1:
        raise FieldError(
            f"{quoted(text.strip())} has a number without unit.", f"Write it as in {quoted(example.good)}."
        )
    last = next((word for word in reversed(stated) if word), unit)
    return tuple(parse_quantity(part, units, example, unit=last) for part in parts), _fold(last)


def sides_as_written(text: str, units: Units, example: Example) -> tuple[tuple[Decimal, ...], str]:
    """Return the numbers of sides with their own digits, and the word of the unit that all of them are in, folded.

    A side in another unit than the last is turned into that one, to two places, cut.

    >>> sides_as_written("3.0 x 2 1 / 2 in", {"in": Decimal("25.4")}, SHARE_EXAMPLE)
    ((Decimal('3.0'), Decimal('2.5')), 'in')
    """
    sizes, last = sides_and_unit(text, units, example, unit="")
    numbers = []
    for part, size in zip(_TIMES.split(in_bounds(text, example)), sizes, strict=True):
        (number, word), *more = _terms(part, example)
        same = not more and _fold(word or last) == last
        numbers.append(number if same else (size / units[last]).quantize(Decimal("0.01"), ROUND_FLOOR))
    return tuple(numbers), last


def known_unit(word: str, units: Units) -> bool:
    """Whether `word` names one of `units`, in any case, with or without a full stop."""
    return _fold(word) in units


def joined(text: str) -> str:
    """Return `text` with units of several words as one, as the table has them.

    >>> joined("4 fl. oz")
    '4 floz'
    """
    for pattern, word in _JOINED:
        text = pattern.sub(word, text)
    return text


def share_text(share: Decimal) -> str:
    """Return a share of a whole, 0.15 as "15 %": all digits that it has, and none more."""
    return f"{(share * 100).normalize():f} %"


def parse_share(text: str) -> Decimal:
    """Return the fraction that "12.5 %" names; the sign % is required and the share is 0 % or more."""
    match = _SHARE.fullmatch(in_bounds(text, SHARE_EXAMPLE))
    if match is None:
        raise FieldError(
            f"{quoted(text.strip())} has no per cent sign.", f"Write a share as in {quoted(SHARE_EXAMPLE.good)}."
        )
    if not match[1].strip():
        raise _unreadable(text.strip(), SHARE_EXAMPLE)
    share = parse_decimal(match[1], SHARE_EXAMPLE) / 100
    if share.is_signed():
        raise FieldError(f"{quoted(text.strip())} is negative.", f"Write a share as in {quoted(SHARE_EXAMPLE.good)}.")
    return share


def with_fractions(text: str) -> str:
    """Return a text with signs of fractions as figures, and mixed ones without a hyphen.

    >>> with_fractions("2¾ x 1 ½ x 2-1/4 in")
    '2 3/4 x 1 1/2 x 2 1/4 in'
    """
    text = _FRACTION.sub(lambda sign: f" {unicodedata.normalize('NFKC', sign[1]).replace('⁄', '/')}", text)
    return _HYPHEN.sub(" ", text)


def in_both(text: str) -> tuple[str, str] | None:
    """Return the two amounts that a text states, in whichever order; None where it states one.

    >>> in_both("2 1/2 oz / 71 g"), in_both("100 ml (3.4 fl oz)"), in_both("1/2 oz")
    (('2 1/2 oz', '71 g'), ('100 ml', '3.4 fl oz'), None)
    """
    both = _BOTH.fullmatch(with_fractions(text).strip())
    return (both[1].strip(), (both[2] or both[3]).strip()) if both else None


def metric_of(
    both: tuple[str, str], units: Units, example: Example, *, counts: tuple[int, int] = (1, 1)
) -> tuple[str, str]:
    """Return of one amount in two measures the metric and the customary words; `counts` are how often each is there.

    Raises:
        FieldError: both are of one measure, or they are not the same, rounded as they stand there.
    """
    left, right = both
    kind = example.kind.removeprefix("a ")
    metric = [text for text in both if _unit_and_step(text, units)[0] in _METRIC]
    if len(metric) != 1:
        raise FieldError(
            f"{quoted(left)} and {quoted(right)} are two {kind}s.", f"Write one, as in {quoted(example.good)}."
        )
    (other,) = (text for text in both if text not in metric)
    sizes = [parse_quantity(text, units, example) * count for text, count in zip(both, counts, strict=True)]
    steps = [_unit_and_step(text, units)[1] * count for text, count in zip(both, counts, strict=True)]
    if abs(sizes[0] - sizes[1]) > sum(steps) / 2:
        raise FieldError(
            f"{quoted(left)} and {quoted(right)} are not the same {kind}.",
            f"Write the one that is on the label, as in {quoted(example.good)}.",
        )
    return metric[0], other


def _unit_and_step(text: str, units: Units) -> tuple[str, Decimal]:
    """Return the word of the last unit in an amount, and the size of one in its last digit or of its fraction."""
    last = _LAST.search(text)
    word = _fold(last["unit"]) if last else ""
    if last is None or word not in units:
        return word, Decimal(0)
    step = 1 / Decimal(last["bottom"]) if int(last["bottom"] or 0) else Decimal(1).scaleb(-len(last["decimals"] or ""))
    return word, units[word] * step


def _terms(text: str, example: Example) -> Iterator[tuple[Decimal, str]]:
    at, text = 0, with_fractions(text).strip()
    if not text or len(text) > _LONGEST * 3:
        raise _unreadable(text, example)
    if _COMMA.match(text):
        raise FieldError(f"{quoted(text)} has a comma.", f"Write a point, as in {quoted(example.good)}.")
    if text.startswith("-"):
        raise FieldError(f"{quoted(text)} is negative.", f"Write it as in {quoted(example.good)}.")
    if _EXPONENT.match(text):
        raise _exponent(text, example)
    while at < len(text):
        match = _TERM.match(text, at)
        if match is None or len(match[1]) > _LONGEST:
            raise _unreadable(text, example)
        yield _number(match[1], example), match[2] or ""
        at = match.end()
        while at < len(text) and text[at] in " \t\u00a0\u202f":
            at += 1


def _number(text: str, example: Example) -> Decimal:
    if "/" not in text:
        return Decimal(text)
    *whole, top, bottom = map(int, re.findall(r"\d+", text))
    with localcontext() as context:
        context.prec = 60
        if bottom == 0 or (value := Decimal(top) / bottom) * bottom != top:
            raise FieldError(
                f"{quoted(text)} does not end as a decimal number.", f"Write it as in {quoted(example.good)}."
            )
    return sum(whole) + value


def _factor(word: str, units: Units, text: str, example: Example) -> Decimal:
    if not word:
        raise FieldError(
            f"{quoted(text.strip())} has a number without unit.", f"Write it as in {quoted(example.good)}."
        )
    try:
        return units[_fold(word)]
    except KeyError:
        raise FieldError(
            f"{quoted(word)} is not a unit of {example.kind}.", f"Write it as in {quoted(example.good)}."
        ) from None


def _fold(word: str) -> str:
    return MARKS.get(word) or word.lower().rstrip(".")


def _exponent(text: str, example: Example) -> FieldError:
    hint = f"Write it out, as in {quoted(example.good)}."
    return FieldError(f"{quoted(text)} is in powers of ten, as spreadsheets write long numbers.", hint)


def _unreadable(text: str, example: Example) -> FieldError:
    shown = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return FieldError(f"{quoted(shown)} is not {example.kind}.", f"Write it as in {quoted(example.good)}.")
