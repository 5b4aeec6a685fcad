"""Outside labels in words: what one variant's label says, in each of its languages, and how large its type must be.

A gift set is a product of its own: its outside says what it is, what is in it, of what, what to heed, who made it and
where. What the shop does not state has no words; a number is never made up.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.compute.cautions import FOAMS, RULES, entries_of
from listkit.compute.declaration import Rules, declaration
from listkit.compute.ingredients import by_product
from listkit.compute.labels import TypeHeights, panel_area, type_heights
from listkit.listing.declared import caution_lines, declared
from listkit.listing.print_words import LabelVoice, voice_in
from listkit.listing.words import capital, counted, fill, item_name, small
from listkit.model.fields import Shape, Status
from listkit.model.item import Item
from listkit.model.labels import Labels
from listkit.model.settings import Settings
from listkit.units.net import Measure

MONTHS_WITH_A_LAST_DAY: Final = 30
WARNED: Final = frozenset({rule.key for rule in RULES if rule.grave} | {"keep-from-children", *FOAMS})
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
class LabelText:
    """One variant's label, of the set `set_code`.

    `ingredients` are told once, by product, whatever the language: they are INCI names.
    """

    code: str
    set_code: str
    name: str
    spoken: tuple[Spoken, ...]
    ingredients_heading: str
    cautions_heading: str
    ingredients: tuple[tuple[str, str], ...]
    gtin: str
    number: str
    heights: TypeHeights

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes that the label speaks of, the variant's first."""
        return (self.code,)


@dataclass(frozen=True, slots=True)
class _Writing:
    """What all labels of a shop share."""

    settings: Settings
    labels: Labels
    voices: tuple[LabelVoice, ...]


@dataclass(frozen=True, slots=True)
class LabelPaper:
    """All labels of a shop: how they are asked for, whose they are, their first language, a text for each variant."""

    labels: Labels
    shop: str
    voice: LabelVoice
    texts: tuple[LabelText, ...]


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
    return LabelText(
        code=variant.code,
        set_code=facts.code,
        name=facts.name,
        spoken=tuple(
            _spoken(one, one.variants[at], voice, writing.settings)
            for one, voice in zip(facts_by_voice, voices, strict=True)
        ),
        ingredients_heading=_both(voice.label.ingredients for voice in voices),
        cautions_heading=_both(voice.label.cautions for voice in voices),
        ingredients=_ingredients(variant, voices[0]),
        gtin=variant.gtin,
        number=fill(voices[0].label.code, code=variant.code),
        heights=_heights(facts, variant, writing),
    )


def _both(headings: Iterable[str]) -> str:
    return " / ".join(dict.fromkeys(headings))


def _spoken(facts: SetFacts, variant: Variant, voice: LabelVoice, settings: Settings) -> Spoken:
    rules = Rules.of(settings.net_contents, settings.country)
    declaring = declared(voice.words, declaration(variant.pieces, rules))
    made = []
    if maker := settings.address or settings.name:
        made.append(fill(voice.label.made_by, address=maker))
    made.append(fill(voice.label.country, country=voice.country(settings.country)))
    return Spoken(
        language=voice.language,
        identity=_identity(facts, variant, voice),
        pieces=tuple(_named(piece, voice) for piece in variant.pieces),
        contents=_held(declaring.text),
        lines=tuple(_held(line) for line in (*declaring.lines, declaring.total) if line),
        warnings=_warned(variant, voice, grave=True),
        cautions=_warned(variant, voice, grave=False),
        made=tuple(made),
        batch=voice.label.batch,
        date=voice.label.best_before if _runs_out(variant) else voice.label.made_on,
    )


def _runs_out(variant: Variant) -> bool:
    """Whether it keeps 30 months at most, and so has a last day: Regulation (EC) No 1223/2009, article 19(1)(c)."""
    lives = [item.shelf_life for item in _items(variant) if item.shelf_life is not None]
    return min(lives, default=0) <= MONTHS_WITH_A_LAST_DAY


def _identity(facts: SetFacts, variant: Variant, voice: LabelVoice) -> str:
    """Return what it is: "Gift set: a bar soap, a lip balm and a body butter"; a single piece by its form."""
    forms: dict[tuple[str, str], int] = {}
    for piece in variant.pieces:
        key = (piece.item.form, piece.item.container) if piece.item.form else (item_name(piece.item), "")
        forms[key] = forms.get(key, 0) + piece.quantity
    words = voice.words
    told = tuple(counted(words, small(words, form), count, held) for (form, held), count in forms.items())
    if facts.box is None and sum(forms.values()) == 1:
        return capital(fill(voice.label.alone, item=variant.pieces[0].item.form or item_name(variant.pieces[0].item)))
    return fill(voice.label.gift_set, items=words.all_of(told))


def _named(piece: Piece, voice: LabelVoice) -> str:
    name = item_name(piece.item)
    return name if piece.quantity == 1 else fill(voice.words.sentences.several, count=str(piece.quantity), what=name)


def _held(text: str) -> str:
    """Return text in which "6 × 15 g" is never parted."""
    return text.replace(" × ", "\u00a0×\u00a0")


def _warned(variant: Variant, voice: LabelVoice, *, grave: bool) -> tuple[str, ...]:
    """Return the cautions of a variant in words: those about fire and children, or the others."""
    items = _items(variant)
    known = voice.cautions.entries
    entries = {item.code: known[item.code] if item.code in known else entries_of(item) for item in items}
    chosen = {code: tuple(key for key in keys if (key in WARNED) is grave) for code, keys in entries.items()}
    cautions = replace(voice.cautions, entries=chosen)
    for_all = {sentence for item in items for sentence in cautions.of(item)}
    lines = caution_lines(voice.words, cautions, items)
    return tuple(sorted(lines, key=lambda line: line not in for_all))  # what names its items comes behind


def _items(variant: Variant) -> tuple[Item, ...]:
    return tuple({piece.item.code: piece.item for piece in variant.pieces}.values())


def _ingredients(variant: Variant, voice: LabelVoice) -> tuple[tuple[str, str], ...]:
    rows = by_product(_items(variant))
    return tuple((fill(voice.label.of_item, item=item_name(row.item)), row.text) for row in rows)


def _heights(facts: SetFacts, variant: Variant, writing: _Writing) -> TypeHeights:
    """Return the least heights of type: by the gift box's own panel, of a loose set by its largest piece's."""
    amounts = [
        item.net.total for item in _items(variant) if item.net and item.net.measure in {Measure.MASS, Measure.VOLUME}
    ]
    return type_heights(
        largest_panel(facts, variant),
        max(amounts, default=Decimal(0)),
        writing.settings.country,
        rule=writing.labels.type,
    )


def largest_panel(facts: SetFacts, variant: Variant) -> Decimal:
    """Return the area in mm² of the panel that a variant's label lies on; a box without outside by its inside."""
    if facts.box is not None:
        return panel_area(facts.box.outside or facts.box.inside, Shape.BOX)
    return max(panel_area(piece.item.size, piece.item.shape) for piece in variant.pieces)
