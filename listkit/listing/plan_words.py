"""The words of the owner's calendar, from templates/plan/<language>.toml, and each of its days worded."""

from dataclasses import dataclass
from typing import Final

from listkit.compute.calendar import YearDay
from listkit.listing.print_words import Kinds, sections_for_owner
from listkit.listing.sentences import fill, with_places
from listkit.listing.words import capital
from listkit.model.shop import Shop

PLAN_FOLDER: Final = "plan"


@dataclass(frozen=True, slots=True)
class CalendarWords:
    """What stands in the calendar and on its page; a sentence for each kind of day."""

    title: str
    nothing: str
    all_shops: str
    buy: str = with_places("name")
    pour: str = with_places("name", "count")
    ready: str = with_places("name", "count")
    photograph: str = with_places("name")
    sheet: str = with_places()
    order_by: str = with_places("name")
    ships: str = with_places("name")
    on_sale: str = with_places("name")
    last_post: str = with_places("name")
    prior: str = with_places("name", "count")
    off_sale: str = with_places("name")
    take_down: str = with_places("name")
    until: str = with_places("day")


def calendar_words(shop: Shop) -> CalendarWords:
    """Return the words in the shop's language, else in English.

    Raises:
        FieldError: a file of words has a fault.
    """
    kinds: Kinds = (("calendar", CalendarWords),)
    spoken: CalendarWords = sections_for_owner(shop.templates, PLAN_FOLDER, shop.settings.language, kinds)["calendar"]
    return spoken


def day_text(day: YearDay, spoken: CalendarWords) -> str:
    """Return what is to be done on a day: "Pour Oat soap, 2 batches"."""
    sentence: str = getattr(spoken, day.kind)
    return capital(fill(sentence, name=day.name or spoken.all_shops, count=day.count))
