"""How TOML is changed as text: each function takes and gives a whole text, in which only what is meant differs.

What is written where is known from `read.position`. Whether the result says what is meant is for `edit.toml` to see.
"""

import datetime
import re
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.edit.files import quoted
from listkit.problem import FieldError, KeyPath
from listkit.read.position import Layout, layout

TomlValue = str | bool | int | Decimal | datetime.date | Sequence["TomlValue"] | Mapping[str, "TomlValue"]
"""What a key may be given. Line ends within a text become those of the file."""

MISSING: Final = object()
_BY_HAND: Final = "Change it in a text editor."
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_NUMBER: Final = re.compile(r"[+-]?[0-9_]+\.[0-9_]+")
_COMMENTS: Final = re.compile(r"(?:[ \t]*#[^\n]*(?:\n|\Z))*")
_REST: Final = re.compile(r"[ \t]*+(,?)[ \t]*+(#[^\r\n]*)?\r?(?:\n|\Z)")  # gives nothing back: blanks may be many
_ONE_BY_ONE: Final = 50  # entries of a list that differ; each is a change by itself, which reads the whole file
_WITH_REMARKS: Final = 500  # where something is said behind them, perhaps, that is to stay
_QUOTES: Final = re.compile(r'"{3,}|"\Z')


# Documents.


@lru_cache(maxsize=16)  # several steps of a change begin with the same text
def parsed(text: str) -> dict[str, Any]:
    """Return a document, which is not to be changed; 24.10 stays Decimal("24.10").

    Raises:
        FieldError: it is no TOML.
    """
    try:
        return parse_bounded(text, lambda number: Decimal(number) if _NUMBER.fullmatch(number) else number)
    except tomllib.TOMLDecodeError:
        raise FieldError("the file does not follow the rules of TOML.", "listkit check says in which line.") from None


def exact(value: object) -> object:
    """Return a value as it is compared: 1, 1.0 and true are three."""
    if isinstance(value, dict):
        return {key: exact(part) for key, part in value.items()}
    if isinstance(value, list):
        return [exact(part) for part in value]
    return type(value).__name__, str(value)


def says(text: str, document: Mapping[str, Any]) -> bool:
    """Whether a text is TOML that says exactly what a document has."""
    try:
        return exact(parsed(text)) == exact(document)
    except FieldError:
        return False


def no_place(path: KeyPath) -> FieldError:
    """Return the fault of a path that leads nowhere in the file."""
    return FieldError(f"there is no place {_shown(path)} in the file.", "Load the page again.")


def not_alone(path: KeyPath) -> FieldError:
    """Return the fault of a place whose text says something else too."""
    return FieldError(f"{_shown(path)} is written so that it cannot be changed alone.", _BY_HAND)


def _shown(path: KeyPath) -> str:
    return f'"{".".join(map(str, path))}"'


def part_at(document: Any, path: KeyPath) -> Any:  # noqa: ANN401 - any TOML
    """Return what a document has at a path, MISSING where it has nothing."""
    for part in path:
        known = document if isinstance(document, dict) else range(len(document)) if isinstance(document, list) else ()
        if isinstance(part, str) is not isinstance(document, dict) or part not in known:
            return MISSING
        document = document[part]
    return document


# Values.


def inline(value: TomlValue) -> str:
    """Return a value as TOML writes it behind an equals sign."""
    if isinstance(value, str):
        return _text(str(value))
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{_key(key)} = {inline(part)}" for key, part in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, Sequence):
        return f"[{', '.join(map(inline, value))}]"
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


# Changes of the text. Each takes and gives the whole text; where a change is made of several, each begins anew.


def put(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Give a key a value; what is there and is meant to be stays as it is written."""
    there = part_at(parsed(text), path)
    if there is not MISSING and exact(there) == exact(value):
        return text
    if isinstance(there, dict) and isinstance(value, dict) and there.keys() & value.keys():
        for key in there.keys() - value.keys():
            text = take(text, (*path, key))
        for key, part in value.items():
            text = put(text, (*path, key), part)
        return text
    if isinstance(there, list) and isinstance(value, list) and there and value:
        return _put_list(text, path, there, value)
    spots = layout(text)
    if path in spots.values:
        start, end = spots.values[path]
        return text[:start] + _ended(inline(value), text) + text[end:]
    return _add(text if there is MISSING else take(text, path), path, value)


def _put_list(text: str, path: KeyPath, there: list[Any], value: list[Any]) -> str:
    """Change a list where it differs: entries in the middle, then those that are too many or lacking."""
    old, new = list(map(exact, there)), list(map(exact, value))
    shorter = min(len(old), len(new))
    begin = next((at for at in range(shorter) if old[at] != new[at]), shorter)
    most = shorter - begin
    same = next((at for at in range(most) if old[-1 - at] != new[-1 - at]), most)
    differ = max(len(old), len(new)) - begin - same
    if differ > _ONE_BY_ONE and path in (spots := layout(text)).values:
        if "#" not in text[slice(*spots.values[path])]:
            return _written_anew(text, spots, path, value)
        if differ > _WITH_REMARKS:
            raise not_alone(path)
    for at in range(begin, shorter - same):
        text = put(text, (*path, at), value[at])
    for at in reversed(range(shorter - same, len(old) - same)):
        text = take(text, (*path, at))
    for at in range(shorter - same, len(new) - same):
        text = insert(text, path, at, value[at])
    return text


def _written_anew(text: str, spots: Layout, path: KeyPath, value: list[Any]) -> str:
    """Write a list without remarks anew, its entries on lines of their own where they were."""
    start, end = spots.values[path]
    first = _elements(spots, path)[0][0]
    line, entries = line_start(text, first), [_ended(inline(each), text) for each in value]
    if line <= start or text[line:first].strip():
        return f"{text[:start]}[{', '.join(entries)}]{text[end:]}"
    lines = "".join(f"{text[line:first]}{entry},{_end(text)}" for entry in entries)
    closing = text[line_start(text, end) : end].rstrip("]")
    return f"{text[:start]}[{_end(text)}{lines}{'' if closing.strip() else closing}]{text[end:]}"


def _add(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Write a key that is not there into its table."""
    parent, key = path[:-1], path[-1]
    if isinstance(key, int):
        return insert(text, parent, key, value)
    around = part_at(parsed(text), parent)
    if around is MISSING:
        return _add(text, parent, {key: value})
    if not isinstance(around, dict):
        raise no_place(path)
    spots, line = layout(text), f"{_key(key)} = {_ended(inline(value), text)}"
    if parent in spots.values:
        return _add_in_braces(text, spots, parent, line)
    number = next((number for number, header in enumerate(spots.headers) if header[0] == parent), -1)
    if parent and number < 0:
        return _add_below_others(text, spots, parent, line)
    tables = isinstance(value, list) and value and all(isinstance(part, dict) for part in value)
    if tables or (isinstance(value, dict) and not parent):
        return _add_tables(text, path, value)
    return line_put_in(text, _body_end(text, spots, number), line)


def _add_below_others(text: str, spots: Layout, parent: KeyPath, line: str) -> str:
    """Write a line into a table without a header: below its dotted keys, or with a header above the tables in it."""
    if any(parent[:length] in spots.values for length in range(1, len(parent))):
        raise not_alone(parent)
    tables = ((), *(header[0] for header in spots.headers))
    for each, start in sorted(spots.statements.items(), key=lambda pair: -pair[1]):
        way = tables[sum(header[1] <= start for header in spots.headers)]
        if each[: len(parent)] == parent and len(way) < len(parent):
            end = line_end(text, spots.values[each][1])
            return line_put_in(text, end, f"{_name(parent[len(way) :])}.{line}")
    first = next(number for number, header in enumerate(spots.headers) if header[0][: len(parent)] == parent)
    end_of_line = _end(text)
    table = f"[{_name(parent)}]{end_of_line}{line}{end_of_line}{end_of_line}"
    return _spliced(text, lead(text, spots.headers[first][1]), table)


def _add_in_braces(text: str, spots: Layout, parent: KeyPath, pair: str) -> str:
    start, end = spots.values[parent]
    inner = [
        spots.values[each][1] for each in spots.values if len(each) > len(parent) and each[: len(parent)] == parent
    ]
    if inner:
        return _spliced(text, max(inner), f", {pair}")
    return f"{text[:start]}{{ {pair} }}{text[end:]}"


def _add_tables(text: str, path: KeyPath, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Write a table, or one after another of a list, behind all that belongs to the table around it."""
    entries = value if isinstance(value, list) else [value]
    for entry in entries:
        spots = layout(text)
        below = [number for number, header in enumerate(spots.headers) if header[0][: len(path) - 1] == path[:-1]]
        text = _table_put_in(text, spots, below[-1] if below else -1, _table(path, entry, text, many=value is entries))
    return text


def _table(path: KeyPath, entry: Mapping[str, Any], text: str, *, many: bool) -> str:
    header = f"[[{_name(path)}]]" if many else f"[{_name(path)}]"
    lines = [header, *(f"{_key(key)} = {_ended(inline(part), text)}" for key, part in entry.items())]
    return "".join(f"{line}{_end(text)}" for line in lines)


def _table_put_in(text: str, spots: Layout, number: int, table: str) -> str:
    """Put a table behind the one with this number, with a blank line between as there is before that."""
    at, end = _body_end(text, spots, number), _end(text)
    begin = lead(text, spots.headers[number][1]) if number >= 0 else 0
    blank = number < 0 or begin == 0 or text[:begin].endswith(("\n\n", "\n\r\n"))
    if at and not text[:at].endswith("\n"):
        return f"{text[:at]}{end}{end if blank else ''}{table.removesuffix(end)}{text[at:]}"
    gap = end if blank and at else ""
    behind = end if blank and at < len(text) and not text[at:].startswith(("\n", "\r\n")) else ""
    return _spliced(text, at, f"{gap}{table}{behind}")


def line_put_in(text: str, at: int, line: str) -> str:
    """Put a line in where another one begins or the text ends, indented as the one above it."""
    end = _end(text)
    if at and not text[:at].endswith("\n"):
        return _spliced(text, at, f"{end}{line}")
    indent = re.match(r"[ \t]*", text[text.rfind("\n", 0, at - 1) + 1 : at]) if at else None
    above = text[:at].rstrip().rpartition("\n")[2].strip()
    space = indent[0] if indent and not above.startswith("[") else ""
    apart = end if at < len(text) and text[at:].lstrip(" \t").startswith("[") else ""
    return _spliced(text, at, f"{space}{line}{end}{apart}")


def insert(text: str, path: KeyPath, at: int, value: Any) -> str:  # noqa: ANN401 - any TOML
    """Put an entry into a list, before the entry `at`."""
    there = part_at(parsed(text), path)
    spots = layout(text)
    if there is MISSING:
        return _add(text, path, [value])
    if not isinstance(there, list) or not 0 <= at <= len(there):
        raise no_place(path)
    if path in spots.values:
        return _insert_in_brackets(text, spots, path, at, _ended(inline(value), text))
    if not isinstance(value, dict):
        raise not_alone(path)
    table, groups = _table(path, value, text, many=True), _groups(spots, path, len(there))
    if at == len(groups):
        return _table_put_in(text, spots, groups[-1][-1], table)
    begin = lead(text, spots.headers[groups[at][0]][1])
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


def take(text: str, path: KeyPath) -> str:
    """Take a key, a table or an entry of a list out."""
    if part_at(parsed(text), path) is MISSING:
        raise no_place(path)
    spots = layout(text)
    if any(path[:length] in spots.values for length in range(1, len(path))):
        return _take_inline(text, spots, path)
    gone: list[tuple[int, int]] = []
    for each, start in spots.statements.items():
        if each[: len(path)] == path and not any(each[:length] in spots.values for length in range(1, len(each))):
            gone.append((line_start(text, start), line_end(text, spots.values[each][1])))
    for number, header in enumerate(spots.headers):
        if header[0][: len(path)] == path:
            gone.append((line_start(text, header[1]), line_end(text, header[2])))
            gone += _blanks(text, spots, number)
    for start, end in sorted(gone, reverse=True):
        text = text[:start] + text[end:]
    return text


def _blanks(text: str, spots: Layout, number: int) -> list[tuple[int, int]]:
    """Return the blank lines to take away with a table: those before it, at the beginning of the file those behind."""
    start = line_start(text, spots.headers[number][1])
    before = re.search(r"(?:(?<=\n)|\A)(?:[ \t]*\r?\n)+\Z", text[:start])
    if before:
        return [(before.start(), start)]
    end = _body_end(text, spots, number)
    behind = re.compile(r"(?:[ \t]*\r?\n)+").match(text, end) if start == 0 else None
    return [(end, behind.end())] if behind else []


def _take_inline(text: str, spots: Layout, path: KeyPath) -> str:
    parent = path[:-1]
    if path not in spots.values or parent not in spots.values:
        raise not_alone(path)
    begins = spots.statements if isinstance(path[-1], str) else {}
    near = sorted(each for each in spots.values if len(each) == len(path) and each[:-1] == parent)
    spans = sorted((begins.get(each, spots.values[each][0]), spots.values[each][1]) for each in near)
    at = next(number for number, span in enumerate(spans) if span[1] == spots.values[path][1])
    start, end = spans[at]
    line, rest = line_start(text, start), _REST.match(text, end)
    if not text[line:start].strip() and rest and line > spots.values[parent][0] and isinstance(path[-1], int):
        return text[:line] + text[rest.end() :]
    if at + 1 < len(spans):
        end = spans[at + 1][0]
    elif at:
        start = spans[at - 1][1]
    else:
        start, end = spots.values[parent][0] + 1, spots.values[parent][1] - 1
    if "#" in text[start : spans[at][0]] + text[spans[at][1] : end]:
        raise not_alone(path)
    return text[:start] + text[end:]


def move(text: str, path: KeyPath, at: int, to: int) -> str:
    """Give an entry of a list another place."""
    spots = layout(text)
    if path in spots.values:
        return _move_in_brackets(text, spots, path, at, to)
    there = part_at(parsed(text), path)
    groups = _groups(spots, path, len(there))
    order = list(range(len(groups)))
    order.insert(to, order.pop(at))
    spans = [
        [(lead(text, spots.headers[number][1]), _body_end(text, spots, number)) for number in group] for group in groups
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


def line_start(text: str, at: int) -> int:
    """Return where the line begins that holds an offset."""
    return text.rfind("\n", 0, at) + 1


def line_end(text: str, at: int) -> int:
    """Return where the line ends that holds an offset, its line end included."""
    return text.find("\n", at) + 1 or len(text)


def lead(text: str, at: int) -> int:
    """Return where a table or key begins that is written at `at`: that line, or the comment lines right above it."""
    at = line_start(text, at)
    while at and text[line_start(text, at - 1) : at].lstrip(" \t").startswith("#"):
        at = line_start(text, at - 1)
    return at


def _body_end(text: str, spots: Layout, number: int) -> int:
    """Return where the lines of a table end, -1 being what stands above all; blank lines behind are not its own."""
    begin = spots.headers[number][1] if number >= 0 else 0
    follows = number + 1 < len(spots.headers)
    end = line_start(text, spots.headers[number + 1][1]) if follows else len(text)
    ends = [spots.values[each][1] for each, start in spots.statements.items() if begin <= start < end]
    last = max(ends, default=spots.headers[number][2] if number >= 0 else 0)
    at = line_end(text, last) if last else 0
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
        raise not_alone(path)
    return groups


def _elements(spots: Layout, path: KeyPath) -> list[tuple[int, int]]:
    return sorted(span for each, span in spots.values.items() if len(each) == len(path) + 1 and each[:-1] == path)
