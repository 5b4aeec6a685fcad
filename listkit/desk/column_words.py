"""What a column of a sheet or of a sample may be, and why that is not sure, in the owner's words.

The command line names our fields and says how many per cent sure a guess is; on a page a field is called as its own
page calls it, and a guess is a guess.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from listkit.actions.learn import ColumnChoice
from listkit.actions.own_sheet import Lacking
from listkit.desk.page import say
from listkit.desk.wording import field_words
from listkit.model.item import Item

_UNIT: Final = re.compile(r"(.+) \((.+)\)")
_LIKELY: Final = 80  # per cent, from which a guess is mostly right
_WHY: Final[tuple[tuple[str, str], ...]] = (
    ("the cells look like something else", "otherwise"),
    ("the cells look like something else as well", "also_otherwise"),
    ("the cells tell", "by_cells"),
    ("by its cells", "by_cells"),
    ("no other column is it, and its cells may be", "only_left"),
    ("it has no heading", "no_heading"),
    ("column [A-Z]+ has no heading; .*", "no_heading"),
    ("another word in it changes the meaning", "another_word"),
    ("the word is used for other things as well", "another_use"),
    ("the heading says more than that", "says_more"),
    ("the numbers have no unit", "no_unit"),
    ("the height does not stand last", "height"),
    ('"(?P<heading>.*)" may be the .* as well', "rival"),
    ("another column may be the .* as well", "another_column"),
    ("its cells are what differs between the names", "in_names"),
    ("it stays the same where another column's cells are what differs between the names", "beside_names"),
    ("its codes are how another column's begin", "begins"),
    ("its codes begin with another column's", "begun"),
    ("it may be a tax that is added to the price and not one that is in it", "added_tax"),
    ("its codes repeat where another column's do not", "repeat"),
    ("its codes do not repeat where another column's do", "no_repeat"),
    ('it looks like ".*"', "looks_like"),
    ('"(?P<heading>.*)" is the .* already', "taken"),
    ("it may be the (?P<field>.*) as well", "near"),
    ("it may also mean: .*", "also"),
    ("there are several kinds of price", "prices"),
    ("below the cost in most rows", "below_cost"),
    ("it is more likely the .*", "more_likely"),
    ("it is the .*, which (?:items do not need|a set does not have)", "not_needed"),
    ("no word of it is known", "no_word"),
    ("there is one of it, and the heading is numbered", "numbered"),
    (".* shown only where you say so", "shown"),
    ("it may be the rate and not the amount", "rate"),
    ("it may be another box than the gift box", "other_box"),
    ("it may be whether it is shown there, and not whether it can be bought", "shown_there"),
    ("it may be what to choose, and not what is chosen", "to_choose"),
    ("two columns have this heading: give each its own", "twice"),
    ('".*" once its cells can be read: .*', "unreadable"),
)
"""Why a column is doubtful, as it is said where it is found out, and the word for it in columns.why."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A column as a page asks for it: what is known of it, and a sentence on how sure that is, "" where it is."""

    choice: ColumnChoice
    why: str


def sheet_word(says: str) -> str:
    """Return what a field of an item is called, by its name in an items table with or without a unit.

    >>> sheet_word("weight (g)"), sheet_word("net (fl oz)"), sheet_word("size")
    ('Weight, in grams', 'Contents, in fluid ounces', 'Outside size')
    """
    unit = _UNIT.fullmatch(says)
    name = (unit[1] if unit else says).replace(" ", "_")
    label = say(f"item.field.{name if name in Item.model_fields else f'{name}_'}")
    return say("columns.in_unit", field=label, unit=say(f"columns.unit.{unit[2]}")) if unit else label


def sheet_help(says: str) -> str:
    """Return what a field of an item is for; "" for one with a unit, of which there are several."""
    name = says.replace(" ", "_")
    about = Item.model_fields.get(name) or Item.model_fields.get(f"{name}_")
    key = name if name in Item.model_fields else f"{name}_"
    return field_words()["help"].get(Item.__name__, {}).get(key) or (about.description or "" if about else "")


def add_words(lacking: Lacking, file: str) -> str:
    """Return what to add to a sheet for a field that things need and no column of it has."""
    plain = "columns.add_as_in" if lacking.example else "columns.add"
    key = "columns.add_joined" if lacking.formula else plain
    label, about = sheet_word(lacking.field), sheet_help(lacking.field)
    heading = lacking.field.capitalize()
    add = say(key, heading=heading, file=file, example=lacking.example, formula=lacking.formula)
    return f"{label}. {about} {add}"


def asked(choice: ColumnChoice, called: Callable[[str], str]) -> Asked:
    """Return a column as a page asks for it; `called` returns what a field is called."""
    if not choice.doubt:
        return Asked(choice, "" if choice.likely else say("columns.unknown"))
    key = "columns.likely_so" if choice.share >= _LIKELY else "columns.a_guess"
    first = say(key, what=called(choice.likely[0])) if choice.likely and choice.choosable else ""
    return Asked(choice, " ".join(filter(None, (first, why_words(choice.why, called, choice.likely)))))


def why_words(why: str, called: Callable[[str], str], likely: tuple[str, ...] = ()) -> str:
    """Return why a column is doubtful as a sentence of the page's; a reason that has no words here is a mere doubt.

    >>> why_words("there are several kinds of price", sheet_word)
    'There are several kinds of price: what buyers pay, and what it costs you.'
    """
    for pattern, key in _WHY:
        match = re.fullmatch(pattern, why, re.DOTALL)
        if match:
            parts = match.groupdict()
            field = parts.get("field") or (likely[1] if len(likely) > 1 else "")
            if key in ("near", "also") and not field:
                break
            return say(f"columns.why.{key}", heading=parts.get("heading", ""), field=called(field) if field else "")
    return say("columns.why.unsure")
