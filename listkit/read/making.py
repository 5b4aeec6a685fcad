"""Reads materials.csv, recipes.csv and plan.csv, each row by row; what names nothing is left out with a problem.

What rows mean together (units, circles, costs, dates) is computed elsewhere. What cannot be read whole is remembered,
so that no cost is given out that lacks a part.
"""

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from listkit import bounds
from listkit.model.codes import variant_codes
from listkit.model.making import NOTHING_MADE, MakingRead, Material, PlanRow, RecipeRow
from listkit.model.shop import SetFolder
from listkit.problem import Level, Problem, quoted
from listkit.read.folder import ShopFiles
from listkit.read.references import Codes
from listkit.read.source import TEXT_LIMIT, read_bytes
from listkit.read.table_file import PART_ROWS, Form, Table, read_table, unsure_rows
from listkit.read.wording import perhaps_of_few

M = TypeVar("M", bound=BaseModel)
Names = frozenset[str]
_Rows = tuple[Table[M], Names | None, tuple[Problem, ...]]
"""A table, what rows of it that cannot be read say in a column (None: any may), and what is wrong."""


def recipe_items(root: Path, file: str) -> Names:
    """Return what recipes.csv has recipes of, sound or not."""
    table, unsure, _ = _table(root, file, _recipe_rows)
    return frozenset(row.item for row in table.rows) | (unsure or frozenset())


class Sold:
    """What there is to make and to sell: items, None where they cannot be read whole, and sets with their variants."""

    def __init__(
        self, items: Names | None, codes: Codes, sets: Iterable[SetFolder], left_out: Names, *, every: bool = False
    ) -> None:
        """`sets` are the sound ones, `left_out` codes that the shop may lack; with `every` any may be a set's."""
        self.every = every
        self.items = items
        self.sets = codes.of("set", "variant")
        self.left_out = left_out - (items or frozenset())
        for folder in sets:
            self.sets |= frozenset(variant_codes(folder.gift_set))
            self.left_out -= {folder.gift_set.code}

    def maybe(self, code: str) -> bool:
        """Whether a code may be of something that is left out."""
        return self.every or code in self.left_out or code.startswith(tuple(f"{each}-" for each in self.left_out))


Renamed = Callable[[Table[Any]], Table[Any]]


def read_making(
    root: Path, files: ShopFiles, currency: str, of_shop: Callable[[], Sold], renamed: Renamed
) -> tuple[MakingRead, list[Problem]]:
    """Return materials, recipes and the plan, and what is wrong with them; nothing of either without such files.

    `of_shop` returns what is sold, for which the code of every variant is made, and is called only with such files;
    `renamed` returns a table in the codes of today.
    """
    if not (files.materials or files.recipes or files.plan):
        return NOTHING_MADE, []
    sold = of_shop()
    material_rows = partial(_rows, form=Form(Material, {}, currency), name="material")
    plan_rows = partial(_rows, form=Form(PlanRow, {}, currency), name="set_or_item")
    materials, lost, of_materials = _table(root, files.materials, material_rows)
    recipes, unsure, of_recipes = _table(root, files.recipes, _recipe_rows)
    plan, _, of_plan = _table(root, files.plan, plan_rows)
    sound, twice = _materials(materials)
    kept, unknown, doubtful = _recipes(renamed(recipes), frozenset(row.material for _, row in sound), lost, sold)
    planned, nowhere = _plan(renamed(plan), sold)
    again = _taken_twice(recipes, kept)
    problems = [*of_materials, *of_recipes, *of_plan, *twice, *unknown, *again, *nowhere]
    return MakingRead(sound, kept, planned, None if unsure is None else unsure | doubtful), problems


def _table(root: Path, file: str, rows: Callable[[str, bytes], _Rows[M]]) -> _Rows[M]:
    """Return what `rows` makes of a file; an empty table where there is none, or it cannot be read."""
    content = read_bytes(root, file, limit=TEXT_LIMIT) if file else b""
    if isinstance(content, Problem):
        return Table(file), None, (content,)
    return rows(file, content) if file else (Table(file), frozenset(), ())


def _rows(file: str, content: bytes, form: Form[M], name: str) -> _Rows[M]:
    table, problems = read_table(file, content, form)
    return table, unsure_rows(file, content, form, name, problems), tuple(problems)


@lru_cache(maxsize=1)  # the items ask whose cost may be empty before the recipes themselves are read
def _recipe_rows(file: str, content: bytes) -> _Rows[RecipeRow]:
    return _rows(file, content, Form(RecipeRow, {}, most=PART_ROWS), "item")


def _materials(table: Table[Material]) -> tuple[tuple[tuple[int, Material], ...], list[Problem]]:
    """Return the materials, each name once."""
    lines: dict[str, int] = {}
    sound: list[tuple[int, Material]] = []
    problems: list[Problem] = []
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if row.material in lines:
            message = f"{quoted(row.material)} stands in line {lines[row.material]} and again in line {line}."
            problems.append(
                Problem(table.place_at(line, "material"), "code-twice", message, "Take one of the two out.")
            )
            continue
        lines[row.material] = line
        sound.append((line, row))
    return tuple(sound), problems


def _recipes(
    table: Table[RecipeRow], materials: Names, lost: Names | None, sold: Sold
) -> tuple[tuple[tuple[int, RecipeRow], ...], list[Problem], Names]:
    """Return the rows that name something, what is wrong with the others, and whose recipes these make unsure."""
    made = frozenset(row.item for row in table.rows)
    taken = frozenset(row.material for row in table.rows)
    items = sold.items or frozenset()
    sound, problems, doubtful = [], list[Problem](), set[str]()
    told, mixable = set[tuple[str, str]](), materials | made
    makes, takes = items | taken, mixable | items
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if sold.items is not None and row.item not in makes and not sold.maybe(row.item):
            if ("item", row.item) not in told:
                told.add(("item", row.item))
                near = perhaps_of_few(len(problems), row.item, items)
                hint = near or "Write an item's code, or the name of a mixture as recipes take it."
                message = f"{quoted(row.item)} is no item, and no recipe takes it."
                problems.append(Problem(table.place_at(line, "item"), "unknown-code", message, hint))
            continue
        if row.material in takes:
            sound.append((line, row))
            continue
        doubtful.add(row.item)
        if lost is None or row.material in lost or sold.items is None or sold.maybe(row.material):
            continue
        if ("material", row.material) not in told:
            told.add(("material", row.material))
            message = f"there is no material {quoted(row.material)}, and no recipe of it."
            near = perhaps_of_few(len(problems), row.material, mixable, names=True)
            hint = near or "Add it to materials.csv with its unit and price."
            problems.append(Problem(table.place_at(line, "material"), "unknown-code", message, hint))
    if deep := _too_deep(row for _, row in sound):
        first = next(line for line, row in sound if row.material in deep)
        message = f"from here on mixtures go into each other more than {bounds.MIXTURES_DEEP} deep."
        problems.append(Problem(table.place_at(first, "material"), "bad-value", message, "Is it the right file?"))
        doubtful |= {row.item for _, row in sound if row.material in deep}
        sound = [(line, row) for line, row in sound if row.material not in deep]
    if many := _beyond((row for _, row in sound), materials | items):
        first = next(line for line, row in sound if row.item in many)
        most = f"{bounds.RECIPE_PARTS:,}"
        message = f"from here on recipes come to more than {most} amounts, with all that is in their mixtures."
        problems.append(Problem(table.place_at(first, "material"), "bad-value", message, "Is it the right file?"))
        doubtful |= many
        sound = [(line, row) for line, row in sound if row.item not in many]
    return tuple(sound), problems, frozenset(doubtful)


def _taken_twice(table: Table[RecipeRow], rows: Iterable[tuple[int, RecipeRow]]) -> Iterator[Problem]:
    """Yield each row that takes what another row of its recipe takes: meant, as in two phases, or a slip."""
    lines = dict[tuple[str, str], int]()
    for line, row in rows:
        first = lines.setdefault((row.item, row.material), line)
        if first != line:
            message = (
                f"{row.item} takes {quoted(row.material)} in line {first} and again in line {line}; both are counted."
            )
            hint = "Take one of the two out, or write the whole amount in one."
            yield Problem(table.place_at(line, "material"), "code-twice", message, hint, Level.LOOK_AT)


def _too_deep(rows: Iterable[RecipeRow]) -> Names:
    """Return the mixtures that hold others too deep, whose costs nothing is to go into; none of short circles."""
    holds = dict[str, set[str]]()
    for row in rows:
        holds.setdefault(row.item, set()).add(row.material)
    deep = frozenset(holds.keys() & set().union(*holds.values())) if holds else frozenset[str]()
    for _ in range(bounds.MIXTURES_DEEP):
        deep = frozenset(name for name in deep if not deep.isdisjoint(holds[name]))
    return deep if len(deep) > bounds.MIXTURES_DEEP else frozenset()


def _beyond(rows: Iterable[RecipeRow], whole: Names) -> Names:
    """Return the items and mixtures with which recipes come to more amounts than RECIPE_PARTS.

    `whole` are materials and items, which are not parted where a recipe takes them.
    """
    takes = dict[str, dict[str, None]]()
    for row in rows:
        takes.setdefault(row.item, {})[row.material] = None
    held, beyond, total = dict[str, Names](), set[str](), 0

    def parts(name: str) -> Names:
        nonlocal total
        if name not in held and total <= bounds.RECIPE_PARTS:
            held[name] = frozenset()  # for one that holds itself
            inside = (parts(part) if part in takes and part not in whole else {part} for part in takes[name])
            held[name] = frozenset[str]().union(*inside)
            total += len(held[name])
        if total > bounds.RECIPE_PARTS:
            beyond.add(name)
        return held.get(name, frozenset())

    for name in takes:
        parts(name)
    return frozenset(beyond)


def _plan(table: Table[PlanRow], sold: Sold) -> tuple[tuple[tuple[int, PlanRow], ...], list[Problem]]:
    """Return the rows whose code is of something, and what is wrong with the others."""
    known = (sold.items or frozenset()) | sold.sets
    sound: list[tuple[int, PlanRow]] = []
    problems: list[Problem] = []
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if row.set_or_item in known:
            sound.append((line, row))
        elif sold.items is not None and not sold.maybe(row.set_or_item):
            near = perhaps_of_few(len(problems), row.set_or_item, sold.sets)
            hint = near or "Write the code of a set, a variant or an item."
            message = f"there is no set, variant or item {quoted(row.set_or_item)}."
            problems.append(Problem(table.place_at(line, "set_or_item"), "unknown-code", message, hint))
    return tuple(sound), problems
