"""Changes a key, a table or an entry of a list in the owner's TOML and leaves every other byte as it is.

Comments, order, spacing, line ends and a byte order mark stay. A value that is a list or table is held against what
is there, and only what differs in it is written. What comes of a change is read again: unless it says exactly what is
meant, nothing is changed. A comment behind a key goes with the key; one on a line of its own stays.
"""

import codecs
import copy
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any

from listkit.edit.toml_text import (
    MISSING,
    TomlValue,
    inline,
    insert,
    move,
    no_place,
    not_alone,
    parsed,
    part_at,
    put,
    says,
    take,
)  # fmt: skip
from listkit.problem import FieldError, KeyPath


def with_value(content: bytes, path: KeyPath, value: TomlValue) -> bytes:
    r"""Return the file with this value at a path; keys and tables that are not there are added.

    Raises:
        FieldError: the file is no TOML, there is no such place, or it is written so that it cannot be changed alone.

    >>> with_value(b'name = "Spring" # short\ncard = true\n', ("name",), "Summer")
    b'name = "Summer" # short\ncard = true\n'
    """
    meant = _plain(value)
    return _changed(content, lambda text: put(text, path, meant), lambda document: _set(document, path, meant), path)


def without(content: bytes, path: KeyPath) -> bytes:
    r"""Return the file without a key, a table or an entry of a list; raises as `with_value` does.

    >>> without(b'a = ["x", "y"]\nb = 1\n', ("a", 0))
    b'a = ["y"]\nb = 1\n'
    """
    return _changed(content, lambda text: take(text, path), lambda document: _remove(document, path), path)


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
        content, lambda text: insert(text, path, at, meant), lambda document: _put_in(document, path, at, meant), path
    )


def with_entry_moved(content: bytes, path: KeyPath, at: int, to: int) -> bytes:
    r"""Return the file with the entry `at` of a list in the place `to`; raises as `with_value` does.

    >>> with_entry_moved(b'a = ["x", "y", "z"]', ("a",), 0, 2)
    b'a = ["y", "z", "x"]'
    """

    def moved(document: Any) -> None:  # noqa: ANN401 - any TOML
        entries = part_at(document, path)
        if not isinstance(entries, list) or not (0 <= at < len(entries) and 0 <= to < len(entries)):
            raise no_place(path)
        entries.insert(to, entries.pop(at))

    return _changed(content, lambda text: move(text, path, at, to), moved, path)


def value_at(content: bytes, path: KeyPath) -> TomlValue | None:
    """Return what a file says at a path, None where it says nothing; raises as `with_value` does where it is no TOML.

    >>> value_at(b'a = { b = 1.50 }', ("a", "b"))
    Decimal('1.50')
    """
    value = part_at(parsed(_decoded(content)[1]), path)
    return None if value is MISSING else copy.deepcopy(value)


# Around every change: decoding, and reading what came of it.


def _changed(
    content: bytes, change: Callable[[str], str], meant: Callable[[dict[str, Any]], None], path: KeyPath
) -> bytes:
    mark, text = _decoded(content)
    document = copy.deepcopy(parsed(text))
    meant(document)
    result = change(text)
    if not any(says(result, each) for each in _less_empty(document, path)):
        raise not_alone(path)
    return mark + result.encode()


def _decoded(content: bytes) -> tuple[bytes, str]:
    mark = codecs.BOM_UTF8 if content.startswith(codecs.BOM_UTF8) else b""
    try:
        return mark, content[len(mark) :].decode()
    except UnicodeDecodeError:
        raise FieldError("a letter is not in UTF-8.", "Save the file again as UTF-8.") from None


def _less_empty(document: dict[str, Any], path: KeyPath) -> Iterable[dict[str, Any]]:
    """Yield a document, then without the lists and tables around a path that are empty: headers cannot say those."""
    yield document
    for length in range(len(path), 0, -1):
        if part_at(document, path[:length]) in ([], {}):
            _remove(document, path[:length])
            yield document


def _plain(value: TomlValue) -> Any:  # noqa: ANN401 - any TOML
    """Return a value as it reads once it is written."""
    return parsed(f"x = {inline(value)}")["x"]


# The document meant.


def _set(document: Any, path: KeyPath, value: object) -> None:  # noqa: ANN401 - any TOML
    """Put a value at a path; tables on the way are made."""
    for part, following in pairwise(path):
        if isinstance(document, dict) and isinstance(part, str) and isinstance(following, str):
            document.setdefault(part, {})
        document = part_at(document, (part,))
    is_key = isinstance(document, dict) and bool(path) and isinstance(path[-1], str)
    if not path or not (is_key or part_at(document, path[-1:]) is not MISSING):
        raise no_place(path)
    document[path[-1]] = value


def _remove(document: Any, path: KeyPath) -> None:  # noqa: ANN401 - any TOML
    if not path or part_at(document, path) is MISSING:
        raise no_place(path)
    del part_at(document, path[:-1])[path[-1]]


def _put_in(document: Any, path: KeyPath, at: int, value: object) -> None:  # noqa: ANN401 - any TOML
    entries = part_at(document, path)
    if entries is MISSING and at == 0:
        _set(document, path, [value])
    elif isinstance(entries, list) and 0 <= at <= len(entries):
        entries.insert(at, value)
    else:
        raise no_place(path)
