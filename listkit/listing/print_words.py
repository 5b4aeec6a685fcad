"""Words of what is printed or filled in, from templates/print/<language>.toml: line sheet, order form, confirmation.

A language of one country is read over its base; there is no other fallback. Sentences hold places in braces. What is
wrong with a file of words is told as a problem, and then there are no words at all.
"""

from dataclasses import dataclass
from typing import Final

from listkit.listing.sections import Kinds, read_sections
from listkit.listing.sections import takes as _takes
from listkit.model.shop import Templates
from listkit.problem import Problem

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
    none: str
    order: str
    barcodes: str
    moved: str
    before_tax: str
    suggested: str
    page: str = _takes("number", "count")
    replaces: str = _takes("version")
    between: str = _takes("first", "last")
    from_day: str = _takes("day")
    until_day: str = _takes("day")
    tier: str = _takes("count")
    tiers: str = _takes("count")
    tax_included: str = _takes("share")
    case_of: str = _takes("count")
    case_mixed: str = _takes("count")
    at_least: str = _takes("count")
    keeps_from_making: str = _takes("time")
    keeps_on_arrival: str = _takes("time")
    in_season: str = _takes("first", "last")
    choose: str = _takes("slot")
    display_holds: str = _takes("what")
    free_from: str = _takes("count")
    moved_new: str = _takes("code")
    moved_gone: str = _takes("code")
    moved_wholesale: str = _takes("code", "old", "new")
    moved_retail: str = _takes("code", "old", "new")
    moved_more: str = _takes("count")
    was: str = _takes("amount")
    order_to: str = _takes("address")
    picture_of: str = _takes("name", "what")
    barcode_of: str = _takes("kind", "name", "number")


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
    add_cases: str = _takes("count", "case")
    add_least: str = _takes("count", "least")
    short: str = _takes("amount", "least")


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
    left_out: str = _takes("code", "said")
    other_price: str = _takes("code", "price", "stated")
    fewer_displays: str = _takes("code", "ordered", "confirmed")
    broken_case: str = _takes("codes", "ordered", "of")
    below_least: str = _takes("codes", "ordered", "of")


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
