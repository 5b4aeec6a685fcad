"""Words of outside labels and price cards, from templates/label/<language>.toml, with the others of their language."""

from dataclasses import dataclass, replace
from typing import Final

from listkit.listing.cautions import Cautions, parse_cautions
from listkit.listing.formats import locale_of, money_text
from listkit.listing.sections import Kinds, read_sections, takes
from listkit.listing.words import Words, missing, parse_words, paths_of
from listkit.model.shop import Shop
from listkit.problem import FieldError, Place, Problem
from listkit.units.money import Money

FOLDER: Final = "label"


@dataclass(frozen=True, slots=True)
class LabelWords:
    """What stands on outside labels."""

    ingredients: str
    cautions: str
    batch: str
    date: str
    gift_set: str = takes("items")
    alone: str = takes("item")
    of_item: str = takes("item")
    made_by: str = takes("address")
    country: str = takes("country")
    code: str = takes("code")


@dataclass(frozen=True, slots=True)
class CardWords:
    """What stands on price cards."""

    options: str = takes("slot", "options")
    start_price: str = takes("price")
    priced: str = takes("option", "price")
    code: str = takes("code")


@dataclass(frozen=True, slots=True)
class SheetWords:
    """What stands beside labels and cards, and on the test page."""

    labels: str
    cards: str
    test_how: str
    check_rules: str
    page: str = takes("number", "count")
    test: str = takes("what")
    test_label: str = takes("width", "height")
    ruler: str = takes("length")


@dataclass(frozen=True, slots=True)
class Voice:
    """All that labels and cards are written with in one language."""

    words: Words
    cautions: Cautions
    label: LabelWords
    card: CardWords
    sheet: SheetWords
    currency: str

    @property
    def language(self) -> str:
        """BCP 47."""
        return self.words.language

    def money(self, amount: Money) -> str:
        """Return an amount with its sign."""
        return money_text(amount.amount, self.currency, self.language)

    def country(self, code: str) -> str:
        """Return the name of a country (CLDR), its code where the language has none."""
        return str(locale_of(self.language).territories.get(code, code))


_SECTIONS: Final[Kinds] = (("label", LabelWords), ("card", CardWords), ("sheet", SheetWords))


def voice_in(shop: Shop, language: str) -> tuple[Voice | None, tuple[Problem, ...]]:
    """Return what is needed to write labels in a language, or None and all that is missing or wrong."""
    known = dict(shop.templates.texts)
    found = [
        tuple((path, known[path]) for path in paths_of(folder, language) if path in known)
        for folder in ("words", "cautions")
    ]
    own, problems = read_sections(shop.templates, FOLDER, language, _SECTIONS)
    words, more = parse_words(language, found[0]) if found[0] else (None, (missing("words", language),))
    cautions, most = parse_cautions(found[1]) if found[1] else (None, (missing("cautions", language),))
    problems += (*more, *most)
    try:
        locale_of(language)
    except FieldError as fault:
        problems += (Problem(Place("shop.toml", key=("labels", "languages")), "bad-value", fault.message, fault.hint),)
    if own is None or words is None or cautions is None or problems:
        return None, problems
    cautions = replace(cautions, silenced=shop.settings.silenced)
    return Voice(words, cautions, **own, currency=shop.settings.currency), ()
