"""Declared net contents in words, from templates/words/<language>.toml, [net].

A declaration's lines, its total last, and all of it in one text: "2 bar soaps, 3.2 oz (90 g) each; 1 lip balm,
0.15 oz (4.2 g)". All numbers are computed; what stands around them belongs to the templates.
"""

from dataclasses import dataclass
from decimal import Decimal

from listkit.compute.declaration import Declaration, Group, Kind, Quantity
from listkit.listing.formats import number_text
from listkit.listing.nouns import item_name, many, small, uncounted
from listkit.listing.words import Words, fill
from listkit.model.item import Item
from listkit.units.declared import Figure
from listkit.units.net import Measure


@dataclass(frozen=True, slots=True)
class Declared:
    """A declaration in words: a line a group, then the total ("" where none is asked for), and both in one text."""

    lines: tuple[str, ...]
    total: str
    text: str


def declared(words: Words, made: Declaration) -> Declared:
    """Return a declaration in words: of a single piece the bare quantity, of a package a line a group."""
    lines = tuple(filter(None, (_line(words, made, group) for group in made.groups)))
    total = _total(words, made) if made.total else ""
    end = "" if made.kind is Kind.SINGLE else words.net.end
    body = words.net.between.join(lines) + end
    text = f"{body}{' ' if end else words.net.between}{total}{end}" if total else body
    return Declared(lines, total, text)


def _line(words: Words, made: Declaration, group: Group) -> str:
    size = quantity_text(words, group.quantity) if group.quantity else ""
    if made.count == 1:
        return size or _named(words, group, words.net.bare, "")
    sentence = words.net.bare if not size else words.net.one if group.count == 1 else words.net.many
    return _named(words, group, sentence, size)


def _named(words: Words, group: Group, sentence: str, size: str) -> str:
    return fill(sentence, count=str(group.count), what=_noun(words, group.item, group.count), size=size)


def _noun(words: Words, item: Item, count: int) -> str:
    """Return what a group is, behind its number: "bar soaps", "pouch of bath salts"; by name where it has no form."""
    if not item.form:
        return item_name(item)
    form = small(words, item.form)
    if stated := _stated(words, form, count):
        return stated
    if item.container and uncounted(words, form):
        container = item.container if count == 1 else many(words, item.container)
        return fill(words.sentences.contained, container=container, what=form)
    return form if count == 1 else many(words, form)


def _stated(words: Words, form: str, count: int) -> str:
    """Return what the language's table calls a form behind a number: "un sachet de sels" is "sachet de sels" there."""
    known = words.form(form)
    told = known.one.partition(" ")[2] if count == 1 else known.many
    return "" if told == form else told


def _total(words: Words, made: Declaration) -> str:
    if made.total is None:
        return ""
    group = made.groups[0]
    size = quantity_text(words, made.total)
    return fill(words.net.total, count=str(made.count), what=_noun(words, group.item, made.count), size=size)


def quantity_text(words: Words, quantity: Quantity) -> str:
    """Return a quantity as it is printed: "110 g (3.88 oz)", "4 × 25 g"."""
    text = figure_text(words, quantity.figures[0])
    if len(quantity.figures) > 1:
        text = fill(words.net.both, first=text, second=figure_text(words, quantity.figures[1]))
    if quantity.times > 1:
        text = fill(words.net.times, count=str(quantity.times), size=text)
    marks = {Measure.MASS: words.net.mass, Measure.VOLUME: words.net.volume, Measure.SIZE: words.net.size}
    return fill(marks.get(quantity.measure, "{size}"), size=text)


def figure_text(words: Words, figure: Figure) -> str:
    """Return a figure with its unit, all its digits kept: "5.0 oz", "118 × 80 mm", "6 pieces"."""
    if not figure.unit:
        return words.count("piece", int(figure.numbers[0]))
    numbers = " × ".join(_number(number, words.language) for number in figure.numbers)
    return f"{numbers} {dict(words.net.units).get(figure.unit, figure.unit)}"


def _number(number: Decimal, language: str) -> str:
    return number_text(number, language, digits=len(f"{number:f}".partition(".")[2]))
