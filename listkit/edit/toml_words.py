"""Fills in our templates of the owner's TOML and Markdown files: texts in quotes, remarks in one line.

The templates are our own, shipped with the code; only values come from outside, and none can break out of its place.
"""

import re
from collections.abc import Mapping
from typing import Final

import jinja2

_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_ESCAPES: Final = {"\\": "\\\\", '"': '\\"'}
_LONGEST: Final = 200


def quoted(text: str) -> str:
    """Return a text as a basic string of TOML 1.0: quotes, backslashes and control characters escaped."""
    return '"' + "".join(_escaped(sign) for sign in text) + '"'


def _escaped(sign: str) -> str:
    number = ord(sign)
    if sign in _ESCAPES:
        return _ESCAPES[sign]
    if number < 0x20 or number == 0x7F:
        return f"\\u{number:04X}"
    return "\ufffd" if 0xD800 <= number <= 0xDFFF else sign


def remark(text: str) -> str:
    """Return a text that can stand behind a # on one line."""
    plain = " ".join(_CONTROL.sub(" ", text).split())
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 1] + "…"


_ENVIRONMENT: Final = jinja2.Environment(  # noqa: S701 - TOML, not HTML: `quoted` and `remark` escape
    undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True
)
_ENVIRONMENT.filters["quoted"] = quoted
_ENVIRONMENT.filters["remark"] = remark


def filled_in(template: str, values: Mapping[str, object]) -> bytes:
    """Return one of our templates with its values, in UTF-8."""
    return _ENVIRONMENT.from_string(template).render(values).encode()
