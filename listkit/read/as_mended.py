"""Documents as though their faults were mended: each value that cannot be used has a stand-in, small, large or usual.

A file is read twice so, with unlike stand-ins. What both readings say alike does not depend on what the owner will
write there, so it holds already. Where they differ it is read with usual ones too: what other rows say, what holds
where nothing is said, an example.
"""

import datetime
import re
import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from copy import deepcopy
from dataclasses import replace
from decimal import Decimal
from math import prod
from typing import Any, Final

from pydantic import BaseModel

from listkit.bounded_toml import BEYOND, TOO_DEEP, parse_bounded
from listkit.model.gift_set import NO_BOX, SMALLEST, SMALLEST_EACH, Fixed, GiftSet, Slot
from listkit.model.shop import Guess
from listkit.problem import KeyPath
from listkit.read.faults import choices_of, example_of, field_of, follow, meant_at_top, repeats
from listkit.read.source import Fault
from listkit.read.wording import nearest

Document = dict[str, Any]
_ROUNDS: Final = 12  # each mends what the one before brought up: a table that misses a key, then the key's own value
_MOST_AS_MENDED: Final = 1_000  # variants of a set that is looked at only for what is wrong in it
_MOST_LINES: Final = 20  # of a text that are taken out before it is given up
_UNUSABLE: Final = "00:00:00"  # a time of day, which no key takes: in the place of a value that is no TOML
_AT: Final = re.compile(r"\(at line (\d+), column (\d+)\)$")
_VALUED: Final = re.compile(r"\s*(?P<key>[A-Za-z0-9_-]+)\s*=")
_BARE: Final = re.compile(
    r"\s*(?P<key>[A-Za-z0-9_-]+)\s*=\s*(?P<text>[^\W\d](?:[^\"'\[\]{}#=]*[^\"'\[\]{}#=\s])?)\s*(?:#.*)?"
)
_HEADING: Final = re.compile(
    r"(?P<before>\s*)(?P<quote>[\"']?)\[{1,2}(?P<name>[^\[\]\"'#]+)\]{1,2}(?P=quote)\s*(?:#.*)?"
)
_MEANT: Final = re.compile(
    r'Write "?([^" ]+|(?<=")[^"]+)"?(?: or "?([^" ]+)"?)?(?: with a point)?\.'
)  # what a hint names
_NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
_LONGEST: Final = 300  # letters of a cell with numbers; a product of a million digits is more than arithmetic has
_DAY: Final = re.compile(r"(\d{4})-(\d\d)-(\d\d)")
_SHARE: Final = {Guess.SMALL: Decimal("0.01"), Guess.LARGE: Decimal(20)}
_YEARS: Final = {Guess.SMALL: -8, Guess.LARGE: 8}


# A text that is no TOML


def text_as_mended(text: str, model: type[BaseModel]) -> str | None:
    """Return a text of as many lines that is TOML: headings in their brackets, and for other lines only their key.

    None where that does not do.
    """
    for _ in range(_MOST_LINES):
        try:
            parse_bounded(text)
        except tomllib.TOMLDecodeError as fault:
            at = _AT.search(str(fault))
            if str(fault) in (TOO_DEEP, BEYOND):
                return None
            lines = text.split("\n")
            number = int(at[1]) - 1 if at else len(lines) - 1
            better = _headings_mended(lines, model)
            if better == lines and number < len(lines):
                better[number] = _line_mended(lines[number])
            if better == lines:
                return None
            text = "\n".join(better)
            continue
        return text
    return None


def _headings_mended(lines: list[str], model: type[BaseModel]) -> list[str]:
    """Return the lines with headings out of quotes and in the brackets that they need."""

    def mended(line: str) -> str:
        heading = _HEADING.fullmatch(line)
        if heading is None or not (heading["quote"] or repeats(model, heading["name"].strip())):
            return line
        pair = ("[[", "]]") if repeats(model, heading["name"].strip()) else ("[", "]")
        return f"{pair[0]}{heading['name'].strip()}{pair[1]}"

    return [mended(line) if line.lstrip()[:1] in "[\"'" and line.strip() else line for line in lines]


def _line_mended(line: str) -> str:
    """Return a line with its value in quotes where it is a word or more, else with one that cannot be used.

    >>> _line_mended("name = First Nectar"), _line_mended('net = "110 g'), _line_mended("Nectar")
    ('name = "First Nectar"', 'net = 00:00:00', '')
    """
    if bare := _BARE.fullmatch(line):
        return f'{bare["key"]} = "{bare["text"]}"'
    valued = _VALUED.match(line)
    return f"{valued['key']} = {_UNUSABLE}" if valued else ""


# A document that its model refuses


def as_mended(
    document: Document, model: type[BaseModel], guess: Guess, validate: Callable[[Document], tuple[Any, list[Fault]]]
) -> tuple[Any, list[Fault]]:
    """Return what `validate` makes of the document with stand-ins, None where they do not do; and its faults.

    The faults are those of the document as it is, less those of values that no TOML can have.
    """
    document, faults, tried = deepcopy(document), list[Fault](), dict[KeyPath, int]()
    for _ in range(_ROUNDS):
        read, wrong = validate(document)
        if not wrong:
            return read, faults
        for fault in wrong:
            held = any(fault.loc[: len(path)] == path or path[: len(fault.loc)] == fault.loc for path in tried)
            faults += [] if held or isinstance(_at(document, fault.loc), datetime.time) else [fault]
        for fault in sorted(wrong, key=lambda each: str(each.loc[-1] if each.loc else "").zfill(9), reverse=True):
            if not fault.loc:
                return read, faults
            tried[fault.loc] = tried.get(fault.loc, 0) + 1
            _mend(document, fault, model, (guess, tried[fault.loc]))
    return None, faults


def _at(document: object, loc: KeyPath) -> object:
    for part in loc:
        inside = isinstance(document, Mapping) and part in document
        if not inside and not (isinstance(document, list) and isinstance(part, int) and part < len(document)):
            return None
        document = document[part]  # type: ignore[index]
    return document


def _mend(document: Document, fault: Fault, model: type[BaseModel], guess: tuple[Guess, int]) -> None:
    """Put a stand-in where a fault is, another one at each try, at last nothing at all."""
    around, key = _at(document, fault.loc[:-1]), fault.loc[-1]
    if isinstance(around, dict) and isinstance(key, int):  # a table where a list belongs
        _mend(document, replace(fault, loc=fault.loc[:-1]), model, guess)
    elif fault.code == "unknown-key" and isinstance(around, dict):
        _rename(document, fault.loc, model)
    elif isinstance(around, dict):
        value = _meant(fault, *guess) or stand_in(model, fault.loc, *guess)
        around.pop(key, None)
        if value is not None:
            around[key] = value
    elif isinstance(around, list) and isinstance(key, int) and key < len(around):
        value = _meant(fault, *guess) or stand_in(model, fault.loc, *guess)
        around[key : key + 1] = [] if value is None else [value]


def _meant(fault: Fault, guess: Guess, attempt: int = 1) -> str:
    """Return the value that a fault's hint names, of two either, at the first attempt; "" where it names none."""
    meant = _MEANT.fullmatch(fault.hint) if attempt == 1 else None
    return ((meant[2] if guess is Guess.LARGE else "") or meant[1]) if meant else ""


def _rename(document: Document, loc: KeyPath, model: type[BaseModel]) -> None:
    """Give a key the name that is meant, at the top where it belongs there; take it out where none is."""
    around, key = _at(document, loc[:-1]), str(loc[-1])
    if not isinstance(around, dict):
        return
    value = around.pop(key, None)
    near, top = nearest(key, follow(model, loc).keys), meant_at_top(model, key, value)
    if near and near not in around:
        around[near] = value
    elif not near and len(loc) > 1 and top and top not in document:
        document[top] = value


def stand_in(model: type[BaseModel], loc: KeyPath, guess: Guess, attempt: int = 1) -> object:
    """Return a value for a key, small, large or usual; at the second try the example of its kind, after that None.

    An optional key may be left out as well, which is the smallest that it can say, and what is usual.
    """
    field = follow(model, loc).field
    if field is None or attempt > 2:
        return None
    if guess is not Guess.LARGE and attempt == 1 and not field.is_required() and not isinstance(loc[-1], int):
        return None
    if (choices := choices_of(field.annotation)) and attempt == 1:
        return choices[-1 if guess is Guess.LARGE else 0]
    try:
        value = tomllib.loads(f"x = {example_of(field)}", parse_float=Decimal)["x"]
    except tomllib.TOMLDecodeError:
        value = {}  # a table, whose keys come in with the next round
    if isinstance(loc[-1], int) and isinstance(value, list):
        value = value[0]
    return _scaled(value, guess) if attempt == 1 and guess is not Guess.USUAL else value


def _scaled(value: object, guess: Guess) -> object:
    """Return an example made small or large: its numbers, its day, else its letters."""
    made = value
    if isinstance(value, bool):
        made = guess is Guess.LARGE
    elif isinstance(value, datetime.date):
        made = value.replace(year=value.year + _YEARS[guess])
    elif isinstance(value, int | Decimal):
        made = type(value)(_number(str(value), guess))
    elif isinstance(value, list):
        made = [_scaled(each, guess) for each in value]
    elif isinstance(value, dict):
        made = {key: _scaled(each, guess) for key, each in value.items()}
    elif isinstance(value, str) and (day := _DAY.fullmatch(value)):
        made = f"{int(day[1]) + _YEARS[guess]}-{day[2]}-{day[3]}"
    elif isinstance(value, str) and _NUMBER.search(value):
        made = _NUMBER.sub(lambda number: _number(number[0], guess), value)
    elif isinstance(value, str) and guess is Guess.LARGE:
        made = value[::-1]
    return made


def _number(text: str, guess: Guess) -> str:
    """Return a number made small or large, with as many decimals and never nothing.

    >>> _number("24.50", Guess.SMALL), _number("86", Guess.SMALL), _number("86", Guess.LARGE)
    ('0.24', '1', '1720')
    """
    decimals = len(text.partition(".")[2])
    least = Decimal(1).scaleb(-decimals)
    return f"{max(round(Decimal(text) * _SHARE[guess], decimals), least):.{decimals}f}"


# A row of a table


def row_as_mended(
    given: Mapping[str, object],
    model: type[BaseModel],
    guess: Guess,
    faulty: Mapping[str, Fault | None],
    usual: Mapping[str, str],
) -> dict[str, object]:
    """Return what the cells of a row give, with stand-ins for the fields that are `faulty`.

    `usual` is what other rows say of a field; it does for what is looked at first.
    """
    cells = {name: value for name, value in given.items() if name not in faulty}
    for name, fault in sorted(faulty.items()):
        field = field_of(model, name)
        meant = (_meant(fault, guess) or usual.get(name, "")) if fault else ""
        value = meant or (stand_in(model, (name,), guess) if field else None)
        if value is not None:
            cells[name] = str(value) if isinstance(value, int | Decimal) and not isinstance(value, bool) else value
    return cells


def usual_text(texts: Iterable[str]) -> str:
    """Return the middle one of texts with numbers, by their product, else the most frequent one.

    >>> usual_text(["70 x 70 x 60 mm", "50 x 50 x 46 mm", "80 x 0 x 25 mm"]), usual_text(["no", "yes", "yes"])
    ('50 x 50 x 46 mm', 'yes')
    """
    stated = Counter(filter(None, texts))
    sizes = sorted(
        (prod(map(Decimal, numbers), start=Decimal(1)), text)
        for text in stated.elements()
        if len(text) <= _LONGEST and (numbers := _NUMBER.findall(text))
    )
    if 2 * len(sizes) > stated.total():
        return sizes[len(sizes) // 2][1]
    return stated.most_common(1)[0][0] if stated else ""


# A set whose names name nothing


def set_as_mended(
    settled: GiftSet,
    stated: GiftSet,
    guess: Guess,
    there: tuple[frozenset[str], frozenset[str], frozenset[str] | None],
) -> GiftSet | None:
    """Return a set as though it could be computed; None where nothing is left of it.

    It has each slot and each option once, one option a slot or one slot alone where they make too many variants, and a
    season where it names one that is not there. With what is usual a box that is not there is the smallest that fits.

    Args:
        settled: the set less the names in it that name nothing.
        stated: the set as it is written.
        guess: which stand-ins.
        there: the items that there are, the boxes, the seasons.
    """
    items, boxes, seasons = there
    contents = _contents(settled, items, guess)
    if guess is Guess.USUAL and not frozenset(stated.item_codes) <= items:
        return None
    if not contents:
        return None
    chosen = {entry.slot: {option.item for option in entry.choose} for entry in contents if isinstance(entry, Slot)}
    codes = {code for entry in contents for code in (chosen[entry.slot] if isinstance(entry, Slot) else {entry.item})}
    season = min(seasons or {""}) if stated.season and not settled.season and guess is Guess.LARGE else settled.season
    boxless = guess is Guess.USUAL and boxes and settled.box not in {*boxes, SMALLEST_EACH, NO_BOX}
    update = {
        "contents": tuple(contents),
        "box": SMALLEST if boxless else settled.box,
        "season": season,
        "variants": tuple(
            note
            for note in settled.variants
            if all(code in chosen.get(slot, ()) for slot, code in note.options.items())
        ),
        "not_together": tuple(group for group in settled.not_together if codes >= set(group)),
    }
    return settled.model_copy(update=update)


def _contents(settled: GiftSet, items: frozenset[str], guess: Guess) -> list[Fixed | Slot]:
    """Return what is in a set of the items that there are, each slot and each option once, and few enough variants."""
    contents: list[Fixed | Slot] = []
    for entry in settled.contents:
        if isinstance(entry, Fixed):
            contents += [entry] if entry.item in items else []
            continue
        options = {option.item: option for option in reversed(entry.choose) if option.item in items}
        parts = {option.code_part: option for option in options.values()}
        kept = {id(option) for option in parts.values()}
        choose = tuple(option for option in entry.choose if id(option) in kept)
        if choose and entry.slot not in {each.slot for each in contents if isinstance(each, Slot)}:
            default = entry.default if entry.default in options else ""
            contents.append(entry.model_copy(update={"choose": choose, "default": default}))
    slots = [entry for entry in contents if isinstance(entry, Slot)]
    if prod(len(entry.choose) for entry in slots) > _MOST_AS_MENDED:
        few = [entry.model_copy(update={"choose": entry.choose[:1], "default": ""}) for entry in slots]
        # What is left of it is no figure to go by, so that nothing is usual.
        contents = [*{Guess.SMALL: few, Guess.LARGE: slots[:1], Guess.USUAL: []}[guess]]
    return contents
