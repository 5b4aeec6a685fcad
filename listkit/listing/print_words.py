"""Words of what is printed or filled in, from templates/print/<language>.toml: line sheet, order form, confirmation.

A language of one country is read over its base; there is no other fallback. Sentences hold places in braces. What is
wrong with a file of words is told as a problem, and then there are no words at all.
"""

import re
import tomllib
from dataclasses import dataclass, field, fields
from functools import lru_cache
from typing import Any, Final

from listkit.listing.words import missing, not_toml, paths_of
from listkit.model.shop import Templates
from listkit.problem import Place, Problem

FOLDER: Final = "print"
_PLACE: Final = re.compile(r"\{(\w+)\}")


def _takes(*places: str) -> Any:  # noqa: ANN401 (as dataclasses.field itself)
    return field(metadata={"takes": places})


@dataclass(frozen=True, slots=True)
class SheetWords:
    """Words of the line sheet and the price list."""

    line_sheet: str
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


@dataclass(frozen=True, slots=True)
class PrintWords:
    """All of them, in one language."""

    language: str
    sheet: SheetWords
    terms: TermWords
    form: FormWords
    order: OrderWords


_SECTIONS: Final[dict[str, type[Any]]] = {
    "sheet": SheetWords,
    "terms": TermWords,
    "form": FormWords,
    "order": OrderWords,
}


def print_words(templates: Templates, language: str) -> tuple[PrintWords | None, tuple[Problem, ...]]:
    """Return the words of a language (BCP 47), or None and what is wrong with them."""
    known = dict(templates.texts)
    texts = tuple((path, known[path]) for path in paths_of(FOLDER, language) if path in known)
    return _parse(language, texts) if texts else (None, (missing(FOLDER, language),))


@lru_cache(maxsize=16)
def _parse(language: str, texts: tuple[tuple[str, str], ...]) -> tuple[PrintWords | None, tuple[Problem, ...]]:
    raw: dict[str, dict[str, object]] = {name: {} for name in _SECTIONS}
    for path, text in texts:
        try:
            found = tomllib.loads(text)
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
        for name, table in found.items():
            if name in raw and isinstance(table, dict):
                raw[name] |= table
    place = Place(f"templates/{texts[-1][0]}")
    problems = tuple(
        Problem(place, code, message, hint)
        for name, kind in _SECTIONS.items()
        for one in fields(kind)
        for code, message, hint in _faults(f"{name}.{one.name}", raw[name].get(one.name), one.metadata.get("takes", ()))
    )
    if problems:
        return None, problems
    made = {name: kind(**{one.name: raw[name][one.name] for one in fields(kind)}) for name, kind in _SECTIONS.items()}
    return PrintWords(language, **made), ()


def _faults(key: str, value: object, takes: tuple[str, ...]) -> tuple[tuple[str, str, str], ...]:
    """Return code, message and hint of what is wrong with one sentence."""
    if value is None:
        return (("language-missing", f'there is no "{key}".', f'Write {key.rpartition(".")[2]} = "...".'),)
    if not isinstance(value, str):
        return (("template-fault", f'"{key}" is not a text.', "Write it in quotes."),)
    if strange := sorted(set(_PLACE.findall(value)) - set(takes)):
        known = ", ".join(f"{{{name}}}" for name in takes) or "none"
        return (("template-fault", f'"{key}" has a place {{{strange[0]}}}.', f"Known here: {known}."),)
    return ()
