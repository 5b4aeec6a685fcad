"""Reads one TOML file into its model; every fault comes back as a Problem with its line.

`read_toml` does all of it. Its steps are functions of their own for files that are also read in part: `parse_toml`
gives the bare document, `validated` the model, `without` a document whose broken parts are left out.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final, TypeVar, cast

from pydantic import BaseModel, ValidationError

from listkit.bounded_toml import BEYOND, TOO_DEEP, parse_bounded
from listkit.model.fields import days_meant
from listkit.model.shop import Guess
from listkit.problem import KeyPath, Place, Problem, one_line, quoted
from listkit.read.as_mended import as_mended, text_as_mended
from listkit.read.faults import faults_of, repeats, unknown_key
from listkit.read.position import locate
from listkit.read.source import Fault, Source, steering_fault
from listkit.units.money import NO_CURRENCY

M = TypeVar("M", bound=BaseModel)
Document = dict[str, Any]
NOTHING: Final[Mapping[str, object]] = {}
_PLAIN_NUMBER: Final = re.compile(r"[+-]?[0-9_]+\.[0-9_]+")
_AT: Final = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def read_toml(
    source: Source,
    model: type[M],
    *,
    given: Mapping[str, object] = NOTHING,
    currency: str = NO_CURRENCY,
    guess: Guess | None = None,
) -> tuple[M | None, list[Problem]]:
    """Return the model, or None and all its problems; bad input never raises.

    Args:
        source: the file's text and its place in the shop folder.
        model: what the file may say.
        given: values that are not the owner's to write, such as a channel's key.
        currency: of all money in the file.
        guess: which stand-ins are put in the place of what is wrong.
    """
    read, problems = _model_in(source, model, tuple(given.items()), currency, guess)
    return cast("M | None", read), list(problems)


@lru_cache(maxsize=64)  # a text says the same each time; a desk reads all channels anew after each change
def _model_in(
    source: Source,
    model: type[BaseModel],
    given: tuple[tuple[str, object], ...],
    currency: str,
    guess: Guess | None,
) -> tuple[BaseModel | None, tuple[Problem, ...]]:
    document, problems = parse_toml(source, model, guess)
    if document is None:
        return None, tuple(problems)
    read, faults = validated(document, model, given=dict(given), currency=currency, guess=guess)
    return read, tuple(problem_of(source, fault) for fault in faults)


def parse_toml(
    source: Source, model: type[BaseModel], guess: Guess | None = None
) -> tuple[Document | None, list[Problem]]:
    """Return the bare document; 24.10 stays Decimal("24.10").

    `model` is what the file may say; of a text that is no TOML it tells which tables may repeat.
    """
    text = source.text if guess is None else text_as_mended(source.text, model) or source.text
    try:
        return parse_bounded(text, _decimal_or_text), []
    except tomllib.TOMLDecodeError as fault:
        if str(fault) in (TOO_DEEP, BEYOND):
            return None, [Problem(Place(source.file), "syntax", str(fault))]
        return None, [_headings(source, model) or _syntax(source, str(fault))]


class _Unplain(str):
    """A number in powers of ten, nan or inf, as it stands in the file without quotes."""

    __slots__ = ()


def _decimal_or_text(text: str) -> Any:  # noqa: ANN401 - a number, or the text of what is none
    """What is no plain number stays text, so that a field for a number refuses it in its own words.

    A field for a text would take it; `validated` refuses it there.
    """
    return Decimal(text.replace("_", "")) if _PLAIN_NUMBER.fullmatch(text) else _Unplain(text)


def validated(
    document: Document,
    model: type[M],
    *,
    given: Mapping[str, object] = NOTHING,
    currency: str = NO_CURRENCY,
    guess: Guess | None = None,
) -> tuple[M | None, list[Fault]]:
    """Return the model of a bare document, or None and what is wrong with it; with `guess` both."""
    if guess is not None:
        return as_mended(
            document, model, guess, lambda mended: validated(mended, model, given=given, currency=currency)
        )
    taken = [unknown_key(model, (key,)) for key in given if key in document] + list(_steering(document))
    read, faults = None, list[Fault]()
    try:
        read = model.model_validate({**document, **given}, context={"currency": currency})
    except ValidationError as error:
        told = {fault.loc for fault in taken}
        faults = [fault for fault in faults_of(model, error) if fault.loc not in told]
    told = {fault.loc for fault in faults}
    faults += [fault for fault in _as_text(document) if not any(fault.loc[: len(loc)] == loc for loc in told)]
    return (None if taken or faults else read), taken + faults


def _as_text(value: object, loc: KeyPath = ()) -> Iterator[Fault]:
    """Yield the faults of numbers that are no plain ones; where no field has refused them they would be texts."""
    if isinstance(value, _Unplain):
        name = next((str(key) for key in reversed(loc) if isinstance(key, str)), "")
        yield Fault(loc, "bad-value", f"{value} is not a text.", "Write it in quotes if buyers are to read it.", name)
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _as_text(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _as_text(inner, (*loc, number))


def _steering(value: object, loc: KeyPath = ()) -> Iterator[Fault]:
    """Yield the faults of texts and keys that hold control signs."""
    if isinstance(value, str) and (fault := steering_fault(loc, value)):
        yield replace(fault, name=next((str(key) for key in reversed(loc) if isinstance(key, str)), ""))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            fault = steering_fault((*loc, key), key)
            yield from (fault,) if fault else _steering(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _steering(inner, (*loc, number))


def problem_of(source: Source, fault: Fault) -> Problem:
    """Return the problem at the line where its key stands, or the table that should hold it."""
    line, _ = locate(source.text, fault.loc)
    name = f"{fault.name}: " if fault.code == "bad-value" and fault.name else ""
    return Problem(Place(source.file, line=line, key=fault.loc), fault.code, name + fault.message, fault.hint)


def in_source(source: Source, problem: Problem) -> Problem:
    """Return a problem that names a key of this file with the line where it stands."""
    if problem.place.file != source.file or not problem.place.key:
        return problem
    line, _ = locate(source.text, problem.place.key)
    return replace(problem, place=replace(problem.place, line=line))


def without(document: Document, faults: Iterable[Fault]) -> Document:
    """Return the document less what is wrong in it: the key, or the whole element of an outer list.

    A table that misses a key goes as a whole; a key missing at the top stays missing.
    """

    def broken_part(fault: Fault) -> KeyPath:
        for number, part in enumerate(fault.loc):
            if isinstance(part, int):
                return fault.loc[: number + 1]
        return fault.loc[:-1] if fault.code == "missing-key" and len(fault.loc) > 1 else fault.loc

    return cast("Document", _kept(document, (), {broken_part(fault) for fault in faults}))


def _kept(value: object, path: KeyPath, broken: set[KeyPath]) -> object:
    if isinstance(value, dict):
        return {key: _kept(part, (*path, key), broken) for key, part in value.items() if (*path, key) not in broken}
    if isinstance(value, list):
        return [_kept(part, (*path, at), broken) for at, part in enumerate(value) if (*path, at) not in broken]
    return value


_HEADING: Final = re.compile(r"(\[{1,2})([^\[\]\"'#]+)\]{1,2}\s*(?:#.*)?")  # of a stripped line
_QUOTED_HEADING: Final = re.compile(r"\s*([\"'])(\[{1,2}[^\[\]\"'#]+\]{1,2})\1\s*(?:#.*)?")
# What texts and remarks take up; none that is not closed is walked twice.
_TAKEN: Final = re.compile(
    r'"""(?:[^\\]|\\(?:.|\Z))*?(?:"""|\Z)|' r"'''.*?(?:'''|\Z)|" r'"(?:[^"\\\n]|\\[^\n])*"?|' r"'[^'\n]*'?|#[^\n]*",
    re.DOTALL,
)


def _headings(source: Source, model: type[BaseModel]) -> Problem | None:
    """Return the problem of a heading that cannot stand as it does, the first one; None where none is the cause.

    That is one in quotes, one in single brackets where the table may repeat, and one of what a line above gives a
    value with an equals sign. Lines within a text of many lines are no headings.
    """

    def begun(taken: re.Match[str]) -> str:
        return taken[0].partition("\n")[0] + "\n" * taken[0].count("\n")

    single: dict[str, int] = {}
    valued: dict[str, tuple[int, str]] = {}
    names: set[str] = set()
    top = True
    for number, line in enumerate(_TAKEN.sub(begun, source.text).split("\n"), 1):
        if quoted_one := _QUOTED_HEADING.fullmatch(line):
            message, hint = f"{quoted(line.strip())} is a heading in quotes.", f"Write {quoted_one[2]} without them."
            return Problem(Place(source.file, line=number), "syntax", one_line(message), one_line(hint))
        if heading := _HEADING.fullmatch(line.strip()):
            top, name = False, heading[2].strip()
            if name in valued:
                at, text = valued[name]
                message = f"{quoted(text)} and {quoted(line.strip())} on line {number} cannot both be there."
                hint = "Keep one: take this line out, or the headings."
                return Problem(Place(source.file, line=at), "syntax", one_line(message), hint)
            if heading[1] == "[" and repeats(model, name):
                single.setdefault(name, number)
            if name in single and name in names:
                message = f"{quoted(f'[{name}]')} has one pair of brackets, and may stand several times."
                hint = f"Write [[{name}]] in two pairs, each time."
                return Problem(Place(source.file, line=single[name]), "syntax", one_line(message), one_line(hint))
            names.add(name)
        elif top and "=" in line:
            valued.setdefault(line.partition("=")[0].strip(), (number, line.strip()))
    return None


def _syntax(source: Source, phrase: str) -> Problem:
    """Return the problem for one of the parser's phrases, in an owner's words, with its line."""
    match = _AT.search(phrase)
    lines = source.text.replace("\r\n", "\n").split("\n")
    number = int(match[1]) if match and match[1] else len(source.text.rstrip().split("\n"))
    line = lines[min(number, len(lines)) - 1]
    rest = line[int(match[2]) - 1 :] if match and match[2] else ""
    message, hint = _plain_words(_AT.sub("", phrase), line.strip(), rest.partition("#")[0].strip())
    return Problem(Place(source.file, line=number), "syntax", one_line(message), one_line(hint))


def _plain_words(phrase: str, line: str, rest: str) -> tuple[str, str]:
    key = line.partition("=")[0].strip() or "name"
    if re.search("[“”„«»‘’]", line):
        return f"{quoted(line)} has curly quotes.", 'Use straight ones, as in name = "First Nectar".'
    if comma := re.fullmatch(r"[^=]+=\s*(\d+),(\d+)\s*(#.*)?", line):
        return f'"{comma[1]},{comma[2]}" has a comma.', f'Write {key} = "{comma[1]}.{comma[2]}" with a point.'
    value = line.partition("=")[2].partition("#")[0].strip()
    if days := days_meant(value):
        return f"{quoted(value)} is not written year, month, day.", f"Write {key} = {' or '.join(map(str, days))}."
    if phrase == "Invalid value" and not rest:
        return f"there is no value in {quoted(line)}.", f'Write one behind the equals sign, as in {key} = "...".'
    for pattern, message, hint in _TRANSLATED:
        if pattern in phrase:
            return message.format(line=quoted(line), value=quoted(rest)), hint.format(key=key, value=rest)
    return f"{quoted(line)} does not follow the rules of TOML.", 'Write lines as in name = "First Nectar".'


# What the parser of the standard library says, and our message and hint instead.
_TRANSLATED: Final = (
    ("Invalid value", "the value {value} is neither a number nor in quotes.", 'Write {key} = "{value}".'),
    ("Invalid date", "{value} is not a day of the calendar.", "Write it as in 2027-02-28."),
    ("Cannot overwrite a value", "the key in {line} stands twice.", "Keep one of the two."),
    ("Duplicate inline table key", "a key stands twice in {line}.", "Keep one of the two."),
    ("Cannot declare", "the table {line} stands twice.", "Keep one; tables that may repeat have [[two brackets]]."),
    ("Cannot mutate", "{line} adds to what was complete.", "Write all its keys in one place."),
    ("Unclosed array", "a list is not closed, or a comma is missing before {value}.", 'Write it as in ["a", "b"].'),
    ("Unclosed inline table", "a brace is not closed in {line}.", 'Write it as in {{ weight = "10 g" }}.'),
    ("Unterminated string", "a quotation mark is not closed before the end.", "Close the quotes."),
    ("Illegal character", "a quotation mark is not closed in {line}.", "Close the quotes."),
    ("Unescaped", "there is a backslash in {line}.", "Write it twice, or use a forward slash."),
    ("hex value", "there is a backslash in {line}.", "Write it twice, or use a forward slash."),
    ("Escaped character", "there is a backslash in {line}.", "Write it twice, or use a forward slash."),
    ("Expected newline or end", "something stands behind the value in {line}.", "Put it in quotes, one key a line."),
    ("Expected '='", "there is no equals sign behind the key in {line}.", 'Write it as in name = "First Nectar".'),
    ("Expected '", "a bracket is missing in {line}.", "Write [table] or [[table]] on a line of its own."),
    ("Invalid initial character", "{line} does not begin with a key.", 'Write it as in name = "First Nectar".'),
    ("Invalid statement", "{line} does not begin with a key.", 'Write it as in name = "First Nectar".'),
)
