"""What columns of a sample mean beside each other: a title beside slots, a length beside a width, a code and its set's.

The order of the columns plays no part.
"""

from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import replace
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.candidates import BY_CELLS, DOUBT, OTHERWISE, SURE, Candidate, Column, times_dearer
from listkit.learn.cell_shapes import day_number, is_code, is_plain_code
from listkit.learn.cells_beside import (
    GROUP,
    LEFT_OVER,
    NAMED,
    begun_codes,
    lettered_sides,
    options_in_names,
    plain_texts,
)
from listkit.learn.folding import FILLERS, folded_phrases, words_of
from listkit.learn.hits import AMONG, EXACT, hits
from listkit.learn.values import SAMPLE_RULES, Verdict, are_names, most, verdict
from listkit.learn.words import FEEDS, FRONT, FURTHER, NAME_WORDS, OPTIONS, VALUE_WORDS

_BESIDE: Final = 0.93
_BY_DAYS: Final = 0.55
_SHOPS: Final = 0.3  # shops pay a third of the price or more; common practice, no source
LEFT: Final = 0.55
ONLY_LEFT: Final = "no other column is it, and its cells may be"


def in_context(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return the columns with their candidates in view of the others; their order plays no part."""
    found = options_in_names(_option_names(tuple(columns)))
    found = _titles(plain_texts(found))
    found = _parents(_sides(lettered_sides(found)))
    found = _rivals(_taken(_prices(_days(found))))
    found = only_left(found, "name", {"name", "title", "setName"}, lambda column: are_names(column.rows))
    for field, instead, fits in LEFT_OVER:
        found = only_left(found, field, instead | {field}, fits)
    return found


def only_left(
    columns: tuple[Column, ...], field: str, instead: Set[str], fits: Callable[[Column], bool]
) -> tuple[Column, ...]:
    """Guess a field that no column is: where one alone is left of which nothing is known and whose cells fit; not sure.

    `instead` are the fields that do as well as `field`.
    """
    if any(column.field in instead for column in columns):
        return columns
    left = [column for column in columns if is_open(column) and column.cells and fits(column)]
    if len(left) != 1:
        return columns
    return tuple(column.become(field, LEFT, ONLY_LEFT) if column is left[0] else column for column in columns)


def is_open(column: Column) -> bool:
    """Whether nothing is known of a column that can be named, or only a word among others that its cells deny."""
    denied = all(one.score <= AMONG / 2 and one.why == OTHERWISE for one in column.candidates)
    return denied and not column.known and bool(column.heading.text.strip())


def _option_names(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """ "Choice 1" is what is chosen, unless another column has what is chosen: then it is what to choose."""
    columns = _values_of_options(tuple(map(_named_option, columns)))
    bare = [_is_bare_option(column) for column in columns]
    if not any(bare):
        return columns
    others = {column.field for column, plain in zip(columns, bare, strict=True) if not plain and column.sure}
    return tuple(_option(column, others) if plain else column for column, plain in zip(columns, bare, strict=True))


def _named_option(column: Column) -> Column:
    """Return the column as slot or choice where its heading is a word for options beside one for names or values.

    German writes both as one word, with an "s" between or without.
    """
    heading = [word for word in words_of(column.heading.numbered.plain) if word not in FILLERS]
    if len(heading) == 1:
        ending = next((part for part in sorted(NAME_WORDS | VALUE_WORDS) if _ends_with(heading[0], part)), "")
        heading = [heading[0].removesuffix(ending).removesuffix("s"), ending]
    beside = [word for word in heading if word in NAME_WORDS | VALUE_WORDS and word not in OPTIONS]
    if len(heading) != 2 or len(beside) != 1 or OPTIONS.isdisjoint(heading):
        return column
    field = "choice" if beside[0] in VALUE_WORDS else "slot"
    against = verdict(field, column.cells, SAMPLE_RULES) is Verdict.AGAINST
    return column if against else column.become(field, EXACT, "")


def _ends_with(word: str, ending: str) -> bool:
    return word.endswith(ending) and word.removesuffix(ending).removesuffix("s") in OPTIONS


def _is_bare_option(column: Column) -> bool:
    heading = [word for word in words_of(column.heading.numbered.plain) if len(word) > 1]
    return len(heading) == 1 and heading[0] in OPTIONS


def _values_of_options(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Take "Value of A" for what is chosen where another column is "Option A"; so with numbers."""
    marks = {mark for one in columns if _is_bare_option(one) and (mark := _mark(one))}
    return tuple(
        one.become("choice", _BESIDE, "another column has what to choose") if _is_value(one, marks) else one
        for one in columns
    )


def _is_value(column: Column, marks: Set[str]) -> bool:
    heading = [word for word in words_of(column.heading.numbered.plain) if word not in FILLERS and len(word) > 1]
    named = len(heading) == 1 and heading[0] in VALUE_WORDS and _mark(column) in marks
    return named and verdict("choice", column.cells, SAMPLE_RULES) is not Verdict.AGAINST


def _mark(column: Column) -> str:
    """Return the number or the single letter that parts a heading from others of its kind, "" without."""
    letters = [word for word in words_of(column.heading.numbered.plain) if len(word) == 1]
    number = column.heading.numbered.number
    return str(number) if number is not None else (letters[0] if len(letters) == 1 else "")


def _option(column: Column, others: set[str]) -> Column:
    if "choice" in others and "slot" not in others:
        return column.become("slot", _BESIDE, "another column has what is chosen")
    if "slot" in others:
        return column.become("choice", _BESIDE, "another column has what to choose")
    doubtful = column.become("choice", DOUBT, "it may be what to choose, and not what is chosen")
    return replace(doubtful, candidates=(doubtful.candidates[0], Candidate("slot", 0.65)))


def picture_members(columns: Sequence[Column], members: Sequence[int | None]) -> tuple[int | None, ...]:
    """Return which member of its family each column is; beside one main picture the further ones begin with 2.

    One column alone beside it is a further one whatever it is called: "Lifestyle photo link".
    """
    pictures = [at for at, one in enumerate(columns) if one.field == "image"]
    further = [at for at in pictures if _says(columns[at], FURTHER)]
    front = [at for at in pictures if at not in further and _says(columns[at], FRONT)]
    rest = [at for at in pictures if at not in (*front, *further) and columns[at].heading.numbered.number is None]
    further = further or (rest if len(pictures) == 2 and len(front) == 1 else [])
    if len(front) != 1 or columns[front[0]].heading.numbered.number is not None:
        return tuple(members)
    numbers = {at: columns[at].heading.numbered.number for at in further}
    if len(further) != 1 and None in numbers.values():
        return tuple(members)
    given = {**{at: (number or 1) + 1 for at, number in numbers.items()}, **({front[0]: 1} if further else {})}
    return tuple(given.get(at, member) for at, member in enumerate(members))


def _says(column: Column, parts: frozenset[str]) -> bool:
    """Whether a word of the heading is one of the parts, or begins with one, as German words do: "Hauptbild"."""
    begins = tuple(part for part in parts if len(part) > 3)
    return any(word in parts or word.startswith(begins) for word in words_of(column.heading.numbered.plain))


_BARE_TITLES: Final = folded_phrases("small", "titles")
_GROUPING: Final = frozenset({"slot", "choice", "inProductGroupWithID"})


def _titles(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Where choices stand in columns of their own a title is the set's, else the variant's with what was chosen."""
    bare = [one for one in columns if one.field in {"name", "title"} and _is_bare(one)]
    stated = {one.field for one in columns if one.field in {"name", "title"} and not _is_bare(one) and one.sure}
    if not bare or len({one.field for one in bare}) > 1:
        return columns
    grouped = any(one.field in _GROUPING and one.candidates[0].score >= DOUBT for one in columns)
    field = "name" if "title" in stated or not (grouped or "name" in stated) else "title"
    return tuple(_title(column, field) if column in bare else column for column in columns)


def _is_bare(column: Column) -> bool:
    return " ".join(words_of(column.heading.numbered.plain)) in _BARE_TITLES


def _title(column: Column, field: str) -> Column:
    other = "title" if field == "name" else "name"
    score = column.candidates[0].score
    made = column.become(field, score, column.candidates[0].why)
    rest = tuple(candidate for candidate in made.candidates[1:] if candidate.field != other)
    return replace(made, candidates=(made.candidates[0], Candidate(other, score - 0.2), *rest))


def _sides(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Length and width of a box are its width and depth, as one stands before it; width and depth are themselves."""
    lengths = [one for one in columns if one.known == "length" and not one.field]
    widths = [one for one in columns if one.field == "width"]
    if len(lengths) != 1 or len(widths) != 1 or any(one.field == "depth" for one in columns):
        return columns
    [length], [width] = lengths, widths
    found = [hit for hit in hits(length.heading.numbered.plain, FEEDS) if hit.meaning.name == "length"]
    unit = next((hit.unit for hit in found if hit.unit), "")
    sure = width.sure and any(hit.score >= SURE for hit in found)
    score = _BESIDE if sure else DOUBT - 0.1  # sides of something that no word of is known are nobody's for sure
    turned = length.become("width", score, "beside a width it is the longer side of the box")
    turned = replace(turned, candidates=(replace(turned.candidates[0], unit=unit), *turned.candidates[1:]))
    beside = width.become("depth", score, "beside a length it is the shorter side of the box")
    return tuple(turned if one is length else beside if one is width else one for one in columns)


def _parents(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Of columns of codes that no heading names for sure, one that repeats is the set's beside one that does not."""
    columns = _alone(columns)
    if (begun := begun_codes(columns)) is not None and not _are_known(begun, columns):
        return tuple(
            _as_code(one, GROUP, "its codes are how another column's begin") if one is begun[0]
            else _as_code(one, "sku", "its codes begin with another column's") if one is begun[1]
            else one
            for one in columns
        )  # fmt: skip
    own = [one for one in columns if one.field == "sku" and _are_codes(one) and len(set(one.rows)) == len(one.rows)]
    if len(own) != 1 or len(own[0].rows) < 2 or any(one.field == GROUP and one.sure for one in columns):
        return columns
    [child] = own
    above = [one for one in columns if one is not child and not one.sure and _is_parent(one, child)]
    if len(above) != 1:
        return columns
    [parent] = above
    return tuple(
        _as_code(one, GROUP, "its codes repeat where another column's do not") if one is parent
        else _as_code(one, "sku", "its codes do not repeat where another column's do") if one is child and not one.sure
        else one
        for one in columns
    )  # fmt: skip


def _are_known(begun: tuple[Column, Column], columns: Sequence[Column]) -> bool:
    """Whether both codes are known, or other columns surely are the codes."""
    parent, child = begun
    others = {one.field for one in columns if one.sure and one is not parent and one is not child}
    known = parent.sure and child.sure and (parent.field, child.field) == (GROUP, "sku")
    return known or not others.isdisjoint({GROUP, "sku"})


def _alone(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """A set's code that may as well be a variant's is one where no other column is: there is always a code."""
    fields = [one.field for one in columns]
    return tuple(
        one.become("sku", one.candidates[0].score, one.candidates[0].why)
        if one.field == GROUP and not one.sure and one.score("sku") >= NAMED and "sku" not in fields
        else one
        for one in columns
    )


def _are_codes(column: Column) -> bool:
    return len(column.cells) == len(column.rows) and most(column.cells, is_code)


def _is_parent(column: Column, child: Column) -> bool:
    """Whether a column's codes stand for several of the child's, or each is how the child's begins."""
    if not _are_codes(column) or column.rows == child.rows or column.field not in ("", "sku", GROUP, "inventoryLevel"):
        return False
    begins = all(own.startswith(code) and own != code for code, own in zip(column.rows, child.rows, strict=True))
    repeats = 1 < len(set(column.rows)) < len(column.rows)
    return begins or (repeats and most(column.cells, lambda cell: is_plain_code(cell) or _is_short(cell)))


def _is_short(cell: str) -> bool:
    return cell.isupper() and len(cell) > 1 and " " not in cell


def _as_code(column: Column, field: str, why: str) -> Column:
    """Return the column as the code; sure where its heading names the same, however doubtfully."""
    if column.sure and column.field == field:
        return column
    named = column.score(field) >= NAMED and column.candidates[0].why != BY_CELLS
    return column.become(field, _BESIDE if named else DOUBT, why)


def _prices(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Of two columns of prices the one that no word names is the shops', or what was asked before, as it is lower."""
    named = [one for one in columns if one.field == "price" and one.candidates[0].why != BY_CELLS]
    unnamed = [one for one in columns if one.field == "price" and one.candidates[0].why == BY_CELLS]
    if len(named) != 1 or len(unnamed) != 1 or not (times := times_dearer(unnamed[0], named[0], least=2)):
        return columns
    taken = {one.field for one in columns}
    lower = "wholesalePrice" if times[0] >= _SHOPS and times[-1] < 1 else ""
    field = "suggestedRetail" if times[0] > 1 else lower
    if not field or field in taken:
        return columns
    return tuple(one.become(field, LEFT, BY_CELLS) if one is unnamed[0] else one for one in columns)


def _days(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Of two columns of days the later one has the last days, where only its cells speak for it; it is not sure."""
    days = [one for one in columns if one.field == "availabilityStarts"]
    by_cells = [one for one in days if one.candidates[0].why == BY_CELLS]
    later = next((one for one in by_cells if len(days) == 2 and all(_is_later(one, days))), None)
    return tuple(one.become("availabilityEnds", _BY_DAYS, BY_CELLS) if one is later else one for one in columns)


def _is_later(column: Column, columns: Sequence[Column]) -> Iterator[bool]:
    """Yield for each row whether a column's day is after the other's, as far as both can be read."""
    for row in zip(*(one.rows for one in columns), strict=True):
        first, second = (day_number(cell) for cell in row)
        own, there = (first, second) if column is columns[0] else (second, first)
        yield own is not None and there is not None and own > there


def _taken(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Take from columns that only their cells speak for the fields that another column surely is."""
    sure = {one.field for one in columns if one.sure and not FIELDS[one.field].many}
    return tuple(
        replace(
            one, candidates=tuple(each for each in one.candidates if each.why != BY_CELLS or each.field not in sure)
        )
        for one in columns
    )


def _rivals(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """Of two columns that would both be a field of which there is one, none is sure, unless their cells are alike.

    A column that has our own name for the field stays.
    """
    return tuple(one.doubted(_rival_words(one)) if _has_rival(one, columns) else one for one in columns)


def _has_rival(column: Column, columns: tuple[Column, ...]) -> bool:
    if not column.field or FIELDS[column.field].many or column.heading.numbered.plain in FIELDS:
        return False
    rivals = [one for one in columns if one.field == column.field and (one.sure or column.field == "price")]
    return len(rivals) > 1 and not (all(one.cells for one in rivals) and len({one.rows for one in rivals}) == 1)


def _rival_words(column: Column) -> str:
    return f"another column may be {FIELD_WORDS.get(column.field, 'it')} as well"


FIELD_WORDS: Final = {"price": "the price", "sku": "the code", GROUP: "the set's code", "name": "the name"}
