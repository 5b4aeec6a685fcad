"""Puts other codes into the owner's TOML, every other byte and every comment as it was.

Where a code stands is known from what a file says, not from how it looks: the same letters in a text or a comment stay.
What comes of it is read again; unless it says exactly what is wanted, nothing is changed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from listkit.edit.files import quoted
from listkit.edit.toml_text import line_end, line_put_in, parsed, says
from listkit.problem import FieldError, KeyPath
from listkit.read.position import Layout, layout

_CODE: Final = ("code",)
_OLD_CODES: Final = ("old_codes",)
_Begun = frozenset[tuple[KeyPath, str]]
"""Every beginning of the wanted paths, with the code at the end of each."""
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
    document, spots = parsed(text), layout(text)
    wanted = {path: code for path, code in paths.items() if code in now}
    changed = sorted(set(_places(text, spots, wanted)))
    parts, at = [], 0
    for start, code in changed:
        parts += [text[at:start], now[code]]
        at = start + len(code)
    result = "".join([*parts, text[at:]])
    begun = frozenset((path[:length], code) for path, code in wanted.items() for length in range(len(path) + 1))
    lines = _lines(text, [start for start, _ in changed])
    if not says(result, _replaced(document, wanted, begun, now)):
        told = ", ".join(map(str, lines[:5])) or "?"
        raise FieldError(f"the code in line {told} cannot be changed alone.", _BY_HAND)
    return result, tuple(CodeLine(line, code, now[code]) for line, (_, code) in zip(lines, changed, strict=True))


def with_old_code(text: str, old: str, new: str) -> str:
    """Return set.toml with one more old code, below its code; `new` is none any more.

    Raises:
        FieldError: the place cannot be found.

    >>> print(with_old_code('code = "OHS-01"', "OHS-1", "OHS-01"))
    code = "OHS-01"
    old_codes = ["OHS-1"]
    """
    document, spots = parsed(text), layout(text)
    codes = document.get("old_codes", [])
    if new in codes:  # renamed back: the two change places
        return with_codes(text, {(*_OLD_CODES, codes.index(new)): new}, {new: old})[0]
    result = text
    if _OLD_CODES in spots.values:
        at = spots.values[_OLD_CODES][0] + 1
        result = f"{text[:at]}{quoted(old)}, {text[at:]}"
    elif _CODE in spots.values:
        result = line_put_in(text, line_end(text, spots.values[_CODE][1]), f"old_codes = [{quoted(old)}]")
    if not says(result, {**document, "old_codes": [old, *codes]}):
        listed = ", ".join(f'"{code}"' for code in (old, *codes))
        raise FieldError("it cannot be given an old code.", f"Write old_codes = [{listed}] below its code by hand.")
    return result


def _lines(text: str, starts: Sequence[int]) -> list[int]:
    """Return the lines of ascending offsets, each counted on from the one before."""
    lines, line, before = [], 1, 0
    for start in starts:
        line += text.count("\n", before, start)
        before = start
        lines.append(line)
    return lines


def _places(text: str, spots: Layout, wanted: Mapping[KeyPath, str]) -> Iterator[tuple[int, str]]:
    """Yield where the wanted codes are written: in every key of their path, else in the value at or around it."""
    keys_at: dict[KeyPath, list[tuple[int, int]]] = {}
    for key, begin, end in spots.keys:
        keys_at.setdefault(key, []).append((begin, end))
    for path, code in wanted.items():
        around = (path[:length] for length in range(len(path), 0, -1))  # a bare text may be a whole entry
        value = next((spots.values[each] for each in around if each in spots.values), (0, 0))
        for begin, end in keys_at.get(path, ()) if path[-1] == code else (value,):
            if (at := text.find(code, begin, end)) >= 0:
                yield at, code


def _replaced(
    value: Any,  # noqa: ANN401 - any TOML
    wanted: Mapping[KeyPath, str],
    begun: _Begun,
    now: Mapping[str, str],
    path: KeyPath = (),
) -> Any:  # noqa: ANN401
    """Return a document with the codes at the wanted paths replaced."""
    if isinstance(value, dict):
        return {
            now[key] if _is_key((*path, key), wanted) else key: _replaced(part, wanted, begun, now, (*path, key))
            for key, part in value.items()
        }
    if isinstance(value, list):
        return [_replaced(part, wanted, begun, now, (*path, at)) for at, part in enumerate(value)]
    plain = isinstance(value, (str, int)) and not isinstance(value, bool)
    return now[str(value)] if plain and (path, str(value)) in begun else value


def _is_key(path: KeyPath, wanted: Mapping[KeyPath, str]) -> bool:
    return wanted.get(path) == path[-1]
