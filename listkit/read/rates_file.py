"""Reads rates.csv and holds the steps of each service against each other: no gap, no overlap, none twice.

A service whose steps do not follow each other is left out, since nobody can say what it charges.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Final

from listkit.model.rates import Rate
from listkit.problem import Place, Problem
from listkit.read.source import TEXT_LIMIT, read_bytes
from listkit.read.table_file import Form, Table, read_table
from listkit.read.wording import quoted
from listkit.units.weight import Weight

_A_GRAM: Final = Decimal(1)  # cards that write "251 g" for "over 250 g" mean the same
Step = tuple[int, Rate]


def read_rates(root: Path, file: str, currency: str) -> tuple[tuple[Rate, ...], list[Problem]]:
    """Return the rates that can be gone by, and what is wrong with any; none of either when `file` is ""."""
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(Rate, {}, currency))
    services: dict[tuple[str, str], list[Step]] = {}
    for line, rate in zip(table.row_lines, table.rows, strict=True):
        services.setdefault((rate.service, rate.zone), []).append((line, rate))
    sound: list[Rate] = []
    for steps in services.values():
        steps.sort(key=lambda step: (step[1].up_to, step[0]))
        faults = list(_faults(table, steps))
        problems += [*faults, *_cheaper(table, steps)]
        sound += [] if faults else [rate for _, rate in steps]
    return tuple(sound), problems


def _faults(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for line, rate in steps:
        if rate.over is not None and rate.over >= rate.up_to:
            message = f"{_named(rate)}: over {_grams(rate.over)} is not below up to {_grams(rate.up_to)}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, "Write the smaller weight under over.")
    for (before, lower), (line, rate) in pairwise(steps):
        if lower.up_to == rate.up_to:
            message = f"{_named(rate)}: up to {_grams(rate.up_to)} stands in line {before} and again in line {line}."
            yield Problem(_place(table, line, "up_to"), "rate-steps", message, "Take one of the two out.")
        elif rate.over is not None and rate.over < lower.up_to:
            message = f"{_named(rate)}: over {_grams(rate.over)} overlaps with up to {_grams(lower.up_to)}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, _begin(lower))
        elif rate.over is not None and rate.over.grams > lower.up_to.grams + _A_GRAM:
            message = f"{_named(rate)}: nothing is said of {_grams(lower.up_to)} to {_grams(rate.over)}."
            yield Problem(_place(table, line, "over"), "rate-steps", message, f"{_begin(lower)[:-1]}, or add a step.")


def _cheaper(table: Table[Rate], steps: list[Step]) -> Iterator[Problem]:
    for (_, lower), (line, rate) in pairwise(steps):
        if rate.price < lower.price:
            message = (
                f"{_named(rate)}: up to {_grams(rate.up_to)} costs {rate.price}, "
                f"less than {lower.price} up to {_grams(lower.up_to)}."
            )
            yield Problem(_place(table, line, "price"), "rate-cheaper", message, "Compare it with the rate card.")


def _begin(lower: Rate) -> str:
    return f"Write {_grams(lower.up_to)}, where the step below ends."


def _place(table: Table[Rate], line: int, name: str) -> Place:
    columns = table.headings.columns if table.headings else ()
    heading = next((column.heading for column in columns if column.field == name), "")
    return Place(table.file, line, column=heading, key=(name,))


def _named(rate: Rate) -> str:
    return quoted(f"{rate.service}, {rate.zone}" if rate.zone else rate.service)


def _grams(weight: Weight) -> str:
    return f"{weight.grams.normalize():f} g"
