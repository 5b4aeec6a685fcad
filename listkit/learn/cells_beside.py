"""What the cells of a sample's columns mean beside each other: a choice in the names, a code that begins another.

The order of the columns plays no part.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.learn.candidates import BY_CELLS, DOUBT, Column
from listkit.learn.cell_shapes import (
    amount,
    has_letters,
    has_markup,
    is_address,
    is_answer,
    is_code,
    is_picture,
    is_plain_code,
    is_whole,
    kind_of,
)
from listkit.learn.folding import FILLERS, HEIGHTS, SIDES, folded, unit_of, words_of
from listkit.learn.hits import TOGETHER, WITHIN
from listkit.learn.values import LONG_TEXT, SAMPLE_RULES, SHEET_RULES, Cells, Verdict, most, verdict
from listkit.learn.words import OPTIONS

GROUP: Final = "inProductGroupWithID"
NAMED: Final = 0.5
_IN_NAMES: Final = "its cells are what differs between the names"
_SAME_THROUGH: Final = "it stays the same where another column's cells are what differs between the names"
_LONGEST: Final = 40
_MOST_BESIDE: Final = 20  # columns of names, and of what is chosen, beyond which it is no sample of a shop
_CHOICES: Final = frozenset({"slot", "choice"})


# What is chosen, and what its name is.


def options_in_names(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Take a column whose cells are what differs between names for what is chosen; one beside it for what to choose.

    Sure only where a heading has a word for options; a heading that surely means something else goes first.
    """
    named = [one for one in columns if _are_named(one)]
    if len(named) > _MOST_BESIDE or not named:
        return columns
    options = [at for at, one in enumerate(columns) if _may_be_option(one)]
    found = [(at, columns[at], rests) for at in options if (rests := _names_without(columns[at], named))]
    for place, chosen, rests in found if len(found) <= _MOST_BESIDE else ():
        beside = _slot_beside(place, rests, [(at, columns[at]) for at in options])
        if beside is None and chosen.field == "choice":
            continue
        slot = columns[beside] if beside is not None else None
        by_heading = any(_says_option(one) for one in (chosen, slot) if one is not None)
        turned = dict[int, Column]()
        if columns[place] is chosen:
            turned[place] = _as_option(chosen, "choice", _IN_NAMES, named=by_heading)
        if beside is not None and slot is not None:
            turned[beside] = _as_option(slot, "slot", _SAME_THROUGH, named=by_heading)
        columns = tuple(turned.get(at, one) for at, one in enumerate(columns))
    return columns


def _as_option(column: Column, field: str, why: str, *, named: bool) -> Column:
    if column.field == field and column.sure:
        return column
    return column.become(field, WITHIN if named else DOUBT, why)


def _may_be_option(column: Column) -> bool:
    """Whether a column's cells are words of a few letters and its heading does not surely say what else they are."""
    short = most(column.rows, lambda cell: has_letters(cell) and len(cell) <= _LONGEST)
    linked = any("," in cell or is_address(cell) or is_picture(cell) or is_plain_code(cell) for cell in column.rows)
    return _is_open(column) and short and not linked and not most(column.cells, is_answer)


def _names_without(column: Column, named: Sequence[Column]) -> Cells:
    """Return the names of the rows less the column's cells, () unless they are alike then where the cells differ."""
    if not all(column.rows) or len(set(column.rows)) < 2:
        return ()
    for names in named:
        if names is column:
            continue
        rests = _rests(column.rows, names.rows)
        if rests and _differ_alone(column.rows, rests):
            return rests
    return ()


def _rests(cells: Cells, names: Cells) -> Cells:
    """Return each name less its cell, () where a cell is in none or all of it."""
    found = []
    for cell, name in zip(cells, names, strict=True):
        rest = _without(cell, name)
        if not rest:
            return ()
        found.append(rest)
    return tuple(found)


def _are_named(column: Column) -> bool:
    """Whether a column may hold the names of what is sold: each another, in several words."""
    several = all(" " in cell and len(cell) <= 3 * _LONGEST for cell in column.rows)
    return several and len(set(column.rows)) == len(column.rows) and column.field not in _CHOICES


def _without(cell: str, name: str) -> str:
    """Return a name less some words that stand in it, "" where they do not.

    >>> _without("mint", "Weir box, mint jar"), _without("in", "Weir box, mint jar"), _without("Mint", "Mint")
    ('weir box,  jar', '', '')
    """
    if len(cell) > len(name):
        return ""
    found = re.subn(rf"(?<!\w){re.escape(cell.casefold())}(?!\w)", "", name.casefold(), count=1)
    return found[0].strip() if found[1] else ""


def _differ_alone(cells: Cells, rests: Cells) -> bool:
    """Whether most rows have another row of the same name but for its cell."""
    together: dict[str, set[str]] = defaultdict(set)
    for cell, rest in zip(cells, rests, strict=True):
        together[rest].add(cell)
    return most(rests, lambda rest: len(together[rest]) > 1)


def _slot_beside(place: int, rests: Cells, options: Sequence[tuple[int, Column]]) -> int | None:
    """Return where what is chosen is named: by its heading, a word for options, or its cells in the names."""
    chosen = next(one for at, one in options if at == place)
    open_yet = [
        (at, one) for at, one in options if at != place and _is_open(one) and _same_through(one, rests)
        and chosen.heading.numbered.number in (None, one.heading.numbered.number)
    ]  # fmt: skip
    alike = [at for at, one in open_yet if _told_words(one) & _told_words(chosen)]
    said = [at for at, one in open_yet if _says_option(one)]
    inside = [at for at, one in open_yet if all(map(_without, one.rows, rests))]
    return next((ranked[0] for ranked in (alike, said, inside) if len(ranked) == 1), None)


def _is_open(column: Column) -> bool:
    return not column.sure or column.field in _CHOICES


def _same_through(column: Column, rests: Cells) -> bool:
    """Whether the cells are the same in all rows that have the same name but for what was chosen."""
    return all(column.rows) and len(set(zip(column.rows, rests, strict=True))) == len(set(rests))


def _told_words(column: Column) -> frozenset[str]:
    return frozenset(word for word in words_of(column.heading.numbered.plain) if len(word) > 2) - FILLERS


def _says_option(column: Column) -> bool:
    return not OPTIONS.isdisjoint(words_of(column.heading.numbered.plain)) or column.field in _CHOICES


# Codes that begin others.


def begun_codes(columns: Sequence[Column]) -> tuple[Column, Column] | None:
    """Return the one column of codes that begin another column's, and that: "WB" beside "WB-01"; else None.

    Its codes repeat, the other's do not.
    """
    codes = [(one, len(set(one.rows)) == len(one.rows)) for one in columns if _are_open_codes(one)]
    parents = [one for one, apart in codes if not apart]
    found = [(parent, child) for parent in parents for child, apart in codes if apart and _begins(parent, child)]
    return found[0] if len(found) == 1 else None


def _are_open_codes(column: Column) -> bool:
    open_yet = not column.sure or column.field in ("sku", GROUP)
    codes = all(is_code(cell) and len(cell) > 1 for cell in column.rows)
    return open_yet and codes and not any(map(is_picture, column.rows))


def _begins(parent: Column, child: Column) -> bool:
    pairs = zip(parent.rows, child.rows, strict=True)
    return all(code.startswith(start) and code != start for start, code in pairs)


# Sides by letters, texts without marks, further pictures.

_PARCEL: Final = folded("parts", "parcel")
_BOX_SIDES: Final = ("width", "depth", "height")
_PARCEL_SIDES: Final = ("parcelLength", "parcelWidth", "parcelHeight")


@dataclass(frozen=True, slots=True)
class _Lettered:
    """A heading less the one letter of it that is a side's, its unit apart."""

    rest: tuple[str, ...]
    letter: str
    unit: str


def lettered_sides(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Take three columns whose headings differ in a side's letter alone for the sides, the height by its letter."""
    parted = {id(one): _lettered(one) for one in columns}
    families: dict[tuple[tuple[str, ...], str], list[Column]] = defaultdict(list)
    for one in columns:
        if (lettered := parted[id(one)]) is not None:
            families[lettered.rest, lettered.unit].append(one)
    turned: dict[int, Column] = {}
    for (rest, unit), members in families.items():
        letters = {lettered.letter: one for one in members if (lettered := parted[id(one)]) is not None}
        ordered = next((order for order in (("l", "w", "h"), ("l", "b", "h")) if set(order) == set(letters)), None)
        if ordered is None or len(members) != 3:
            continue
        of_parcel = not _PARCEL.isdisjoint(rest)
        for letter, field in zip(ordered, _PARCEL_SIDES if of_parcel else _BOX_SIDES, strict=True):
            score = TOGETHER if of_parcel else DOUBT
            side = letters[letter].become(field, score, "its letter is a side's, beside two others")
            turned[id(letters[letter])] = replace(
                side, candidates=(replace(side.candidates[0], unit=unit), *side.candidates[1:])
            )
    return tuple(turned.get(id(one), one) for one in columns)


def _lettered(column: Column) -> _Lettered | None:
    if verdict("width", column.cells, SAMPLE_RULES) is Verdict.AGAINST:
        return None
    words = words_of(column.heading.text)
    units = [word for word in words if unit_of(word)[0] == "length"]
    letters = [word for word in words if len(word) == 1 and word in SIDES | HEIGHTS]
    if len(letters) != 1 or len(units) > 1:
        return None
    rest = tuple(word for word in words if word not in (*letters, *units))
    return _Lettered(rest, letters[0], unit_of(units[0])[1] if units else "")


def plain_texts(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Of two texts take the one without marks of HTML for the plain one, where the other's cells have them."""
    texts = [one for one in columns if one.field in ("description", "plainDescription")]
    marked = [one for one in texts if most(one.cells, has_markup)]
    bare = [one for one in texts if not any(map(has_markup, one.cells)) and one.cells]
    if len(marked) != 1 or len(bare) != 1 or len(texts) != 2 or bare[0].sure:
        return columns
    why = "it has no marks of HTML, and another text has them"
    return tuple(one.become("plainDescription", DOUBT, why) if one is bare[0] else one for one in columns)


def further_pictures(columns: Sequence[Column]) -> tuple[int | None, ...]:
    """Return the numbers of pictures that no word names, where they go on from those before; of other columns None."""
    pictures = [one for one in columns if one.field == "image"]
    by_cells = [one for one in pictures if one.candidates[0].why == BY_CELLS]
    numbers = sorted(one.heading.numbered.number or 0 for one in by_cells)
    named = len(pictures) - len(by_cells)
    follow = named > 0 and numbers == list(range(named + 1, len(pictures) + 1))
    return tuple(one.heading.numbered.number if follow and one in by_cells else None for one in columns)


# What is left: fields that no column is, and what the cells of the one column must look like that may be it.

_HEAVY: Final = 50
"""Grams from which a column of numbers is rather a weight than how many there are; common practice, no source."""
_UNEVEN: Final = 4


def _amounts(column: Column) -> tuple[float, ...]:
    plain = most(column.cells, lambda cell: is_whole(cell) and len(cell) <= 5)
    return tuple(value for cell in column.cells if (value := amount(cell)) is not None) if plain else ()


def _is_heavy(column: Column) -> bool:
    """Whether numbers are as those of weights in grams: none small, none many times another."""
    amounts = _amounts(column)
    return len(amounts) > 1 and min(amounts) >= _HEAVY and max(amounts) < _UNEVEN * min(amounts)


def _is_count(column: Column) -> bool:
    amounts = _amounts(column)
    return len(amounts) > 1 and len(set(amounts)) > 1 and not _is_heavy(column)


def _are_words_listed(column: Column) -> bool:
    """Whether cells are lists of a few short words: "soap, gift"."""
    parts = [part.split() for cell in column.cells for part in re.split("[,;]", cell)]
    listed = most(column.cells, lambda cell: re.search("[,;]", cell) and has_letters(cell) and not cell.endswith("."))
    return listed and all(1 <= len(words) <= 3 for words in parts)


def _is_long(column: Column) -> bool:
    texts = most(column.cells, lambda cell: " " in cell and has_letters(cell) and not is_address(cell))
    return texts and sum(map(len, column.cells)) >= LONG_TEXT * len(column.cells)


def _is_phrase(column: Column) -> bool:
    """Whether cells are some words in a row, as those about a picture: no list, no text."""
    several = most(column.cells, lambda cell: len(cell.split()) > 3 and has_letters(cell) and not is_address(cell))
    return several and not _is_long(column) and not _are_words_listed(column)


def _is_maker(column: Column) -> bool:
    """Whether cells are one and the same name, as a maker's: "Quiet Mill"."""
    names = set(column.rows)
    return len(column.rows) > 1 and len(names) == 1 and all(_is_title(name) for name in names)


def _is_title(name: str) -> bool:
    words = name.split()
    return 2 <= len(words) <= 4 and words[0][:1].isupper() and words[-1][:1].isupper() and has_letters(name)


def _is_kind(column: Column) -> bool:
    """Whether cells are a word or two that stay the same over rows, as a category's."""
    few = len(column.rows) > 1 and len(set(column.rows)) < len(column.rows) and all(column.rows)
    plain = most(column.cells, lambda cell: has_letters(cell) and len(cell.split()) <= 3 and cell[:1].isupper())
    return few and plain and not most(column.cells, lambda cell: is_answer(cell) or (is_code(cell) and cell.isupper()))


LEFT_OVER: Final[tuple[tuple[str, frozenset[str], Callable[[Column], bool]], ...]] = (
    ("weight", frozenset({"parcelWeight", "netContents", "chargeableWeight"}), _is_heavy),
    ("inventoryLevel", frozenset({"inStock", "availability"}), _is_count),
    ("keywords", frozenset(), _are_words_listed),
    ("plainDescription", frozenset(), _is_long),
    ("alt", frozenset(), _is_phrase),
    ("theme", frozenset(), _is_phrase),
    ("shelfLife", frozenset(), lambda column: verdict("shelf life", column.cells, SHEET_RULES) is Verdict.TELLING),
    ("netContents", frozenset(), lambda column: most(column.cells, lambda cell: kind_of(cell) in {"mass", "volume"})),
    ("brand", frozenset(), _is_maker),
    ("category", frozenset(), _is_kind),
)
"""In the order in which they are guessed: the field, fields that do as well, and what the cells are to be."""
