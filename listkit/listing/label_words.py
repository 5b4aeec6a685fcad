"""Words of outside labels and price cards, from templates/label/<language>.toml, with the others of their language."""

from dataclasses import dataclass
from typing import Final

from listkit.listing.cautions import Cautions
from listkit.listing.formats import locale_of, money_text
from listkit.listing.language import Language, read_language
from listkit.listing.sections import Kinds, read_sections, takes
from listkit.listing.words import Words
from listkit.model.shop import Shop
from listkit.problem import Place, Problem
from listkit.units.money import Money

FOLDER: Final = "label"


@dataclass(frozen=True, slots=True)
class LabelWords:
    """What stands on outside labels."""

    ingredients: str
    cautions: str
    batch: str
    best_before: str
    made_on: str
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
    barcode_of: str = takes("kind", "name", "number")


@dataclass(frozen=True, slots=True)
class Voice:
    """All that labels and cards are written with in one language."""

    spoken: Language
    label: LabelWords
    card: CardWords
    sheet: SheetWords
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


_SECTIONS: Final[Kinds] = (("label", LabelWords), ("card", CardWords), ("sheet", SheetWords))


def voice_in(shop: Shop, language: str) -> tuple[Voice | None, tuple[Problem, ...]]:
    """Return what is needed to write labels in a language, or None and all that is missing or wrong."""
    asked_by = Place("shop.toml", key=("labels", "languages") if shop.settings.labels else ("language",))
    spoken, more = read_language(shop, language, asked_by)
    own, problems = read_sections(shop.templates, FOLDER, language, _SECTIONS)
    problems += more
    if own is None or spoken is None or problems:
        return None, problems
    return Voice(spoken, **own, currency=shop.settings.currency), ()
