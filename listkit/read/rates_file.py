"""Reads rates.csv and holds the steps of each service against each other: no gap, no overlap, none twice.

A service whose steps do not follow each other is left out, since nobody can say what it charges.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Final

from listkit.model.rates import Rate
from listkit.problem import Place, Problem, must_fix
from listkit.read.source import TEXT_LIMIT, read_bytes
from listkit.read.table_file import Form, Table, read_table
from listkit.read.wording import nearest, quoted

_A_GRAM: Final = Decimal(1)  # cards that write "251 g" for "over 250 g" mean the same
Step = tuple[int, Rate]
Services = dict[tuple[str, str], list[Step]]
"""The steps of each service and zone."""


def read_rates(root: Path, file: str, currency: str) -> tuple[tuple[Rate, ...], list[Problem]]:
    """Return the rates that can be gone by, and what is wrong with any; none of either when `file` is ""."""
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(Rate, {}, currency))
    steps_of: Services = {}
    for line, rate in zip(table.row_lines, table.rows, strict=True):
        steps_of.setdefault((rate.service, rate.zone), []).append((line, rate))
    whole = not must_fix(problems)  # a step that could not be read leaves a gap that is none
    sound: list[Rate] = []
    for steps in steps_of.values():
        steps.sort(key=lambda step: (step[1].up_to, step[0]))
        faults, gaps = list(_faults(table, steps)), list(_gaps(table, steps, steps_of))
        problems += [*faults, *(gaps if whole else ()), *_cheaper(table, steps)]
        sound += [] if faults or gaps else [rate for _, rate in steps]
    return tuple(sound), problems


def _faults(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for line, rate in steps:
        if rate.over is not None and rate.over >= rate.up_to:
            message = f"{_named(rate)}: over {rate.over.text} is not below up to {rate.up_to.text}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, "Write the smaller weight under over.")
    for (before, lower), (line, rate) in pairwise(steps):
        if lower.up_to == rate.up_to:
            message = f"{_named(rate)}: up to {rate.up_to.text} stands in line {before} and again in line {line}."
            yield Problem(_place(table, line, "up_to"), "rate-steps", message, "Take one of the two out.")
        elif rate.over is not None and rate.over < lower.up_to:
            message = f"{_named(rate)}: over {rate.over.text} overlaps with up to {lower.up_to.text}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, _begin(lower))


def _gaps(table: Table[Rate], steps: list[Step], all_steps: Services) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.over is not None and rate.over.grams > lower.up_to.grams + _A_GRAM:
            message = f"{_named(rate)}: nothing is said of {lower.up_to.text} to {rate.over.text}."
            hint = _filled_by(lower, rate, all_steps) or f"{_begin(lower)[:-1]}, or add a step."
            yield Problem(_place(table, line, "over"), "rate-steps", message, hint)


def _filled_by(lower: Rate, rate: Rate, all_steps: Services) -> str:
    """Return the hint that a service of nearly the same name has the missing step, "" where none has."""
    others = [service for service, zone in all_steps if zone == rate.zone and service != rate.service]
    near = nearest(rate.service, others)
    lines = [line for line, one in all_steps.get((near, rate.zone), ()) if lower.up_to < one.up_to <= rate.up_to]
    return f"Is {quoted(near)} in line {lines[0]} the same service? Write its name the same." if lines else ""


def _cheaper(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.price < lower.price:
            message = (
                f"{_named(rate)}: up to {rate.up_to.text} costs {rate.price}, "
                f"less than {lower.price} up to {lower.up_to.text}."
            )
            yield Problem(_place(table, line, "price"), "rate-cheaper", message, "Compare it with the rate card.")


def _begin(lower: Rate) -> str:
    return f"Write {lower.up_to.text}, where the step below ends."


def _place(table: Table[Rate], line: int, name: str) -> Place:
    columns = table.headings.columns if table.headings else ()
    heading = next((column.heading for column in columns if column.field == name), "")
    return Place(table.file, line, column=heading, key=(name,))


def _named(rate: Rate) -> str:
    return quoted(f"{rate.service}, {rate.zone}" if rate.zone else rate.service)
