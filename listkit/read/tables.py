"""Reads the tables of a shop: items, stockists, rates and ingredients, each row by row.

Beyond what is wrong within one row, rows are held against each other: the steps of a freight service, and the
percentages of one product. What cannot be used is left out with a problem.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Final

from listkit.model.item import IngredientRow, Item
from listkit.model.packaging import Rate
from listkit.model.settings import Settings
from listkit.model.shop import Guess
from listkit.model.wholesale import Stockist
from listkit.problem import Level, Problem, must_fix, one_line, quoted
from listkit.read.folder import ITEMS, ShopFiles, items_file
from listkit.read.headings import fold, without_unit
from listkit.read.making import recipe_items
from listkit.read.parts import SettingsRead
from listkit.read.source import TEXT_LIMIT, Fault, read_bytes
from listkit.read.table_file import PART_ROWS, Form, Table, read_table, unsure_rows
from listkit.read.toml_file import in_source, problem_of
from listkit.read.wording import listed, nearest, write_instead
from listkit.units.shown import METRIC, Measures
from listkit.units.spoken import Spoken

_GRAMS: Final = frozenset({"g", "kg"})
_A_GRAM: Final = Decimal(1)  # cards that write "251 g" for "over 250 g" mean the same
_BY_HEADINGS: Final = ("missing-key", "unknown-column", "bad-value")
"""Problems of a table that may only follow from not knowing what its headings mean."""
Step = tuple[int, Rate]
Services = dict[tuple[str, str], list[Step]]
"""The steps of each service and zone."""
_NAME_EITHER: Final = "Write an item's code, or the raw material as its ingredient is written."


def read_items(
    root: Path, files: ShopFiles, read: SettingsRead, before: Table[Item] | None = None, guess: Guess | None = None
) -> tuple[Table[Item], list[Problem]]:
    """Return the items table and its problems, less those that only follow from not knowing its name or headings.

    `before` is the table as it was read before; rows that have not changed are taken over from it.
    """
    stated, lost = read.settings.items, "items" in read.lost
    file, problems = items_file(root, files, stated.file)
    if not file:
        problems = [in_source(read.source, problem) for problem in problems]
        return Table(stated.file or ITEMS[0], unread=problems[0]), [] if lost else problems
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return Table(file, unread=content), [*problems, content]
    table, more = read_table(file, content, replace(items_form(root, files, read.settings), guess=guess), before)
    if lost:  # the headings may be translated there, units included
        more = [problem for problem in more if problem.code not in _BY_HEADINGS]
    return table, [*problems, *more]


def items_form(root: Path, files: ShopFiles, settings: Settings) -> Form[Item]:
    """Return what the items table should hold; rows that have a recipe may leave their cost to it."""
    stated = settings.items
    return Form(
        Item,
        stated.columns,
        settings.currency,
        stated.sheet,
        recipe_items(root, files.recipes),
        customary=settings.measures.customary,
    )


def lost_headings(read: SettingsRead, table: Table[Item]) -> list[Problem]:
    """Return the problems of headings that shop.toml translates and the items table has not."""
    if table.headings is None:
        return []
    headings = [" ".join(cell.text.split()) for cell in table.headings.row.cells if cell.text]
    there = {fold(name) for heading in headings for name in (heading, without_unit(heading))}
    faults: list[Fault] = []
    for heading in read.settings.items.columns:
        if fold(heading) not in there:
            hint = write_instead(heading, headings, len(faults)) or f"Its headings are {listed(headings, 'and')}."
            message = f"{table.file} has no heading {quoted(heading)}."
            faults.append(Fault(("items", "columns", heading), "bad-value", message, one_line(hint)))
    return [problem_of(read.source, fault) for fault in faults]


def read_stockists(
    root: Path, file: str, currency: str, guess: Guess | None = None
) -> tuple[tuple[Stockist, ...], list[Problem]]:
    """Return the shops that buy from us."""
    content = read_bytes(root, file, limit=TEXT_LIMIT) if file else b""
    if isinstance(content, Problem):
        return (), [content]
    if not file:
        return (), []
    table, problems = read_table(file, content, Form(Stockist, {}, currency, guess=guess))
    return table.rows, problems


# rates.csv


def read_rates(
    root: Path, file: str, spoken: Spoken, measures: Measures = METRIC, guess: Guess | None = None
) -> tuple[tuple[Rate, ...], list[Problem]]:
    """Return the rates that can be used, and what is wrong with any; none of either when `file` is "".

    The steps of a service follow each other without a gap, an overlap or one twice. One whose steps do not is left
    out, since nobody can say what it charges.
    """
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(Rate, {}, spoken.currency, guess=guess))
    columns = table.headings.columns if table.headings else ()
    if any(column.unit in _GRAMS for column in columns):  # a remedy is in the unit of the cell that it is for
        measures = METRIC
    steps_of: Services = {}
    for line, rate in zip(table.row_lines, table.rows, strict=True):
        steps_of.setdefault((rate.service, rate.zone), []).append((line, rate))
    whole = not must_fix(problems)  # a step that could not be read leaves a gap that is none
    sound: list[Rate] = []
    for steps in steps_of.values():
        steps.sort(key=lambda step: (step[1].up_to, step[0]))
        faults, gaps = list(_step_faults(table, steps, measures)), list(_gaps(table, steps, steps_of, measures))
        problems += [*faults, *(gaps if whole else ()), *_cheaper(table, steps, measures, spoken)]
        sound += [] if faults or gaps else [rate for _, rate in steps]
    return tuple(sound), problems


def _step_faults(table: Table[Rate], steps: list[Step], measures: Measures) -> Iterator[Problem]:
    for line, rate in steps:
        if rate.over is not None and rate.over >= rate.up_to:
            message = (
                f"{_named(rate)}: over {measures.weight(rate.over)} is not below up to {measures.weight(rate.up_to)}."
            )
            yield Problem(table.place_at(line, "over"), "rate-steps", message, "Write the smaller weight under over.")
    for (before, lower), (line, rate) in pairwise(steps):
        if lower.up_to == rate.up_to:
            message = (
                f"{_named(rate)}: up to {measures.weight(rate.up_to)} stands in line {before} and again in line {line}."
            )
            yield Problem(table.place_at(line, "up_to"), "rate-steps", message, "Take one of the two out.")
        elif rate.over is not None and rate.over < lower.up_to:
            message = (
                f"{_named(rate)}: over {measures.weight(rate.over)} overlaps with up to {measures.weight(lower.up_to)}."
            )
            yield Problem(table.place_at(line, "over"), "rate-steps", message, _begin(lower, measures))


def _gaps(table: Table[Rate], steps: list[Step], all_steps: Services, measures: Measures) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.over is not None and rate.over.grams > lower.up_to.grams + _A_GRAM:
            message = (
                f"{_named(rate)}: nothing is said of {measures.weight(lower.up_to)} to {measures.weight(rate.over)}."
            )
            hint = f"{_begin(lower, measures)[:-1]}, or add a step."
            others = [name for name, zone in all_steps if zone == rate.zone and name != rate.service]
            near = nearest(rate.service, others)
            for at, step in all_steps.get((near, rate.zone), ()):
                if lower.up_to < step.up_to <= rate.up_to:  # a service of nearly the same name has the missing step
                    hint = f"Is {quoted(near)} in line {at} the same service? Write its name the same."
                    break
            yield Problem(table.place_at(line, "over"), "rate-steps", message, hint)


def _cheaper(table: Table[Rate], steps: list[Step], measures: Measures, spoken: Spoken) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.price < lower.price:
            message = (
                f"{_named(rate)}: up to {measures.weight(rate.up_to)} costs {spoken.money(rate.price)}, "
                f"less than {spoken.money(lower.price)} up to {measures.weight(lower.up_to)}."
            )
            hint = "Compare it with the rate card."
            yield Problem(table.place_at(line, "price"), "rate-cheaper", message, hint, Level.LOOK_AT)


def _begin(lower: Rate, measures: Measures) -> str:
    return f"Write {measures.weight(lower.up_to)}, where the step below ends."


def _named(rate: Rate) -> str:
    return quoted(f"{rate.service}, {rate.zone}" if rate.zone else rate.service)


# ingredients.csv


@dataclass(frozen=True, slots=True)
class Percentages:
    """The rows that can be used. `unsure` are the items and raw materials that may hold more than these say.

    None: any may, since nobody knows whose a row is.
    """

    rows: tuple[IngredientRow, ...] = ()
    unsure: frozenset[str] | None = frozenset()


def read_ingredients(
    root: Path, file: str, codes: frozenset[str] | None, renamed: Callable[[Table[IngredientRow]], Table[IngredientRow]]
) -> tuple[Percentages, list[Problem]]:
    """Return the percentages, and what is wrong with any; none of either when `file` is "".

    A row whose item is neither an item nor a raw material that another row names is left out.

    Args:
        root: the shop folder.
        file: the file's name in it.
        codes: every item's, None where the items could not be read to their end and nothing is unknown.
        renamed: returns the rows with the items' codes of today.
    """
    if not file:
        return Percentages(), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return Percentages(unsure=None), [content]
    form = Form(IngredientRow, {}, most=PART_ROWS)
    table, problems = read_table(file, content, form)
    unsure = unsure_rows(file, content, form, "item", problems)
    table = renamed(table)
    named = {_folded(row.ingredient) for row in table.rows}
    sound, unknown = [], set()
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if codes is None or row.item in codes or _folded(row.item) in named:
            sound.append(row)
        elif row.item not in unknown:
            unknown.add(row.item)
            hint = write_instead(row.item, codes, len(unknown)) or _NAME_EITHER
            message = f"{quoted(row.item)} is neither an item nor an ingredient of one."
            problems.append(Problem(table.place_at(line, "item"), "unknown-code", message, hint))
    if unknown:  # it may be any item's, written wrongly
        unsure = None
    too_much, names = _too_much(table)
    return Percentages(tuple(sound), None if unsure is None else unsure | names), [*problems, *too_much]


def _too_much(table: Table[IngredientRow]) -> tuple[list[Problem], frozenset[str]]:
    """Return a problem for each item and raw material of more than 100 %, at the row that makes it so; and these."""
    sums: dict[str, Decimal] = {}
    over: dict[str, int] = {}
    for line, row in zip(table.row_lines, table.rows, strict=True):
        key = _folded(row.item)
        sums[key] = sums.get(key, Decimal(0)) + row.percent
        if sums[key] > 1:
            over.setdefault(key, line)
    names = {_folded(row.item): row.item for row in reversed(table.rows)}
    problems = []
    for key, line in over.items():
        message = f"all that is in {quoted(names[key])} comes to {(sums[key] * 100).normalize():f} %."
        hint = "Mend the percentages: 100 % is all."
        problems.append(Problem(table.place_at(line, "percent"), "percent-over", message, hint))
    return problems, frozenset(names[key] for key in over)


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())
