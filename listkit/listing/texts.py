"""Texts: a set's story with its values put in, and the whole text by the template of the channel's kind.

All figures are computed; the templates only lay out. A rendered story is Markdown with each value escaped; templates
read it as Markdown with HTML off, so that no name in it becomes markup. Most stories are plain text with a few
placeholders that occur in every other story too; so each placeholder is compiled once and for all. A story that is
more than that, or has a fault, is compiled as a whole, and both ways give the same text.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import MAXYEAR, date, timedelta
from decimal import Decimal
from typing import Final, cast

from listkit.compute.allergens import Allergen
from listkit.compute.catalog import SetFacts
from listkit.listing.declared import caution_lines, in_few_words, ingredient_notes, noted_nuts
from listkit.listing.formats import Formats, sides_text
from listkit.listing.listings import ShownOption, ShownSlot
from listkit.listing.markdown import one_line
from listkit.listing.sentences import fill
from listkit.listing.template_rules import one_brace
from listkit.listing.templates import Kind, TemplateFault, compile_template
from listkit.listing.titles import content_lines, entries_of, fold, head_of, inside_sentence, items_phrase
from listkit.listing.translate import Language
from listkit.listing.words import Words, capital, size_text, small
from listkit.model.gift_set import Fixed, Slot
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.model.packaging import GiftBox
from listkit.model.settings import Settings
from listkit.units.length import Size
from listkit.units.money import Money
from listkit.units.spoken import money_text

Named = dict[str, object]
"""The names that a template may use, with their values."""
_PLAIN_PLACE: Final = re.compile(r"(\{\{ [a-z_.| ]+ \}\})")
# A sentence ends with its sign and what closes behind it, before a space; a paragraph, or a line of a list, likewise.
_ENDS: Final = "|".join(rf"(?<=[.!?…][\"'”’)*_]{{{closing}}})" for closing in range(6))
_SENTENCES: Final = re.compile(rf"((?:{_ENDS})(?:[ \t]+|\n)(?!\n)|\n{{2,}}|\n(?=[-*+#>]|\d+\.))")
# Marks of emphasis that open or close: neither those between spaces nor those within a word.
_MARKS: Final = re.compile(r"(?<![\\\w*_])[*_]+(?=[^\s*_])|(?<=[^\s\\*_])[*_]+(?![\w*_])")
_PARAGRAPHS: Final = re.compile(r"(\n{2,})")
_ANOTHER_DAY: Final = timedelta(days=400)  # which differs in day, month and year
_LONGEST: Final = 20_000  # characters; a longer story is compiled as a whole, which keeps the bounds of a template
PATHS: Final = {"html": "listing/listing.html", "plain": "listing/listing.txt", "markdown": "listing/listing.md"}
KINDS: Final = {"html": Kind.HTML, "plain": Kind.PLAIN, "markdown": Kind.MARKDOWN}


def render_story(text: str, names: Named, formats: Formats) -> str:
    """Return a story as Markdown with its values put in, each escaped for Markdown.

    Raises:
        TemplateFault: the story breaks a rule of templates, or asks for what is not there.
    """

    def filled(part: str) -> str:
        return compile_template(part, kind=Kind.MARKDOWN, formats=formats).render(names)

    parts = _PLAIN_PLACE.split(text)  # text and plain placeholders in turn
    simple = len(text) <= _LONGEST and text.replace("\n", "").isprintable()
    if simple and not any("{" in part for part in parts[::2]):
        try:
            return "".join([filled(part) if part.startswith("{{") else part for part in parts])
        except TemplateFault:
            pass  # raised again below, with its line in the whole
    if fault := one_brace(text, names):
        raise fault
    return filled(text)


def render_after_season(text: str, names: Named, formats: Formats) -> str:
    """Return a story without the sentences that name the season's last day, which is past: what it promises is over.

    Which they are shows when the story is filled with another day: they are those that differ.

    Raises:
        TemplateFault: as `render_story`.
    """
    filled, season = render_story(text, names, formats), names["season"]
    if not isinstance(season, SeasonWords):
        return filled
    apart = _ANOTHER_DAY if season.off_sale.year < MAXYEAR - 1 else -_ANOTHER_DAY
    otherwise = render_story(text, {**names, "season": replace(season, off_sale=season.off_sale + apart)}, formats)
    # a sentence and what parts it from the next in turn
    parts, others = _sentences(filled), _sentences(otherwise)
    if len(parts) != len(others):
        parts, others = _PARAGRAPHS.split(filled), _PARAGRAPHS.split(otherwise)
    if len(parts) != len(others):
        return ""
    kept: list[str] = []
    for at in range(0, len(parts), 2):
        between = parts[at + 1] if at + 1 < len(parts) else ""
        if parts[at] == others[at]:
            kept += parts[at], between
        elif kept and between.count("\n") >= kept[-1].count("\n"):
            kept[-1] = between or kept[-1]
    return "".join(kept)


def _sentences(text: str) -> list[str]:
    """Split Markdown into its sentences and what parts them, in turn; an emphasis over several keeps them together."""
    parts = _SENTENCES.split(text)
    joined: list[str] = []
    at = 0
    while at < len(parts):
        last, is_open = at, len(_MARKS.findall(parts[at])) % 2 == 1
        for after in range(at + 2, len(parts) if is_open else 0, 2):
            if parts[after - 1].count("\n") > 1:
                break  # an emphasis ends with its paragraph
            if len(_MARKS.findall(parts[after])) % 2 == 1:
                last = after
                break
        joined += ["".join(parts[at : last + 1]), *parts[last + 1 : last + 2]]
        at = last + 2
    return joined


@dataclass(frozen=True, slots=True)
class SetWords:
    """What a template may name of the set."""

    name: str
    theme: str
    code: str
    season: str


@dataclass(frozen=True, slots=True)
class SeasonWords:
    """What a template may name of the season."""

    name: str
    on_sale: date
    off_sale: date


@dataclass(frozen=True, slots=True)
class ShopWords:
    """What a template may name of the shop."""

    name: str
    website: str


@dataclass(frozen=True, slots=True)
class BoxWords:
    """What a template may name of the gift box; `outside` is "" where it is not stated."""

    code: str
    inside: str
    outside: str


@dataclass(frozen=True, slots=True)
class OptionWords:
    """One option in the text: its name as the feed has it; scent, size and price in `details`."""

    says: str
    details: str
    sold_out: bool


@dataclass(frozen=True, slots=True)
class SlotWords:
    """One slot in the text."""

    name: str
    heading: str
    options: tuple[OptionWords, ...]


@dataclass(frozen=True, slots=True)
class IngredientsLine:
    """The ingredients of one item."""

    item: str
    text: str


@dataclass(frozen=True, slots=True)
class Subject:
    """What one text is about: the set as one channel shows it, in one language."""

    facts: SetFacts
    items: tuple[Item, ...]  # all that may lie in it as shown, fixed items and options in their order
    slots: tuple[ShownSlot, ...]
    cheapest: Money
    dearest: Money
    allergens: Mapping[str, Allergen]  # those looked for, by name
    naming: Naming
    price_names: Mapping[Decimal, tuple[str, ...]] = field(default_factory=dict)  # the options that each price is of
    reduction: tuple[str, ...] = ()  # the sentences that announce one
    says: dict[str, str] = field(default_factory=dict, init=False, compare=False, repr=False)  # what options read

    def name(self, item: Item) -> str:
        """Return what an item is called throughout the text: an option as the buyer reads it there."""
        if not self.says:
            for option in (option for slot in self.slots for option in slot.options):
                self.says.setdefault(option.item.code, option.says)
        says = self.says.get(item.code)
        return self.naming.of(item) if says is None else says


def shown_items(facts: SetFacts, slots: tuple[ShownSlot, ...]) -> tuple[Item, ...]:
    """Return the fixed items and the options shown, in the order of the contents."""
    codes = {entry.item for entry in facts.source.gift_set.contents if isinstance(entry, Fixed)}
    codes |= {option.item.code for slot in slots for option in slot.options}
    return tuple(item for item in facts.items if item.code in codes)


def story_names(wording: Words, subject: Subject, settings: Settings) -> Named:
    """Return the names that a story may use."""
    facts = subject.facts
    gift_set, season = facts.source.gift_set, facts.season
    return {
        "set": SetWords(facts.name, gift_set.theme, facts.code, gift_set.season),
        "cheapest": subject.cheapest,
        "dearest": subject.dearest,
        "prices": _prices_text(wording, subject),
        "items": items_phrase(wording, facts),
        "season": SeasonWords(season.name, season.on_sale, season.off_sale) if season else None,
        "shop": ShopWords(settings.name, settings.website),
        "count": sum(entry.quantity for entry in gift_set.contents),
        "box": _box_words(wording, facts.boxes) if facts.boxes else None,
    }


def _box_words(wording: Words, boxes: tuple[GiftBox, ...]) -> BoxWords:
    """Return the code and sides of the boxes, "S or M" where variants have their own; no outside where one has none."""

    def said(sizes: list[Size]) -> str:
        texts = (sides_text(size.sides, wording.language, wording.measure) for size in sizes)
        return wording.one_of(tuple(dict.fromkeys(texts)))

    outsides = [box.outside for box in boxes if box.outside]
    inside, outside = said([box.inside for box in boxes]), said(outsides) if len(outsides) == len(boxes) else ""
    return BoxWords(wording.one_of(tuple(box.code for box in boxes)), inside, outside)


def _prices_text(wording: Words, subject: Subject) -> str:
    """Return "£27.00 (sugar scrub) or £29.00 (body butter)"; where options are many the lowest and the highest price.

    These are "£27.00–£29.00", as CLDR joins a range (from memory); or the only one.
    """
    currency, language = subject.cheapest.currency, wording.language
    if subject.price_names:
        named = subject.price_names.items()
        return wording.one_of(
            tuple(f"{money_text(price, currency, language)} ({wording.one_of(names)})" for price, names in named)
        )
    prices = dict.fromkeys((subject.cheapest, subject.dearest))
    return "–".join(money_text(price.amount, currency, language) for price in prices)


def listing_names(language: Language, subject: Subject, shop_items: dict[str, Item]) -> Named:
    """Return the names that a listing's template may use beside those of a story, its title and its story."""
    wording, facts, items = language.words, subject.facts, subject.items
    sentences = wording.sentences
    headings = wording.headings
    if not facts.source.gift_set.boxed:
        headings = replace(headings, contents=headings.contents_loose, box=headings.message)
    caution_texts, noted = caution_lines(wording, language.cautions.of, items), noted_nuts(wording, items)
    chosen = {entry.slot for entry in entries_of(facts) if isinstance(entry, Slot)}
    return {
        "theme": facts.source.gift_set.theme,
        "inside": _inside(wording, facts),
        "reduction": subject.reduction,
        "contents": content_lines(wording, facts, subject.slots),
        "slots": tuple(_slot_words(wording, slot) for slot in subject.slots if slot.name in chosen),
        "minis": _minis(wording, subject, shop_items),
        "ingredients": tuple(
            IngredientsLine(subject.name(item), language.text(item.ingredients)) for item in items if item.ingredients
        ),
        "ingredient_notes": ingredient_notes(wording, items, subject.allergens),
        "cautions": caution_texts,
        "cautions_beside_notes": caution_lines(
            wording, lambda item: language.cautions.beside_notes(item, noted), items
        ),
        "defer": sentences.defer if caution_texts else "",
        "packing": _packing(wording, facts),
        "care": care_lines(wording, facts, items),
        "headings": headings,
        "colon": sentences.colon,
        "sold_out": sentences.sold_out,
    }


def _inside(wording: Words, facts: SetFacts) -> str:
    """Return what is inside in one sentence; "" for a single piece of which it would be the title once more."""
    sentence = inside_sentence(wording, facts)
    return "" if facts.is_single and fold(sentence).rstrip(".") == fold(head_of(wording, facts)) else sentence


def with_blocks(names: Named, blocks: tuple[str, ...]) -> Named:
    """Return the names for these blocks of a text: beside notes on ingredients no caution tells what they tell."""
    if "allergens" not in blocks:
        return {**names, "blocks": blocks}
    cautions = names["cautions_beside_notes"]
    return {**names, "blocks": blocks, "cautions": cautions, "defer": names["defer"] if cautions else ""}


def small_print(names: Named) -> dict[str, int]:
    """Return how many letters of a text go to ingredients, the notes beneath them, and cautions, by block."""
    listed = cast("tuple[IngredientsLine, ...]", names["ingredients"])
    return {
        "ingredients": sum(len(line.item) + len(line.text) for line in listed),
        "allergens": sum(map(len, cast("tuple[str, ...]", names["ingredient_notes"]))),
        "cautions": sum(map(len, (*cast("tuple[str, ...]", names["cautions_beside_notes"]), str(names["defer"])))),
    }


def render_listing(text: str, kind: str, names: Named, formats: Formats) -> str:
    """Return a listing's text in one kind ("html", "plain", "markdown"); raises TemplateFault."""
    rendered = compile_template(text, kind=KINDS[kind], formats=formats).render(names)
    return rendered.strip("\n") + "\n"


def plain_line(text: str) -> str:
    """Return a plain text in one line."""
    return one_line(text)


def _slot_words(wording: Words, slot: ShownSlot) -> SlotWords:
    heading = capital(fill(wording.headings.choice, slot=small(wording, slot.name)))
    options = [OptionWords(option.says, _details(wording, option), option.sold_out) for option in slot.options]
    return SlotWords(slot.name, heading, tuple(options))


def _details(wording: Words, option: ShownOption) -> str:
    """Return an option's scent where its name does not say it, its size, and its price where prices differ."""
    scent = option.item.scent if fold(option.item.scent) not in fold(option.says) else ""
    price = ""
    if option.price is not None:
        price = money_text(option.price.amount, option.price.currency, wording.language)
        price = fill(wording.sentences.from_price, price=price) if option.from_price else price
    return ", ".join(filter(None, (scent, size_text(option.item, wording.language), price)))


def _minis(wording: Words, subject: Subject, shop_items: dict[str, Item]) -> tuple[str, ...]:
    """Return a line for each mini: its size and its larger twin's."""
    lines = []
    for item in subject.items:
        larger = shop_items.get(item.larger)
        size, full = size_text(item, wording.language), size_text(larger, wording.language) if larger else ""
        if larger and size and full:
            twin = {"larger": wording.naming.within(larger), "larger_size": full}
            lines.append(fill(wording.sentences.mini, item=subject.name(item), size=size, **twin))
        elif item.larger and size:
            lines.append(fill(wording.sentences.mini_alone, item=subject.name(item), size=size))
    return tuple(lines)


def _packing(wording: Words, facts: SetFacts) -> tuple[str, ...]:
    """Return what is said of the box, the card and the buyer's own words."""
    lines, sentences = [], wording.sentences
    if facts.boxes:
        sides = _box_words(wording, facts.boxes)
        if sides.outside:
            lines.append(fill(sentences.box_outside, size=sides.outside))
        else:  # what a buyer wants to know is the outside
            lines.append(fill(sentences.box_inside, size=sides.inside))
    message = facts.source.gift_set.message_card
    if message is not None:
        count = wording.count("character", message.characters)
        lines.append(fill(sentences.card_words if facts.card else sentences.message, count=count))
    elif facts.card is not None:
        lines.append(sentences.card)
    return tuple(line for line in lines if line.strip())  # an empty sentence leaves itself out


def care_lines(wording: Words, facts: SetFacts, items: tuple[Item, ...]) -> tuple[str, ...]:
    """Return how to keep it and how long; what keeps least decides of `items`, those of the set that buyers can get."""
    lives = {item.code: item.shelf_life for item in items if item.shelf_life is not None}
    if not lives:
        return ()
    least = min(lives.values())
    time = wording.count("month", least)
    if set(lives.values()) == {least}:
        return wording.sentences.care, fill(wording.sentences.keeps, time=time)
    first = tuple(item for item in items if lives.get(item.code) == least)
    keep_least = _in_one_box(wording, facts, first, items)
    return wording.sentences.care, fill(wording.sentences.keeps_least, time=time, items=keep_least)


def _in_one_box(wording: Words, facts: SetFacts, some: tuple[Item, ...], items: tuple[Item, ...]) -> str:
    """Return `some` of the items as one box may hold them: "bath sachets, and sugar scrub or body butter".

    What lies in every box is joined by "and"; of a slot's options a box holds one alone.
    """
    entries = entries_of(facts)
    always = {entry.item for entry in entries if isinstance(entry, Fixed)}
    named = in_few_words(wording, (item for item in some if item.code in always), items)
    groups: list[tuple[str, ...]] = [(name,) for name in named]
    for slot in (entry for entry in entries if isinstance(entry, Slot)):
        options = {option.item for option in slot.choose}
        chosen = in_few_words(wording, (item for item in some if item.code in options), items)
        groups.append(tuple(name for name in chosen if name not in named))
    phrase = wording.all_of(tuple(dict.fromkeys(names[0] for names in groups if len(names) == 1)))
    for choices in dict.fromkeys(wording.one_of(names) for names in groups if len(names) > 1):
        phrase = fill(wording.sentences.fixed_and_choices, fixed=phrase, choices=choices) if phrase else choices
    return phrase
