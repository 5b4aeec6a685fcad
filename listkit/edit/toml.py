"""Changes a key, a table or an entry of a list in the owner's TOML and leaves every other byte as it is.

Comments, order, spacing, line ends and a byte order mark stay. A value that is a list or table is held against what
is there, and only what differs in it is written. What comes of a change is read again: unless it says exactly what is
meant, nothing is changed. A comment behind a key goes with the key; one on a line of its own stays.
"""

import codecs
import datetime
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.edit.files import quoted
from listkit.problem import FieldError, KeyPath
from listkit.read.position import Layout, layout

TomlValue = str | bool | int | Decimal | datetime.date | Sequence["TomlValue"] | Mapping[str, "TomlValue"]
"""What a key may be given. Line ends within a text become those of the file."""

_MISSING: Final = object()
_BY_HAND: Final = "Change it in a text editor."
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_NUMBER: Final = re.compile(r"[+-]?[0-9_]+\.[0-9_]+")
_COMMENTS: Final = re.compile(r"(?:[ \t]*#[^\n]*(?:\n|\Z))*")
_REST: Final = re.compile(r"[ \t]*(,?)[ \t]*(#[^\r\n]*)?\r?(?:\n|\Z)")
_QUOTES: Final = re.compile(r'"{3,}|"\Z')


def with_value(content: bytes, path: KeyPath, value: TomlValue) -> bytes:
    r"""Return the file with this value at a path; keys and tables that are not there are added.

    Raises:
        FieldError: the file is no TOML, there is no such place, or it is written so that it cannot be changed alone.

    >>> with_value(b'name = "Spring" # short\ncard = true\n', ("name",), "Summer")
    b'name = "Summer" # short\ncard = true\n'
    """
    meant = _plain(value)
    return _changed(content, lambda text: _put(text, path, meant), lambda document: _set(document, path, meant), path)


def without(content: bytes, path: KeyPath) -> bytes:
    r"""Return the file without a key, a table or an entry of a list; raises as `with_value` does.

    >>> without(b'a = ["x", "y"]\nb = 1\n', ("a", 0))
    b'a = ["y"]\nb = 1\n'
    """
    return _changed(content, lambda text: _take(text, path), lambda document: _remove(document, path), path)


def with_entry(content: bytes, path: KeyPath, at: int, value: TomlValue) -> bytes:
    r"""Return the file with one more entry in the list at a path, before the entry `at`; raises as `with_value` does.

    >>> print(with_entry(b'[[item]]\ncode = "A"\n', ("item",), 1, {"code": "B"}).decode())
    [[item]]
    code = "A"
    <BLANKLINE>
    [[item]]
    code = "B"
    <BLANKLINE>
    """
    meant = _plain(value)
    return _changed(
        content, lambda text: _insert(text, path, at, meant), lambda document: _put_in(document, path, at, meant), path
    )


def with_entry_moved(content: bytes, path: KeyPath, at: int, to: int) -> bytes:
    r"""Return the file with the entry `at` of a list in the place `to`; raises as `with_value` does.

    >>> with_entry_moved(b'a = ["x", "y", "z"]', ("a",), 0, 2)
    b'a = ["y", "z", "x"]'
    """

    def moved(document: Any) -> None:  # noqa: ANN401 - any TOML
        entries = _at(document, path)
        if not isinstance(entries, list) or not (0 <= at < len(entries) and 0 <= to < len(entries)):
            raise _no_place(path)
        entries.insert(to, entries.pop(at))

    return _changed(content, lambda text: _move(text, path, at, to), moved, path)


def value_at(content: bytes, path: KeyPath) -> TomlValue | None:
    """Return what a file says at a path, None where it says nothing; raises as `with_value` does where it is no TOML.

    >>> value_at(b'a = { b = 1.50 }', ("a", "b"))
    Decimal('1.50')
    """
    value = _at(_parsed(_decoded(content)[1]), path)
    return None if value is _MISSING else value  # type: ignore[return-value]


# Around every change: decoding, and reading what came of it.


def _changed(
    content: bytes, change: Callable[[str], str], meant: Callable[[dict[str, Any]], None], path: KeyPath
) -> bytes:
    mark, text = _decoded(content)
    document = _parsed(text)
    meant(document)
    result = change(text)
    try:
        read = _parsed(result)
    except FieldError:
        raise _not_alone(path) from None
    if not any(_exact(read) == _exact(each) for each in _less_empty(document, path)):
        raise _not_alone(path)
    return mark + result.encode()


def _decoded(content: bytes) -> tuple[bytes, str]:
    mark = codecs.BOM_UTF8 if content.startswith(codecs.BOM_UTF8) else b""
    try:
        return mark, content[len(mark) :].decode()
    except UnicodeDecodeError:
        raise FieldError("a letter is not in UTF-8.", "Save the file again as UTF-8.") from None


def _parsed(text: str) -> dict[str, Any]:
    try:
        return parse_bounded(text, lambda number: Decimal(number) if _NUMBER.fullmatch(number) else number)
    except tomllib.TOMLDecodeError:
        raise FieldError("the file does not follow the rules of TOML.", "listkit check says in which line.") from None


def _less_empty(document: dict[str, Any], path: KeyPath) -> Iterable[dict[str, Any]]:
    """Yield a document, then without the lists and tables around a path that are empty: headers cannot say those."""
    yield document
    for length in range(len(path), 0, -1):
        if _at(document, path[:length]) in ([], {}):
            _remove(document, path[:length])
            yield document


def _exact(value: object) -> object:
    """Return a value as it is compared: 1, 1.0 and true are three."""
    if isinstance(value, dict):
        return {key: _exact(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_exact(part) for part in value]
    return type(value).__name__, str(value)


def _no_place(path: KeyPath) -> FieldError:
    return FieldError(f"there is no place {_shown(path)} in the file.", "Load the page again.")


def _not_alone(path: KeyPath) -> FieldError:
    return FieldError(f"{_shown(path)} is written so that it cannot be changed alone.", _BY_HAND)


def _shown(path: KeyPath) -> str:
    return f'"{".".join(map(str, path))}"'


# Values.


def _plain(value: TomlValue) -> Any:  # noqa: ANN401 - any TOML
    """Return a value as it reads once it is written."""
    return _parsed(f"x = {_inline(value)}")["x"]


def _inline(value: TomlValue) -> str:
    """Return a value as TOML writes it behind an equals sign."""
    if isinstance(value, str):
        return _text(str(value))
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{_key(key)} = {_inline(part)}" for key, part in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, Sequence):
        return f"[{', '.join(map(_inline, value))}]"
    return str(value)


def _text(text: str) -> str:
    """Return a text in quotes, in three on lines of its own where it has several."""
    text = text.replace("\r\n", "\n")
    if "\n" not in text:
        return quoted(text)
    lines = [quoted(line)[1:-1].replace('\\"', '"') for line in text.split("\n")]
    inner = _QUOTES.sub(lambda match: '\\"' * len(match[0]), "\n".join(lines))
    return f'"""\n{inner}"""'


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else quoted(key)


def _name(path: KeyPath) -> str:
    """Return a table's name as its header has it, without the numbers of entries."""
    return ".".join(_key(part) for part in path if isinstance(part, str))


# The document meant.


def _at(document: object, path: KeyPath) -> object:
    for part in path:
        if isinstance(part, str) and isinstance(document, dict) and part in document:
            document = document[part]
        elif isinstance(part, int) and isinstance(document, list) and 0 <= part < len(document):
            document = document[part]
        else:
            return _MISSING
    return document


def _set(document: Any, path: KeyPath, value: object) -> None:  # noqa: ANN401 - any TOML
    """Put a value at a path; tables on the way are made."""
    if not path:
        raise _no_place(path)
    *way, last = path
    for number, part in enumerate(way):
        if isinstance(document, dict) and isinstance(part, str) and isinstance(path[number + 1], str):
            document = document.setdefault(part, {})
        else:
            document = _at(document, (part,))
    if isinstance(document, dict) and isinstance(last, str):
        document[last] = value
    elif isinstance(document, list) and isinstance(last, int) and 0 <= last < len(document):
        document[last] = value
    else:
        raise _no_place(path)


def _remove(document: Any, path: KeyPath) -> None:  # noqa: ANN401 - any TOML
    if not path or _at(document, path) is _MISSING:
        raise _no_place(path)
    around: Any = _at(document, path[:-1])
    del around[path[-1]]


def _put_in(document: Any, path: KeyPath, at: int, value: object) -> None:  # noqa: ANN401 - any TOML
    entries = _at(document, path)
    if entries is _MISSING and at == 0:
        _set(document, path, [value])
    elif isinstance(entries, list) and 0 <= at <= len(entries):
        entries.insert(at, value)
    else:
        raise _no_place(path)


# Changes of the text. Each takes and gives the whole text; where a change is made of several, each begins anew.


def _put(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    there: Any = _at(_parsed(text), path)
    if there is not _MISSING and _exact(there) == _exact(value):
        return text
    if isinstance(there, dict) and isinstance(value, dict) and there.keys() & value.keys():
        for key in there.keys() - value.keys():
            text = _take(text, (*path, key))
        for key, part in value.items():
            text = _put(text, (*path, key), part)
        return text
    if isinstance(there, list) and isinstance(value, list) and there and value:
        return _put_list(text, path, there, value)
    spots = layout(text)
    if path in spots.values:
        start, end = spots.values[path]
        return text[:start] + _ended(_inline(value), text) + text[end:]
    return _add(text if there is _MISSING else _take(text, path), path, value)


def _put_list(text: str, path: KeyPath, there: list[Any], value: list[Any]) -> str:
    """Change a list where it differs: entries in the middle, then those that are too many or lacking."""
    old, new = list(map(_exact, there)), list(map(_exact, value))
    shorter = min(len(old), len(new))
    begin = next((at for at in range(shorter) if old[at] != new[at]), shorter)
    most = shorter - begin
    same = next((at for at in range(most) if old[-1 - at] != new[-1 - at]), most)
    for at in range(begin, shorter - same):
        text = _put(text, (*path, at), value[at])
    for at in reversed(range(shorter - same, len(old) - same)):
        text = _take(text, (*path, at))
    for at in range(shorter - same, len(new) - same):
        text = _insert(text, path, at, value[at])
    return text


def _add(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Write a key that is not there into its table."""
    parent, key = path[:-1], path[-1]
    if isinstance(key, int):
        return _insert(text, parent, key, value)
    around = _at(_parsed(text), parent)
    if around is _MISSING:
        return _add(text, parent, {key: value})
    if not isinstance(around, dict):
        raise _no_place(path)
    spots, line = layout(text), f"{_key(key)} = {_ended(_inline(value), text)}"
    if parent in spots.values:
        return _add_in_braces(text, spots, parent, line)
    number = next((number for number, header in enumerate(spots.headers) if header[0] == parent), -1)
    if not parent or number >= 0:
        tables = isinstance(value, list) and value and all(isinstance(part, dict) for part in value)
        if tables or (isinstance(value, dict) and not parent):
            return _add_tables(text, path, value)
        return _line_put_in(text, _body_end(text, spots, number), line)
    dotted = [each for each in spots.statements if each[: len(parent)] == parent]
    if any(parent[:length] in spots.values for length in range(1, len(parent))):
        raise _not_alone(path)
    if dotted:
        last = max(dotted, key=lambda each: spots.statements[each])
        way = max((header[0] for header in spots.headers if last[: len(header[0])] == header[0]), key=len, default=())
        return _line_put_in(
            text, _line_end(text, spots.values[last][1]), f"{_name(parent[len(way) :])}.{line}"
        )
    first = next(number for number, header in enumerate(spots.headers) if header[0][: len(parent)] == parent)
    end = _end(text)
    return _spliced(text, _lead(text, spots, first), f"[{_name(parent)}]{end}{line}{end}{end}")


def _add_in_braces(text: str, spots: Layout, parent: KeyPath, pair: str) -> str:
    start, end = spots.values[parent]
    inner = [spots.values[each][1] for each in spots.values if len(each) > len(parent) and each[: len(parent)] == parent]
    if inner:
        return _spliced(text, max(inner), f", {pair}")
    return f"{text[:start]}{{ {pair} }}{text[end:]}"


def _add_tables(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Write a table, or one after another of a list, behind all that belongs to the table around it."""
    entries = value if isinstance(value, list) else [value]
    for entry in entries:
        spots = layout(text)
        below = [
            number for number, header in enumerate(spots.headers) if header[0][: len(path) - 1] == path[:-1]
        ]
        text = _table_put_in(text, spots, below[-1] if below else -1, _table(path, entry, text, many=value is entries))
    return text


def _table(path: KeyPath, entry: Mapping[str, Any], text: str, *, many: bool) -> str:
    header = f"[[{_name(path)}]]" if many else f"[{_name(path)}]"
    lines = [header, *(f"{_key(key)} = {_ended(_inline(part), text)}" for key, part in entry.items())]
    return "".join(f"{line}{_end(text)}" for line in lines)


def _table_put_in(text: str, spots: Layout, number: int, table: str) -> str:
    """Put a table behind the one with this number, with a blank line between as there is before that."""
    at, end = _body_end(text, spots, number), _end(text)
    begin = _lead(text, spots, number) if number >= 0 else 0
    blank = number < 0 or begin == 0 or text[:begin].endswith(("\n\n", "\n\r\n"))
    if at and not text[:at].endswith("\n"):
        return f"{text[:at]}{end}{end if blank else ''}{table.removesuffix(end)}{text[at:]}"
    gap = end if blank and at else ""
    behind = end if blank and at < len(text) and not text[at:].startswith(("\n", "\r\n")) else ""
    return _spliced(text, at, f"{gap}{table}{behind}")


def _line_put_in(text: str, at: int, line: str) -> str:
    end = _end(text)
    if at and not text[:at].endswith("\n"):
        return _spliced(text, at, f"{end}{line}")
    indent = re.match(r"[ \t]*", text[text.rfind("\n", 0, at - 1) + 1 : at]) if at else None
    above = text[:at].rstrip().rpartition("\n")[2].strip()
    space = indent[0] if indent and not above.startswith("[") else ""
    apart = end if at < len(text) and text[at:].lstrip(" \t").startswith("[") else ""
    return _spliced(text, at, f"{space}{line}{end}{apart}")


def _insert(text: str, path: KeyPath, at: int, value: Any) -> str:  # noqa: ANN401 - any TOML
    there = _at(_parsed(text), path)
    spots = layout(text)
    if there is _MISSING:
        return _add(text, path, [value])
    if not isinstance(there, list) or not 0 <= at <= len(there):
        raise _no_place(path)
    if path in spots.values:
        return _insert_in_brackets(text, spots, path, at, _ended(_inline(value), text))
    if not isinstance(value, dict):
        raise _not_alone(path)
    table, groups = _table(path, value, text, many=True), _groups(spots, path, len(there))
    if at == len(groups):
        return _table_put_in(text, spots, groups[-1][-1], table)
    begin = _lead(text, spots, groups[at][0])
    blank = begin == 0 or text[:begin].endswith(("\n\n", "\n\r\n"))
    return _spliced(text, begin, table + (_end(text) if blank else ""))


def _insert_in_brackets(text: str, spots: Layout, path: KeyPath, at: int, entry: str) -> str:
    spans = _elements(spots, path)
    if not spans:
        return _spliced(text, spots.values[path][0] + 1, entry)
    start, end = spans[min(at, len(spans) - 1)]
    line = text.rfind("\n", 0, start) + 1
    alone, indent = not text[line:start].strip() and line > spots.values[path][0], text[line:start]
    if at < len(spans):
        return _spliced(text, start, f"{entry},{_end(text)}{indent}" if alone else f"{entry}, ")
    rest = _REST.match(text, end) if alone else None
    if rest is None:
        return _spliced(text, end, f", {entry}")
    added = f"{indent}{entry}{rest[1]}{_end(text)}"
    return f"{text[:end]}{'' if rest[1] else ','}{text[end : rest.end()]}{added}{text[rest.end() :]}"


def _take(text: str, path: KeyPath) -> str:
    if _at(_parsed(text), path) is _MISSING:
        raise _no_place(path)
    spots = layout(text)
    if any(path[:length] in spots.values for length in range(1, len(path))):
        return _take_inline(text, spots, path)
    gone: list[tuple[int, int]] = []
    for each, start in spots.statements.items():
        if each[: len(path)] == path and not any(each[:length] in spots.values for length in range(1, len(each))):
            gone.append((_line_start(text, start), _line_end(text, spots.values[each][1])))
    for number, header in enumerate(spots.headers):
        if header[0][: len(path)] == path:
            gone.append((_line_start(text, header[1]), _line_end(text, header[2])))
            gone += _blanks(text, spots, number)
    for start, end in sorted(gone, reverse=True):
        text = text[:start] + text[end:]
    return text


def _blanks(text: str, spots: Layout, number: int) -> list[tuple[int, int]]:
    """Return the blank lines to take away with a table: those before it, at the beginning of the file those behind."""
    start = _line_start(text, spots.headers[number][1])
    before = re.search(r"(?:(?<=\n)|\A)(?:[ \t]*\r?\n)+\Z", text[:start])
    if before:
        return [(before.start(), start)]
    end = _body_end(text, spots, number)
    behind = re.compile(r"(?:[ \t]*\r?\n)+").match(text, end) if start == 0 else None
    return [(end, behind.end())] if behind else []


def _take_inline(text: str, spots: Layout, path: KeyPath) -> str:
    parent = path[:-1]
    if path not in spots.values or parent not in spots.values:
        raise _not_alone(path)
    begins = spots.statements if isinstance(path[-1], str) else {}
    near = sorted(each for each in spots.values if len(each) == len(path) and each[:-1] == parent)
    spans = sorted((begins.get(each, spots.values[each][0]), spots.values[each][1]) for each in near)
    at = next(number for number, span in enumerate(spans) if span[1] == spots.values[path][1])
    start, end = spans[at]
    line, rest = _line_start(text, start), _REST.match(text, end)
    if not text[line:start].strip() and rest and line > spots.values[parent][0] and isinstance(path[-1], int):
        return text[:line] + text[rest.end() :]
    if at + 1 < len(spans):
        start, end = start, spans[at + 1][0]
    elif at:
        start, end = spans[at - 1][1], end
    else:
        start, end = spots.values[parent][0] + 1, spots.values[parent][1] - 1
    if "#" in text[start : spans[at][0]] + text[spans[at][1] : end]:
        raise _not_alone(path)
    return text[:start] + text[end:]


def _move(text: str, path: KeyPath, at: int, to: int) -> str:
    spots = layout(text)
    if path in spots.values:
        return _move_in_brackets(text, spots, path, at, to)
    there: Any = _at(_parsed(text), path)
    groups = _groups(spots, path, len(there))
    order = list(range(len(groups)))
    order.insert(to, order.pop(at))
    spans = [
        [(_lead(text, spots, number), _body_end(text, spots, number)) for number in group] for group in groups
    ]
    chunks = ["".join(_closed(text[start:end], text) for start, end in _joined(text, group)) for group in spans]
    pieces, done = [], 0
    for number, group in enumerate(spans):
        for place, (start, end) in enumerate(_joined(text, group)):
            pieces += [text[done:start], chunks[order[number]] if place == 0 else ""]
            done = end
    result = "".join([*pieces, text[done:]])
    return result if text.endswith("\n") or not result.endswith(_end(text)) else result.removesuffix(_end(text))


def _joined(text: str, spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the spans of an entry's tables as one where only blank lines lie between."""
    joined = [spans[0]]
    for start, end in spans[1:]:
        if not text[joined[-1][1] : start].strip():
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return joined


def _move_in_brackets(text: str, spots: Layout, path: KeyPath, at: int, to: int) -> str:
    """Change the order of entries; where each has a line of its own, what stands behind it goes with it."""
    spans = _elements(spots, path)
    order = list(range(len(spans)))
    order.insert(to, order.pop(at))
    rests = [_REST.match(text, end) for _, end in spans]
    apart = [(rest.end(1), rest.end(2) if rest[2] else rest.end(1)) for rest in rests if rest]
    behind = apart if len(apart) == len(spans) else [(end, end) for _, end in spans]
    pieces, done = [], 0
    for (start, end), (begin, stop), mine in zip(spans, behind, order, strict=True):
        pieces += [text[done:start], text[slice(*spans[mine])], text[end:begin], text[slice(*behind[mine])]]
        done = stop
    return "".join([*pieces, text[done:]])


# Places in a text.


def _end(text: str) -> str:
    """Return the line end of a text: that of its first line."""
    return "\r\n" if text[: text.find("\n") + 1].endswith("\r\n") else "\n"


def _ended(value: str, text: str) -> str:
    return value.replace("\n", _end(text))


def _closed(chunk: str, text: str) -> str:
    return chunk if chunk.endswith("\n") else chunk + _end(text)


def _spliced(text: str, at: int, added: str) -> str:
    return text[:at] + added + text[at:]


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    return text.find("\n", at) + 1 or len(text)


def _lead(text: str, spots: Layout, number: int) -> int:
    """Return where a table begins: its header, or the comment lines right above it."""
    at = _line_start(text, spots.headers[number][1])
    while at and text[_line_start(text, at - 1) : at].lstrip(" \t").startswith("#"):
        at = _line_start(text, at - 1)
    return at


def _body_end(text: str, spots: Layout, number: int) -> int:
    """Return where the lines of a table end, -1 being what stands above all; blank lines behind are not its own."""
    begin = spots.headers[number][1] if number >= 0 else 0
    follows = number + 1 < len(spots.headers)
    end = _line_start(text, spots.headers[number + 1][1]) if follows else len(text)
    ends = [spots.values[each][1] for each, start in spots.statements.items() if begin <= start < end]
    last = max(ends, default=spots.headers[number][2] if number >= 0 else 0)
    at = _line_end(text, last) if last else 0
    comments = _COMMENTS.match(text, at)
    behind = comments.end() if comments else at
    return at if follows and behind >= end else behind


def _groups(spots: Layout, path: KeyPath, count: int) -> list[list[int]]:
    """Return the numbers of the headers that belong to each entry of a list of tables."""
    groups = [
        [number for number, header in enumerate(spots.headers) if header[0][: len(path) + 1] == (*path, at)]
        for at in range(count)
    ]
    if not all(groups):
        raise _not_alone(path)
    return groups


def _elements(spots: Layout, path: KeyPath) -> list[tuple[int, int]]:
    return sorted(span for each, span in spots.values.items() if len(each) == len(path) + 1 and each[:-1] == path)
