"""Puts other codes into the owner's TOML, every other byte and every comment as it was.

Where a code stands is known from what a file says, not from how it looks: the same letters in a text or a comment stay.
What comes of it is read again; unless it says exactly what is wanted, nothing is changed.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from listkit.problem import FieldError, KeyPath

_STAND_IN: Final = "listkit-{}-stands-here"
_BESIDE: Final = "[A-Za-z0-9_/-]"  # what makes a longer code of it; a point may stand before a part of a key
_OLD_CODES: Final = re.compile(r"^[ \t]*old_codes[ \t]*=[ \t]*\[", re.MULTILINE)
_CODE: Final = re.compile(r"^[ \t]*code[ \t]*=[^\r\n]*", re.MULTILINE)
_BY_HAND: Final = "Change it by hand."


@dataclass(frozen=True, slots=True)
class CodeLine:
    """A line of a file in which a code becomes another; `line` counts from 1."""

    line: int
    old: str
    new: str


def with_codes(text: str, paths: Mapping[KeyPath, str], now: Mapping[str, str]) -> tuple[str, tuple[CodeLine, ...]]:
    """Return a TOML text with other codes, and the lines that changed.

    Args:
        text: as the owner wrote it.
        paths: where it names codes; a key that is one has the path of its value.
        now: the new code by each old one; codes at other paths stay.

    Raises:
        FieldError: a code stands so that it cannot be changed alone.

    >>> with_codes('item = "B1" # not "B1"', {("item",): "B1"}, {"B1": "B01"})[0]
    'item = "B01" # not "B1"'
    """
    document = tomllib.loads(text)
    wanted = {path: code for path, code in paths.items() if code in now}
    changed = sorted(_spots(text, document, wanted, now))
    parts, at = [], 0
    for start, code in changed:
        parts += [text[at:start], now[code]]
        at = start + len(code)
    result = "".join([*parts, text[at:]])
    if tomllib.loads(result) != _replaced(document, wanted, now):
        lines = ", ".join(str(_line(text, start)) for start, _ in changed[:5]) or "?"
        raise FieldError(f"the code in line {lines} cannot be changed alone.", _BY_HAND)
    return result, tuple(CodeLine(_line(text, start), code, now[code]) for start, code in changed)


def with_old_code(text: str, old: str, new: str) -> str:
    """Return set.toml with one more old code, below its code; `new` is none any more.

    Raises:
        FieldError: the place cannot be found.

    >>> print(with_old_code('code = "OHS-01"', "OHS-1", "OHS-01"))
    code = "OHS-01"
    old_codes = ["OHS-1"]
    """
    document = tomllib.loads(text)
    codes = document.get("old_codes", [])
    if new in codes:  # renamed back: the two change places
        return with_codes(text, {("old_codes", codes.index(new)): new}, {new: old})[0]
    if codes:
        result = _OLD_CODES.sub(lambda match: f'{match[0]}"{old}", ', text, count=1)
    else:
        end = "\r\n" if "\r\n" in text else "\n"
        result = _CODE.sub(lambda match: f'{match[0]}{end}old_codes = ["{old}"]', text, count=1)
    try:
        right = tomllib.loads(result) == {**document, "old_codes": [old, *codes]}
    except tomllib.TOMLDecodeError:
        right = False
    if not right:
        listed = ", ".join(f'"{code}"' for code in (old, *codes))
        raise FieldError("it cannot be given an old code.", f"Write old_codes = [{listed}] below its code by hand.")
    return result


def _line(text: str, start: int) -> int:
    return text.count("\n", 0, start) + 1


def _spots(
    text: str, document: Mapping[str, Any], wanted: Mapping[KeyPath, str], now: Mapping[str, str]
) -> Iterator[tuple[int, str]]:
    """Yield where in the text a wanted code stands: each spot is tried with a word that stands nowhere else."""
    for code in {code for code in wanted.values() if code in now}:
        paths = [path for path, named in wanted.items() if named == code]
        in_keys = []
        pattern = rf"(?<!{_BESIDE}){re.escape(code)}(?!{_BESIDE})"
        for number, match in enumerate(re.finditer(pattern, text)):
            word = _STAND_IN.format(number)
            try:
                tried = tomllib.loads(text[: match.start()] + word + text[match.end() :])
            except tomllib.TOMLDecodeError:  # half a table: its other headers go with it
                in_keys.append(match.start())
                continue
            moved = list(_differences(document, tried))
            if len(moved) == 1 and moved[0] is not None and any(path[: len(moved[0])] == moved[0] for path in paths):
                yield match.start(), code
            elif None in moved:
                in_keys.append(match.start())
        yield from ((start, code) for start in in_keys if any(path[-1] == code for path in paths))


def _differences(old: Any, new: Any) -> Iterator[KeyPath | None]:  # noqa: ANN401 - any TOML
    """Yield the paths of values that differ, None where keys do."""
    if isinstance(old, dict) and isinstance(new, dict):
        if old.keys() != new.keys():
            yield None
            return
        for key in old:
            yield from (None if path is None else (key, *path) for path in _differences(old[key], new[key]))
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for at, pair in enumerate(zip(old, new, strict=True)):
            yield from (None if path is None else (at, *path) for path in _differences(*pair))
    elif old != new:
        yield ()


def _replaced(value: Any, wanted: Mapping[KeyPath, str], now: Mapping[str, str], path: KeyPath = ()) -> Any:  # noqa: ANN401 - any TOML
    """Return a document with the codes at the wanted paths replaced."""
    if isinstance(value, dict):
        return {
            now[key] if _is_key((*path, key), wanted) else key: _replaced(part, wanted, now, (*path, key))
            for key, part in value.items()
        }
    if isinstance(value, list):
        return [_replaced(part, wanted, now, (*path, at)) for at, part in enumerate(value)]
    plain = isinstance(value, (str, int)) and not isinstance(value, bool)
    named = plain and any(code == str(value) and at[: len(path)] == path for at, code in wanted.items())
    return now[str(value)] if named else value


def _is_key(path: KeyPath, wanted: Mapping[KeyPath, str]) -> bool:
    return wanted.get(path) == path[-1]
