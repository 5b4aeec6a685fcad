"""What stands beside a set's fields: figures of every variant, items to choose from, the words that a story may use.

The figures are those of `present/gift_set.py`, which `listkit show --json` prints; nothing is computed here.
"""

import datetime
import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import count
from typing import Any, Final
from urllib.parse import quote, urlencode

from markupsafe import Markup, escape

from listkit.compute.box.fit import judged_in
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.sales import sale_on
from listkit.desk.fields import Form, FormField
from listkit.desk.page import as_part, offer, set_address
from listkit.listing.formats import Formats, list_text
from listkit.listing.markdown import to_html
from listkit.listing.offers import price_names
from listkit.listing.template_rules import TemplateFault
from listkit.listing.templates import Kind, compile_template
from listkit.listing.texts import Named, Subject, render_story, story_names
from listkit.listing.titles import fold
from listkit.listing.translate import read_language
from listkit.model.gift_set import Fixed, Option
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.model.shop import Shop
from listkit.pipeline import Checked
from listkit.present.gift_set import in_force, set_json
from listkit.present.table import percent
from listkit.problem import FieldError, KeyPath, Place
from listkit.read.folder import SHOP
from listkit.units.spoken import money_text

MOST_ITEMS: Final = 24
"""So many items are offered at once; a longer search word finds fewer."""
_BARE: Final = "of?"


@dataclass(frozen=True, slots=True)
class Leaves:
    """What a place leaves of one sale; `now` and `kept_now` are "" unless another price is in force there today."""

    key: str
    name: str
    kept: str
    taken: Mapping[str, str]
    margin: str
    now: str
    kept_now: str


@dataclass(frozen=True, slots=True)
class VariantView:
    """A variant: what is chosen, its figures as `set_json` has them, its fields by their keys, its picture.

    `drawing` is the address of the box with its pieces, "" where they do not lie in it.
    """

    code: str
    chosen: tuple[tuple[str, str], ...]
    figures: Mapping[str, Any]
    leaves: tuple[Leaves, ...]
    fields: Mapping[str, FormField]
    picture: str
    drawing: str


@dataclass(frozen=True, slots=True)
class SetView:
    """All figures of a set, and of each of its variants."""

    figures: Mapping[str, Any]
    variants: tuple[VariantView, ...]


def set_view(facts: SetFacts, checked: Checked, form: Form) -> SetView:
    """Return what a set's page shows of a set that can be computed."""
    catalog = checked.catalog
    figures = set_json(facts, facts.variants, catalog)
    now = in_force(facts, facts.variants, catalog.shop, checked.day)
    fields = fields_of_variants(facts, form)
    rows = zip(facts.variants, figures["variants"], fields, strict=True)
    marks = marks_of(catalog.shop.items, catalog.shop.naming)
    return SetView(figures, tuple(_variant(facts, catalog, now, marks=marks, row=row) for row in rows))


def _variant(
    facts: SetFacts,
    catalog: Catalog,
    now: Mapping[str, tuple[Variant, ...]],
    *,
    marks: Mapping[str, str],
    row: tuple[Variant, dict[str, Any], Mapping[str, FormField]],
) -> VariantView:
    variant, figures, fields = row
    return VariantView(
        code=variant.code,
        chosen=tuple(
            (choice.slot, called(choice.item, marks, catalog.shop.naming, choice.says)) for choice in variant.choices
        ),
        figures=figures,
        leaves=tuple(_leaves(variant, facts, catalog.shop, now)),
        fields=fields,
        picture=_picture_of(variant, facts),
        drawing=_drawing_address(facts, variant, catalog) if figures["fits"] else "",
    )


def _leaves(variant: Variant, facts: SetFacts, shop: Shop, now: Mapping[str, tuple[Variant, ...]]) -> Iterator[Leaves]:
    for channel in shop.channels:
        sale = sale_on(channel, variant, facts, shop)
        today = next((each for each in now[channel.key] if each.code == variant.code), variant)
        lower = today.price != sale.price
        yield Leaves(
            key=channel.key,
            name=channel.name,
            kept=str(sale.kept),
            taken={"tax": str(sale.tax), "fee": str(sale.fee), "postage": str(sale.postage)},
            margin=percent(sale.margin),
            now=str(today.price) if lower else "",
            kept_now=str(sale_on(channel, today, facts, shop).kept) if lower else "",
        )


def _picture_of(variant: Variant, facts: SetFacts) -> str:
    """Return the address of the picture that shows a variant: the owner's, else one with all that is chosen in it."""
    codes = {choice.item.code for choice in variant.choices}
    photos = facts.source.photos
    stated = next((photo for photo in photos if photo.name == variant.photo), None)
    shown = [photo for photo in photos if codes and codes & set(photo.shows)]
    best = stated or min(shown, key=lambda photo: (-len(codes & set(photo.shows)), len(photo.shows)), default=None)
    return f"{set_address(facts.code)}/photos/{quote(best.name)}?size=tile" if best else ""


# What lies in a set


@dataclass(frozen=True, slots=True)
class InBox:
    """What a set's page begins with: what lies in it, its picture and, where all of it goes in, its box as drawn.

    `pieces` are in every variant, how many and which; `choices` what the buyer chooses among, by what it is called.
    """

    theme: str
    box: str
    pieces: tuple[tuple[int, str], ...]
    choices: tuple[tuple[str, str], ...]
    picture: str
    alt: str
    drawing: str


def in_box(facts: SetFacts, catalog: Catalog) -> InBox:
    """Return what lies in a set, as its page begins with it; of variants in unlike boxes the first one's."""
    gift_set, variant, language = facts.source.gift_set, facts.variants[0], catalog.shop.settings.language
    items = {item.code: item for item in facts.items}
    naming = catalog.shop.naming
    marks = marks_of(facts.items, naming)
    photo = facts.source.front
    says = {choice.item.code: choice.says for each in facts.variants for choice in each.choices}
    fixed = [entry for entry in gift_set.contents if isinstance(entry, Fixed)]

    def name_of(option: Option) -> str:
        return called(items[option.item], marks, naming, says.get(option.item, ""))

    return InBox(
        theme=gift_set.theme,
        box=", ".join(box.code for box in facts.boxes),
        pieces=tuple((each.quantity, called(items[each.item], marks, naming)) for each in fixed),
        choices=tuple((slot.slot, list_text(tuple(map(name_of, slot.choose)), language)) for slot in gift_set.slots),
        picture=f"{set_address(facts.code)}/photos/{quote(photo.name)}?size=tile" if photo else "",
        alt=(photo.alt or photo.shot or photo.name) if photo else "",
        drawing=_drawing_address(facts, variant, catalog) if _goes_in(facts, variant, catalog) else "",
    )


def _goes_in(facts: SetFacts, variant: Variant, catalog: Catalog) -> bool:
    """Whether a variant surely goes into its box, so that there is a drawing of it."""
    if variant.box is None:
        return False
    packing, stacked = catalog.shop.settings.packing, facts.source.gift_set.stacked
    return judged_in(variant.box, variant.pieces, packing, catalog.searches, stacked=stacked).fits


def _drawing_address(facts: SetFacts, variant: Variant, catalog: Catalog) -> str:
    """Return the address of a variant in its box, another one where what is drawn is."""
    shown = [(each.quantity, each.item.code, each.item.name, each.item.form, each.item.size, each.item.shape)
             for each in variant.pieces]  # fmt: skip
    drawn = shown, variant.box, facts.source.gift_set.stacked, catalog.shop.settings.packing
    stamp = hashlib.sha256(repr(drawn).encode()).hexdigest()[:12]
    return f"{set_address(facts.code)}/box/{quote(as_part(variant.code), safe='')}?v={stamp}"


# The fields of variants: those of what the file says of a variant, or empty ones that begin such a note.


def fields_of_variants(facts: SetFacts, form: Form) -> Iterator[Mapping[str, FormField]]:
    """Yield for each variant its fields by their keys, named by its options where the file says nothing of it yet."""
    notes = next((field for field in form.every() if field.key == ("variant",)), None)
    if notes is None:
        return
    raw = notes.raw if isinstance(notes.raw, list) else []
    by_options = {
        frozenset(entry["options"].items()): fields
        for entry, fields in zip(raw, notes.entries, strict=True)
        if isinstance(entry, dict) and isinstance(entry.get("options"), dict)
    }
    for variant in facts.variants:
        options = {choice.slot: choice.item.code for choice in variant.choices}
        fields = by_options.get(frozenset(options.items()))
        if fields is None:
            key = "variant", bare_place(variant)
            fields = tuple(replace(field, key=(*key, field.key[-1])) for field in notes.blanks[0].fields)
        yield dict_of(fields)


def bare_place(variant: Variant) -> str:
    """Return what stands for the number of a note that is not there yet: the options of its variant.

    So that a row leads to no other variant where the file has other notes, or another order, by the time it is sent.
    """
    return f"{_BARE}{urlencode({choice.slot: choice.item.code for choice in variant.choices})}"


# Items to choose from


@dataclass(frozen=True, slots=True)
class ItemCard:
    """An item as it is offered: what it is, its price, what is on hand, a picture of it; "" for what is not known.

    `name` has its form in it, `mark` is what tells it apart from others that are called so.
    """

    code: str
    name: str
    mark: str
    price: str
    on_hand: int | None
    status: str
    picture: str


def item_cards(shop: Shop) -> Mapping[str, ItemCard]:
    """Return every item by its code."""
    pictures, marks = _pictures_of_items(shop), marks_of(shop.items, shop.naming)
    return {item.code: _card(item, shop, marks[item.code], pictures) for item in shop.items}


def marks_of(items: Sequence[Item], naming: Naming) -> Mapping[str, str]:
    """Return by code what is said beside an item's name: its scent, where the name does not say it.

    Of items that would still read alike the first of their contents, container and size that differs; else the code.
    """
    marks = {item.code: "" if fold(item.scent) in fold(item.name) else item.scent for item in items}
    alike: dict[tuple[str, str], list[Item]] = {}
    for item in items:
        alike.setdefault((fold(naming.of(item)), fold(marks[item.code])), []).append(item)
    for same in (group for group in alike.values() if len(group) > 1):
        tells = next(text for text in _TELLS_APART if len({text(item) for item in same}) == len(same))
        marks |= {item.code: ", ".join(filter(None, (marks[item.code], tells(item)))) for item in same}
    return marks


_TELLS_APART: Final[tuple[Callable[[Item], str], ...]] = (
    lambda item: item.net.text if item.net else "",
    lambda item: item.container,
    lambda item: item.size.text,
    lambda item: item.code,
)


def called(item: Item, marks: Mapping[str, str], naming: Naming, says: str = "") -> str:
    """Return what an item is called where others stand beside it: its words, and what tells it apart."""
    name, mark = says or naming.of(item), marks.get(item.code, "")
    return name if fold(mark) in fold(name) else f"{name} · {mark}"


def matching(cards: Sequence[ItemCard], asked: str) -> tuple[ItemCard, ...]:
    """Return the items in whose code, name or form every word of a search is; what is on hand first."""
    parts = fold(asked).split()
    hits = [card for card in cards if all(part in fold(f"{card.code} {card.name} {card.mark}") for part in parts)]
    return tuple(sorted(hits, key=lambda card: (card.status == "closed", card.on_hand == 0)))


def _card(item: Item, shop: Shop, mark: str, pictures: Mapping[str, str]) -> ItemCard:
    return ItemCard(
        code=item.code,
        name=shop.naming.of(item),
        mark=mark,
        price=money_text(item.retail.amount, item.retail.currency, shop.settings.language),
        on_hand=item.on_hand,
        status=item.status.value,
        picture=pictures.get(item.code, ""),
    )


def _pictures_of_items(shop: Shop) -> Mapping[str, str]:
    """Return addresses of pictures by item, of those that show the fewest things."""
    best: dict[str, tuple[int, str]] = {}
    for folder in shop.sets:
        for photo in folder.photos:
            for code in photo.shows:
                if code not in best or len(photo.shows) < best[code][0]:
                    address = f"{set_address(folder.gift_set.code)}/photos/{quote(photo.name)}?size=tile"
                    best[code] = len(photo.shows), address
    return {code: address for code, (_, address) in best.items()}


# The words of a story

_PLACES: Final = (
    "set.name", "set.theme", "items", "count", "prices", "cheapest | in_currency", "dearest | in_currency",
    "season.name", "season.on_sale | date", "season.off_sale | date", "box.inside", "box.outside", "shop.name",
    "shop.website",
)  # fmt: skip
"""What a story mostly asks for; README names all."""


@dataclass(frozen=True, slots=True)
class StoryWords:
    """What a story in one language may ask for, and how it is filled; `names` is None where the set has no figures."""

    names: Named | None
    formats: Formats

    def offered(self) -> Iterator[tuple[str, str]]:
        """Yield placeholders with their values, of those that have one."""
        for place in _PLACES if self.names is not None else ():
            written = f"{{{{ {place} }}}}"
            with suppress(TemplateFault):
                value = compile_template(written, kind=Kind.PLAIN, formats=self.formats).render(self.names or {})
                if value:
                    yield written, value

    def as_html(self, text: str) -> str:
        """Return a story as a buyer sees it, of our own making: no markup of its text is markup there.

        Raises:
            FieldError: it asks for what is not there, or breaks a rule of templates.
        """
        if self.names is None:
            raise FieldError("the set has no figures yet, so its story cannot be filled.", "Mend the set first.")
        return to_html(render_story(text, self.names, self.formats).strip())


def story_words(facts: SetFacts | None, shop: Shop, tag: str) -> StoryWords:
    """Return what a story may ask for in a language, "" for the shop's own."""
    named = tag or shop.settings.language
    language, _ = read_language(shop, named, Place(SHOP))
    if language is None or facts is None:
        return StoryWords(None, Formats(named, shop.settings.currency))
    placed = language.facts(facts)
    subject = Subject(
        facts=placed,
        items=(),
        slots=(),
        cheapest=placed.cheapest,
        dearest=placed.dearest,
        price_names=price_names(placed.variants),
        allergens={},
        naming=language.words.naming,
    )
    return StoryWords(story_names(language.words, subject, language.shop(shop).settings), language.formats)


# What a page writes for each of hundreds of fields: templates are slow at it.


@lru_cache(maxsize=1024)  # the same choices in every row of variants
def options(pairs: tuple[tuple[str, str], ...], value: str) -> Markup:
    """Return what a field can be chosen to be; a value that is none of them stays one."""
    there = pairs if not value or any(value == each for each, _ in pairs) else (*pairs, (value, value))
    one_by_one = (
        f'<option value="{escape(each)}"{" selected" if each == value else ""}>{escape(words)}</option>'
        for each, words in there
    )
    return Markup("".join(one_by_one))  # noqa: S704 (all escaped)


def about(field: FormField, wrong: Collection[str], label: str, *, hint: bool, at: str = "") -> Markup:
    """Return the attributes of a field's control: who it is, what describes it, whether what it holds cannot be.

    The field named by `at` has the focus once the page is there.
    """
    name = escape(field.name)
    said = f' aria-label="{escape(label)}"' if label else ""
    marked = ' aria-invalid="true"' if field.name in wrong else ""
    marked += " autofocus" if field.name == at else ""
    described = f"h/{name} w/{name}" if hint else f"w/{name}"
    return Markup(  # noqa: S704 (all escaped)
        f'id="f/{name}" name="{name}" form="fields"{said} aria-describedby="{described}"{marked}'
    )


def nothing_said(name: str) -> Markup:
    """Return the place where a page says what is wrong with a field, while nothing is."""
    return Markup(f'<div class="says" id="w/{escape(name)}"></div>')  # noqa: S704 (all escaped)


def is_day(text: str) -> bool:
    """Return whether a browser's field of a day can hold a text; it would empty any other (HTML Standard, 4.10.5.1.7).

    >>> is_day("2026-12-24"), is_day("24.12.2026"), is_day("2026-02-30"), is_day("2026-W52-4")
    (True, False, False, False)
    """
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


offer("is_day", is_day)
offer("options", options)
offer("about", about)
offer("nothing_said", nothing_said)


def dict_of(fields: Sequence[FormField]) -> dict[str, FormField]:
    """Return fields by the last part of their keys."""
    return {str(each.key[-1]): each for each in fields}


offer("dict_of", dict_of)


def endings_apart(choose: FormField) -> tuple[tuple[KeyPath, str], ...]:
    """Return new endings for options whose items' codes end as those of an earlier one, each with its key.

    It is the whole code of the item without its signs, with a number where that is another's already.
    """
    options = [dict_of(entry) for entry in choose.entries]
    taken: set[str] = set()
    twins: list[dict[str, FormField]] = []
    for each in options:
        ending = (each["part"].value or each["item"].value.rpartition("-")[2]).casefold()
        twins += [each] if ending in taken else []
        taken.add(ending)
    apart = []
    for each in twins:
        whole = "".join(sign for sign in each["item"].value if sign.isalnum())
        numbers = (f"{whole}{number or ''}" for number in count(0))
        free = next(ending for ending in numbers if ending.casefold() not in taken)
        taken.add(free.casefold())
        apart.append((each["part"].key, free))
    return tuple(apart)


offer("endings_apart", endings_apart)
