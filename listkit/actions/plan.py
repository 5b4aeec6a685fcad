"""The make list of a shop on a day, a plan proposed from last season, and the calendar with its page."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final

from listkit.actions.prints import FOLDER
from listkit.compute.calendar import year_days
from listkit.compute.plan import MakePlan, make_plan
from listkit.compute.season_plan import proposed
from listkit.listing.plan_words import calendar_words
from listkit.model.making import MATERIALS_FILE, PLAN_FILE, RECIPES_FILE, PlanRow
from listkit.pipeline import Listed
from listkit.problem import FieldError
from listkit.save.asked import asked_files, asked_folder
from listkit.save.out_folder import content_of
from listkit.write.calendar import calendar_bytes, calendar_layout
from listkit.write.print import print_pdf, verify_pdf

CALENDAR: Final = f"{FOLDER}/calendar.ics"
PAGE: Final = f"{FOLDER}/calendar.pdf"


def plan_of(listed: Listed) -> MakePlan:
    """Return the make list of a shop on its day."""
    return make_plan(listed.catalog, listed.day)


def lacks(listed: Listed, plan: MakePlan) -> tuple[str, ...]:
    """Return the files of which a make list lacks something: rows of the plan, else materials and recipes.

    They cannot be read or reckoned with, or what the plan asks for is left out of the shop.
    """
    shop, files = listed.shop, {problem.place.file for problem in listed.problems}
    file = shop.root / PLAN_FILE
    unplanned = not shop.making.plan and file.is_file() and len(content_of(file).splitlines()) > 1
    if plan.left_out or plan.beyond or PLAN_FILE in files or unplanned:
        return (PLAN_FILE,)
    files |= {fault.place.file for cost in (shop.made.costs.values() if shop.made else ()) for fault in cost.faults}
    return tuple(name for name in (MATERIALS_FILE, RECIPES_FILE) if name in files)


def write_calendar(listed: Listed, out: Path) -> tuple[str, ...]:
    """Write the calendar and its page into the output folder; return their paths there.

    Raises:
        FieldError: the words have a fault, or a file cannot be written or does not read back.
    """
    shop, words = listed.shop, calendar_words(listed.shop)
    days = year_days(shop, plan_of(listed), listed.day)
    content = calendar_bytes(days, shop, words, listed.day)
    with asked_folder(out, shop.root, (CALENDAR, PAGE)) as folder, asked_files(folder, (CALENDAR, PAGE)) as parts:
        parts[0].write_bytes(content)
        print_pdf(parts[1], calendar_layout(days, shop, words, listed.day))
        if fault := verify_pdf(parts[1], print_pdf, ()):
            raise FieldError(f"{PAGE} does not read back as it was written: {fault}")
    return CALENDAR, PAGE


@dataclass(frozen=True, slots=True)
class Proposal:
    """Rows for a plan, and the days of last year that they go by: season, first and last day."""

    rows: tuple[PlanRow, ...]
    looked: tuple[tuple[str, datetime.date, datetime.date], ...]


def propose(listed: Listed, share: Decimal) -> Proposal:
    """Return a plan that follows what the seasons sold last year.

    Raises:
        FieldError: nothing was written down of last year.
    """
    if not listed.shop.movements.moves:
        if listed.shop.movements.in_part:
            raise FieldError("nothing of movements.csv can be read.", "See what listkit check says of it.")
        raise FieldError(
            "there is no movements.csv to propose a plan from.",
            f"Write {PLAN_FILE} yourself, or add what was sold first.",
        )
    rows, looked = proposed(listed.catalog, listed.day, share)
    return Proposal(rows, tuple((season.name, first, last) for season, first, last in looked))


def rows_as_table(rows: Sequence[PlanRow]) -> tuple[tuple[str, ...], ...]:
    """Return rows as the cells of plan.csv, its headings first."""
    cells = ((row.set_or_item, row.place, str(row.how_many), row.by_when.isoformat()) for row in rows)
    return (("set or item", "place", "how many", "by when"), *cells)
