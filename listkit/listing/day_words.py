"""The words of market day and post day, from templates/day/<language>.toml, and the headings of a market's sheet."""

from dataclasses import dataclass
from typing import Final

from listkit.listing.print_words import Kinds, read_sections
from listkit.listing.sentences import with_places
from listkit.model.shop import Templates
from listkit.problem import Problem

DAY_FOLDER: Final = "day"


@dataclass(frozen=True, slots=True)
class MarketWords:
    """What stands on the page to take along to a market, and in the sheet to type into; `along` to `tester` in both."""

    title: str
    day: str
    place: str
    code: str
    name: str
    free: str
    take: str
    along: str
    sold: str
    came_back: str
    broken: str
    given: str
    tester: str
    crate: str
    evenly: str
    counted: str
    also: str
    crates: str
    float: str
    takings: str
    cash: str
    card: str
    like_days: str = with_places("days")
    short: str = with_places("code", "wanted", "take")
    crate_of: str = with_places("number", "weight")
    boxes: str = with_places("count", "code")
    bags: str = with_places("count")
    cards: str = with_places("count")
    price_cards: str = with_places("count")
    testers: str = with_places("scents")
    together: str = with_places("sets", "pieces")


@dataclass(frozen=True, slots=True)
class PostWords:
    """What stands on the list of a post day."""

    title: str
    day: str
    done: str
    order: str
    code: str
    name: str
    count: str
    card: str
    weight: str
    postage: str
    yes: str
    no_carton: str
    no_service: str
    together: str = with_places("orders", "parcels", "sum")


@dataclass(frozen=True, slots=True)
class DayWords:
    """All of them, in one language."""

    market: MarketWords
    post: PostWords


def day_words(templates: Templates, language: str) -> tuple[DayWords | None, tuple[Problem, ...]]:
    """Return the words of a language (BCP 47), or None and what is wrong with them."""
    kinds: Kinds = (("market", MarketWords), ("post", PostWords))
    sections, problems = read_sections(templates, DAY_FOLDER, language, kinds)
    return (None if sections is None else DayWords(**sections)), problems


def market_headings(spoken: MarketWords) -> tuple[tuple[str, str], ...]:
    """Return the headings of the sheet to type into, each with what `stock add` knows it as."""
    return (
        (spoken.day, "day"), (spoken.place, "place"), (spoken.code, "code"), (spoken.name, ""), (spoken.take, ""),
        (spoken.along, "taken along"), (spoken.sold, "sold"), (spoken.came_back, "came back"),
        (spoken.broken, "broken"), (spoken.given, "given"), (spoken.tester, "taken"),
    )  # fmt: skip
