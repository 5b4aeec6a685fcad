"""Words of what is printed or filled in, from templates/print/<language>.toml: line sheet, order form, confirmation.

A language of one country is read over its base; there is no other fallback. Sentences hold places in braces. What is
wrong with a file of words is told as a problem, and then there are no words at all.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import lru_cache
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.listing.declared import Cautions
from listkit.listing.sentences import may_be_empty, may_be_missing, sentence_faults, with_places
from listkit.listing.translate import Language, read_language
from listkit.listing.words import Words, missing, not_toml, paths_of
from listkit.model.shop import Shop, Templates
from listkit.problem import FieldError, Place, Problem
from listkit.units.money import Money
from listkit.units.spoken import locale_of, money_text

# Sections of sentences by language, from a folder of templates: frozen dataclasses of texts with places in braces.
#
# A language of one country is read over its base; there is no other fallback. What is wrong is told as problems, and
# then there are no words at all.

Kinds = tuple[tuple[str, type[Any]], ...]
"""The name of each section, and the dataclass that it fills."""
Sections = Mapping[str, Any]
_USUAL: Final = "en"


def read_sections(
    templates: Templates, folder: str, language: str, kinds: Kinds
) -> tuple[Sections | None, tuple[Problem, ...]]:
    """Return the sections of a language (BCP 47) by name, or None and what is wrong with them."""
    known = dict(templates.texts)
    texts = tuple((path, known[path]) for path in paths_of(folder, language) if path in known)
    return _parse(texts, kinds) if texts else (None, (missing(folder, language),))


def sections_for_owner(templates: Templates, folder: str, language: str, kinds: Kinds) -> Sections:
    """Return the sections of what the owner alone reads: in English where the folder has no file in her language.

    Raises:
        FieldError: a file of words has a fault; the message begins with its place.
    """
    there = {path for path, _ in templates.texts}
    spoken = language if there.intersection(paths_of(folder, language)) else _USUAL
    sections, problems = read_sections(templates, folder, spoken, kinds)
    if sections is None:
        raise FieldError(f"{problems[0].place}: {problems[0].message}", problems[0].hint)
    return sections


@lru_cache(maxsize=32)
def _parse(texts: tuple[tuple[str, str], ...], kinds: Kinds) -> tuple[Sections | None, tuple[Problem, ...]]:
    raw: dict[str, dict[str, object]] = {name: {} for name, _ in kinds}
    for path, text in texts:
        try:
            found = parse_bounded(text)
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
        for name, table in found.items():
            if name in raw and isinstance(table, dict):
                raw[name] |= table
    place = Place(f"templates/{texts[-1][0]}")
    problems = tuple(
        Problem(place, code, message, hint)
        for name, kind in kinds
        for one in fields(kind)
        if one.name in raw[name] or one.default is MISSING
        for code, message, hint in sentence_faults(f"{name}.{one.name}", raw[name].get(one.name), **one.metadata)
    )
    if problems:
        return None, problems
    return {
        name: kind(**{one.name: raw[name][one.name] for one in fields(kind) if one.name in raw[name]})
        for name, kind in kinds
    }, ()


FOLDER: Final = "print"


@dataclass(frozen=True, slots=True)
class SheetWords:
    """Words of the line sheet and the price list."""

    line_sheet: str
    picture: str
    price_list: str
    season: str
    issued: str
    valid_until: str
    version: str
    opening: str
    reorder: str
    order_by: str
    ships: str
    ships_from: str
    ships_until: str
    lead: str
    code: str
    choice: str
    line: str
    size: str
    gtin: str
    case_gtin: str
    wholesale: str
    wholesale_before_tax: str
    retail: str
    case: str
    least: str
    weight: str
    outside: str
    keeps_months: str
    new: str
    last_chance: str
    display_set: str
    free: str
    order: str
    barcodes: str
    moved: str
    before_tax: str
    suggested: str
    seen_in: str = may_be_empty("name")
    page: str = with_places("number", "count", spared=("count",))
    replaces: str = may_be_empty("version")
    between: str = with_places("first", "last")
    from_day: str = with_places("day")
    until_day: str = with_places("day")
    tier: str = with_places("count")
    tiers: str = with_places("count")
    tax_included: str = with_places("share")
    case_of: str = with_places("count")
    case_mixed: str = with_places("count")
    at_least: str = with_places("count")
    keeps_from_making: str = with_places("time")
    keeps_on_arrival: str = with_places("time")
    in_season: str = with_places("first", "last")
    display_holds: str = with_places("what")
    free_from: str = with_places("count")
    moved_more: str = with_places("count")
    was: str = with_places("amount")
    order_to: str = with_places("address")
    barcode_of: str = with_places("kind", "name", "number", spared=("kind",))
    as_ordered: str = may_be_missing()
    any_time: str = may_be_missing()
    free_over: str = may_be_missing("amount")
    gone: str = may_be_missing()
    price: str = may_be_missing()
    before: str = may_be_missing()
    now: str = may_be_missing()
    quantity: str = may_be_missing()
    case_price: str = may_be_missing()
    first_order: str = may_be_missing()
    first_order_sells: str = may_be_missing("amount", "retail")
    continued: str = may_be_missing("title")


@dataclass(frozen=True, slots=True)
class TermWords:
    """Headings of the terms, by their keys in wholesale.toml."""

    terms: str
    payment: str
    carriage: str
    lead: str
    damages: str
    returns: str
    cancellation: str
    back_orders: str
    testers: str
    exclusivity: str
    online_resale: str
    resale_proof: str


@dataclass(frozen=True, slots=True)
class FormWords:
    """Words of the order form."""

    order_form: str
    how: str
    sheet: str
    shop: str
    address: str
    email: str
    phone: str
    order_number: str
    deliver_by: str
    first_order: str
    yes: str
    no: str
    notes: str
    quantity: str
    total: str
    missing: str
    sum: str
    pieces: str
    whole: str
    display_most: str
    nothing: str
    ready: str
    see_lines: str
    shelf: str
    margin: str
    add_cases: str = with_places("count", "case")
    add_least: str = with_places("count", "least")
    short: str = with_places("amount", "least")


@dataclass(frozen=True, slots=True)
class OrderWords:
    """Words of the confirmation and the pick list."""

    confirmation: str
    pick_list: str
    order: str
    buyer: str
    date: str
    price: str
    sum: str
    picked: str
    pieces: str
    takes: str
    on_hand: str
    anyway: str
    our_number: str
    deliver_to: str
    batch: str
    card: str
    together: str
    box: str = with_places("code")
    fill: str = with_places("code")
    left_out: str = with_places("code", "said")
    other_price: str = with_places("code", "price", "stated")
    other_count: str = with_places("code", "ordered", "confirmed")
    fewer_displays: str = with_places("code", "ordered", "confirmed")
    broken_case: str = with_places("codes", "ordered", "of")
    below_least: str = with_places("codes", "ordered", "of")
    later: str = with_places("name", "on_hand", "rest")


@dataclass(frozen=True, slots=True)
class PrintWords:
    """All of them, in one language."""

    language: str
    sheet: SheetWords
    terms: TermWords
    form: FormWords
    order: OrderWords


_SECTIONS: Final[Kinds] = (("sheet", SheetWords), ("terms", TermWords), ("form", FormWords), ("order", OrderWords))


def print_words(templates: Templates, language: str) -> tuple[PrintWords | None, tuple[Problem, ...]]:
    """Return the words of a language (BCP 47), or None and what is wrong with them."""
    sections, problems = read_sections(templates, FOLDER, language, _SECTIONS)
    return (None if sections is None else PrintWords(language, **sections)), problems


# Words of outside labels and price cards, from templates/label/<language>.toml, with the others of their language.

LABEL_FOLDER: Final = "label"


@dataclass(frozen=True, slots=True)
class LabelWords:
    """What stands on outside labels."""

    ingredients: str
    cautions: str
    warning: str
    batch: str
    best_before: str
    best_used: str
    made_on: str
    gift_set: str = with_places("items")
    alone: str = with_places("item")
    of_item: str = with_places("item")
    made_by: str = with_places("address")
    after_opening: str = with_places("time")
    country: str = with_places("country")
    code: str = with_places("code")


@dataclass(frozen=True, slots=True)
class CardWords:
    """What stands on price cards."""

    options: str = with_places("slot", "options", spared=("slot",))
    start_price: str = with_places("price")
    priced: str = with_places("option", "price")
    code: str = with_places("code")


@dataclass(frozen=True, slots=True)
class LabelSheetWords:
    """What stands beside labels and cards, and on the test page."""

    labels: str
    cards: str
    test_how: str
    check_rules: str
    page: str = with_places("number", "count", spared=("count",))
    test: str = with_places("what")
    test_label: str = with_places("width", "height")
    ruler: str = with_places("length")
    barcode_of: str = with_places("kind", "name", "number", spared=("kind",))


@dataclass(frozen=True, slots=True)
class AskedWords:
    """What stands on papers that are printed when asked for: packing cards, insert cards, message cards."""

    packing: str
    inserts: str
    messages: str
    lay_in: str
    pick: str
    order_heading: str
    fill: str
    card: str
    weight: str
    weight_loose: str
    drawing: str
    above: str
    front: str
    batch: str
    scan: str
    ticks: str
    set: str
    recipient: str
    box: str = with_places("code")
    number: str = with_places("number")
    address: str = with_places("address")


@dataclass(frozen=True, slots=True)
class LabelVoice:
    """All that labels and cards are written with in one language."""

    spoken: Language
    label: LabelWords
    card: CardWords
    sheet: LabelSheetWords
    asked: AskedWords
    currency: str

    @property
    def language(self) -> str:
        """BCP 47."""
        return self.spoken.tag

    @property
    def words(self) -> Words:
        """What listkit itself says."""
        return self.spoken.words

    @property
    def cautions(self) -> Cautions:
        """Cautions in words."""
        return self.spoken.cautions

    def money(self, amount: Money) -> str:
        """Return an amount with its sign."""
        return money_text(amount.amount, self.currency, self.language)

    def country(self, code: str) -> str:
        """Return the name of a country (CLDR), its code where the language has none."""
        return str(locale_of(self.language).territories.get(code, code))


_LABEL_SECTIONS: Final[Kinds] = (
    ("label", LabelWords),
    ("card", CardWords),
    ("sheet", LabelSheetWords),
    ("asked", AskedWords),
)


def voice_in(shop: Shop, language: str) -> tuple[LabelVoice | None, tuple[Problem, ...]]:
    """Return what is needed to write labels in a language, or None and all that is missing or wrong."""
    asked_by = Place("shop.toml", key=("labels", "languages") if shop.settings.labels else ("language",))
    spoken, more = read_language(shop, language, asked_by)
    own, problems = read_sections(shop.templates, LABEL_FOLDER, language, _LABEL_SECTIONS)
    problems += more
    if own is None or spoken is None or problems:
        return None, problems
    return LabelVoice(spoken, **own, currency=shop.settings.currency), ()
