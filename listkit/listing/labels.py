"""Outside labels in words: what one variant's label says, in each of its languages, and how large its type must be.

A gift set is a product of its own: its outside says what it is, what is in it, of what, what to heed, who made it and
where. What the shop does not state has no words; a number is never made up.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import partial
from typing import Final

from listkit.compute.allergens import EUROPE
from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.compute.cautions import FOAMS, RULES, is_for_the_skin
from listkit.compute.declaration import Rules, declaration
from listkit.compute.labels import TypeHeights, panel_of, type_heights
from listkit.listing.declared import caution_lines, declared, in_few_words
from listkit.listing.photos import unlike_slugs
from listkit.listing.print_words import LabelVoice, voice_in
from listkit.listing.sentences import fill
from listkit.listing.words import capital, counted, small
from listkit.model.fields import Shape, Status
from listkit.model.item import Item
from listkit.model.labels import NO_BOX, BoxLabels, Face, Labels
from listkit.model.settings import Settings
from listkit.units.net import Measure
from listkit.units.table import printed_signs

MONTHS_WITH_A_LAST_DAY: Final = 30
# From behind a comma, semicolon or bracket, or from its start, to a unit.
_QUANTITY: Final = re.compile(
    rf"(?:(?<=[,;] )|(?<=\()|^)[^,;()\d]*\d[^,;()]*? (?:{'|'.join(map(re.escape, printed_signs()))})\b", re.IGNORECASE
)
WARNED: Final = frozenset({rule.key for rule in RULES if rule.grave} | {"keep-from-children", "hair-dye", *FOAMS})
"""Cautions that stand before all others and in bold, with the general warning sign."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """What a label says in one language. `contents` is the declaration, `lines` the same an item a line.

    `warnings` are about fire, children, or in words that a law prescribes; `made` is who made it and where.
    """

    language: str
    identity: str
    pieces: tuple[str, ...]
    contents: str
    lines: tuple[str, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    made: tuple[str, ...]
    batch: str
    date: str


@dataclass(frozen=True, slots=True)
class Opened:
    """How long pieces keep once opened: what stands in the open jar ("12M"), which ones, and the same in words.

    `names` is "" where it holds for all that is inside.
    """

    months: str
    names: str
    says: str


@dataclass(frozen=True, slots=True)
class LabelText:
    """One variant's label, of the set `set_code`.

    `ingredients` are told once, by product, whatever the language: they are INCI names.
    """

    code: str
    set_code: str
    name: str
    theme: str
    spoken: tuple[Spoken, ...]
    ingredients_heading: str
    cautions_heading: str
    ingredients: tuple[tuple[str, str], ...]
    gtin: str
    number: str
    heights: TypeHeights
    box: str = ""  # its code
    opened: tuple["Opened", ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes that the label speaks of, the variant's first."""
        return (self.code,)


@dataclass(frozen=True, slots=True)
class _Writing:
    """What all labels of a shop share; `known` are texts made once for all variants that need the same."""

    settings: Settings
    labels: Labels
    voices: tuple[LabelVoice, ...]
    known: dict[tuple[object, ...], str] = field(default_factory=dict)

    def once(self, make: Callable[[], str], *key: object) -> str:
        """Return what `make` makes, made the first time that this key is met."""
        text = self.known.get(key)
        if text is None:
            text = self.known[key] = make()
        return text


@dataclass(frozen=True, slots=True)
class LabelPaper:
    """All labels of a shop: how they are asked for, whose they are, their first language, a text for each variant."""

    labels: Labels
    shop: str
    voice: LabelVoice
    texts: tuple[LabelText, ...]
    box: str = ""  # whose size it is; "" for the usual one
    box_in_name: str = ""  # the same in a file's name


def by_size(paper: LabelPaper, own_sizes: tuple[BoxLabels, ...]) -> Iterator[LabelPaper]:
    """Yield the labels of the usual size, then those of each box that has a size of its own."""
    own = {size.box: size for size in reversed(own_sizes)}
    in_names = dict(zip(own, unlike_slugs(own, "box"), strict=True))
    of_box = {text.code: text.box or NO_BOX for text in paper.texts}
    for box in ("", *own):
        texts = tuple(text for text in paper.texts if (of_box[text.code] if of_box[text.code] in own else "") == box)
        if texts:
            labels = own[box].over(paper.labels) if box else paper.labels
            yield replace(paper, labels=labels, texts=texts, box=box, box_in_name=in_names.get(box, ""))


def label_paper(catalog: Catalog) -> LabelPaper | None:
    """Return the outside labels; None without [labels], without words for them, or with nothing to label."""
    settings = catalog.shop.settings
    labels = settings.labels
    voices = _voices(catalog, labels) if labels else ()
    if labels is None or not voices:
        return None
    texts = tuple(_labels(catalog, _Writing(settings, labels, voices)))
    return LabelPaper(labels, settings.name, voices[0], texts) if texts else None


def _voices(catalog: Catalog, labels: Labels) -> tuple[LabelVoice, ...]:
    """Return the voices of all the labels' languages; empty when one of them has none, which is told."""
    languages = labels.languages or (catalog.shop.settings.language,)
    voices = tuple(voice_in(catalog.shop, language)[0] for language in languages)
    return tuple(voice for voice in voices if voice) if all(voices) else ()


def _labels(catalog: Catalog, writing: _Writing) -> Iterator[LabelText]:
    for facts in catalog.sets:
        told = tuple(voice.spoken.facts(facts) for voice in writing.voices)
        for at, variant in enumerate(facts.variants):
            if variant.status is not Status.CLOSED:
                yield _label(told, at, writing)


def _label(facts_by_voice: tuple[SetFacts, ...], at: int, writing: _Writing) -> LabelText:
    """Return the label of one variant; `facts_by_voice` is its set in the language of each voice."""
    voices, facts, variant = writing.voices, facts_by_voice[0], facts_by_voice[0].variants[at]
    items = _items(variant)
    return LabelText(
        code=variant.code,
        set_code=facts.code,
        name=facts.name,
        theme=facts.source.gift_set.theme,
        spoken=tuple(
            _spoken(one, one.variants[at], voice, writing) for one, voice in zip(facts_by_voice, voices, strict=True)
        ),
        ingredients_heading=_both(voice.label.ingredients for voice in voices),
        cautions_heading=_both(voice.label.cautions for voice in voices),
        ingredients=tuple(
            (fill(voices[0].label.of_item, item=voices[0].words.naming.of(item)), item.ingredients)
            for item in items
            if item.ingredients
        ),
        gtin=variant.gtin,
        number=fill(voices[0].label.code, code=variant.code),
        heights=_heights(variant, writing),
        box=variant.box.code if variant.box else "",
        opened=tuple(_opened(tuple(one.variants[at] for one in facts_by_voice), voices)),
    )


def _both(headings: Iterable[str]) -> str:
    return " / ".join(dict.fromkeys(headings))


def _spoken(facts: SetFacts, variant: Variant, voice: LabelVoice, writing: _Writing) -> Spoken:
    settings, made, items = writing.settings, [], _items(variant)
    contents, *lines = _contents(variant, voice, writing)
    if maker := settings.address or settings.name:
        made.append(fill(voice.label.made_by, address=_together(maker)))
    if settings.labels and settings.labels.origin:
        made.append(fill(voice.label.country, country=voice.country(settings.labels.origin)))
    return Spoken(
        language=voice.language,
        identity=_identity(variant, voice, writing),
        pieces=tuple(
            writing.once(partial(_named, piece, voice), "piece", voice.language, piece.item.code, piece.quantity)
            for piece in variant.pieces
        ),
        contents=contents,
        lines=tuple(lines),
        warnings=_warned(variant, voice, grave=True),
        cautions=_warned(variant, voice, grave=False),
        made=tuple(made),
        batch=voice.label.batch,
        date=_date(items, settings.country, voice),
    )


def _date(items: tuple[Item, ...], country: str, voice: LabelVoice) -> str:
    """Return what stands before the date, which is written in by hand: in Europe in the words that its law prescribes.

    Regulation (EC) No 1223/2009, article 19(1)(c); Great Britain keeps it, Switzerland has the same.
    """
    if not _runs_out(items):
        return voice.label.made_on
    return voice.label.best_used if country in EUROPE | {"GB"} else voice.label.best_before


def _runs_out(items: tuple[Item, ...]) -> bool:
    """Whether it keeps 30 months at most, and so has a last day: Regulation (EC) No 1223/2009, article 19(1)(c).

    Where nobody says how long, what goes on the skin has one; candles and melts are no cosmetics.
    """
    lives = [item.shelf_life for item in items if item.shelf_life is not None]
    return min(lives) <= MONTHS_WITH_A_LAST_DAY if lives else any(map(is_for_the_skin, items))


def _opened(variants: tuple[Variant, ...], voices: tuple[LabelVoice, ...]) -> Iterator[Opened]:
    """Yield how long pieces keep once opened, the shortest first; `variants` is one variant in each voice's language.

    Which pieces it holds for is said where it does not hold for all of them.
    """
    listed = tuple(_items(variant) for variant in variants)
    stated = {item.after_opening or 0 for item in listed[0]}
    for months in sorted(stated - {0}):
        names = (
            voice.words.all_of(in_few_words(voice.words, (one for one in items if one.after_opening == months), items))
            for items, voice in zip(listed, voices, strict=True)
        )
        says = fill(voices[0].label.after_opening, time=voices[0].words.count("month", months))
        yield Opened(f"{months}M", _both(map(capital, names)) if len(stated) > 1 else "", says)


def _identity(variant: Variant, voice: LabelVoice, writing: _Writing) -> str:
    """Return what it is: "Gift set: a bar soap, a lip balm and a body butter"; a single piece by its form.

    Pieces without a box are named alone: no other text calls them a gift set.
    """
    forms: dict[tuple[str, str], int] = {}
    for piece in variant.pieces:
        key = (piece.item.form, piece.item.container) if piece.item.form else (piece.item.name, "")
        forms[key] = forms.get(key, 0) + piece.quantity
    if variant.box is None and sum(forms.values()) == 1:
        return capital(fill(voice.label.alone, item=variant.pieces[0].item.form or variant.pieces[0].item.name))

    def gift_set() -> str:
        words = voice.words
        named = tuple(counted(words, small(words, form), count, held) for (form, held), count in forms.items())
        items = words.all_of(named)
        return fill(voice.label.gift_set, items=items) if variant.box else capital(items)

    return writing.once(gift_set, "identity", voice.language, variant.box is None, *forms.items())


def _named(piece: Piece, voice: LabelVoice) -> str:
    name = voice.words.naming.of(piece.item)
    return name if piece.quantity == 1 else fill(voice.words.sentences.several, count=str(piece.quantity), what=name)


def _contents(variant: Variant, voice: LabelVoice, writing: _Writing) -> tuple[str, ...]:
    """Return the declaration, whole and then line by line; pieces of the same forms and nets are declared alike."""
    settings = writing.settings

    def contents() -> str:
        made = declared(voice.words, declaration(variant.pieces, Rules.of(settings.net_contents, settings.country)))
        texts = (made.text, *filter(None, (*made.lines, made.total)))
        return "\n".join(map(unparted, texts))

    amounts = (
        (piece.item.form or piece.item.code, piece.item.container, piece.item.net, piece.quantity)
        for piece in variant.pieces
    )
    return tuple(writing.once(contents, "contents", voice.language, *amounts).split("\n"))


def unparted(text: str) -> str:
    """Return a declaration in which no quantity is parted, with the words before it and each of its two systems.

    >>> unparted("1 body butter, Net wt 4 oz (113 g); 6 × 15 g").replace("\\u00a0", "_")
    '1 body butter, Net_wt_4_oz (113_g); 6_×_15_g'
    """
    return _QUANTITY.sub(lambda found: found[0].replace(" ", "\u00a0"), text)


def _together(address: str) -> str:
    """Return an address whose last word, where it has figures as a postcode does, is not parted from the one before."""
    return re.sub(r" (\S*\d\S*)$", "\u00a0\\1", address)


def _warned(variant: Variant, voice: LabelVoice, *, grave: bool) -> tuple[str, ...]:
    """Return the cautions of a variant in words: those about fire and children, or the others."""

    def cautions_of(item: Item) -> tuple[str, ...]:
        chosen = voice.cautions.chosen(item)
        return voice.cautions.worded(tuple(key for key in chosen if (key in WARNED) is grave))

    return caution_lines(voice.words, cautions_of, _items(variant))


def _items(variant: Variant) -> tuple[Item, ...]:
    return tuple({piece.item.code: piece.item for piece in variant.pieces}.values())


def _heights(variant: Variant, writing: _Writing) -> TypeHeights:
    """Return the least heights of type: by the gift box's own panel, of a loose set by its largest piece's.

    A label larger than either has its own.
    """
    amounts = [
        item.net.total for item in _items(variant) if item.net and item.net.measure in {Measure.MASS, Measure.VOLUME}
    ]
    return type_heights(
        largest_panel(variant, _size(variant, writing)),
        max(amounts, default=Decimal(0)),
        writing.settings.country,
        rule=writing.labels.type,
    )


def _size(variant: Variant, writing: _Writing) -> Face:
    """Return the size of a variant's label: its box's own, else the usual one."""
    box = variant.box.code if variant.box else NO_BOX
    own = next((size for size in writing.settings.box_labels if size.box == box), None)
    return (own.over(writing.labels) if own else writing.labels).size


def largest_panel(variant: Variant, label: Face) -> Decimal:
    """Return the area in mm² of the panel that a variant's label lies on; a box without outside by its inside."""
    if variant.box is not None:
        return panel_of(variant.box.outside or variant.box.inside, Shape.BOX, label)
    return max(panel_of(piece.item.size, piece.item.shape, label) for piece in variant.pieces)
