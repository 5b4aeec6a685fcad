"""The values of the owner's TOML files as texts of a form, and what she typed as values again."""

import datetime
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from enum import Enum, StrEnum
from typing import Any, Final

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from listkit.edit.toml_text import TomlValue
from listkit.model.fields import Ending, WholesaleRule
from listkit.model.labels import Face, Paper
from listkit.units.length import Length
from listkit.units.quantity import share_text
from listkit.units.weight import Divisor, Weight

_PLAIN: Final = re.compile(r"(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?", re.ASCII)
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


class Input(StrEnum):
    """What a field is filled in with."""

    TEXT = "text"
    LONG_TEXT = "long text"
    CODE = "code"
    NUMBER = "number"
    MONEY = "money"
    SHARE = "share"
    MEASURE = "measure"  # with its unit: a weight, a length, a time
    COLOUR = "colour"
    DAY = "day"
    CHOICE = "choice"
    YES_NO = "yes or no"
    FOCUS = "focus"
    LIST = "list"  # of texts, codes, sums or choices, one a line
    GROUPS = "groups"  # of codes, a group a line
    PAIRS = "pairs"  # a text and what belongs to it, a pair a line
    TABLE = "table"
    TABLES = "tables"


def line_of(value: Any, kind: Input = Input.TEXT) -> str:  # noqa: ANN401 - any TOML
    """Return a value of a file as a page has it; of a list a line for each."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Mapping):
        return "\n".join(f"{key} = {line_of(part, Input.FOCUS)}" for key, part in value.items())
    if isinstance(value, (list, tuple)):
        flat = [", ".join(map(line_of, part)) if isinstance(part, (list, tuple)) else line_of(part) for part in value]
        return (", " if kind is Input.FOCUS else "\n").join(flat)
    return str(value)


_SHOWN: Final[Mapping[type, Callable[[Any], str]]] = {
    WholesaleRule: lambda rule: share_text(rule.share) if rule.kind == "share" else rule.kind,
    Length: lambda length: f"{length.mm.normalize():f} mm",
    Face: lambda face: f"{face.width.normalize():f} x {face.height.normalize():f} mm",
    Paper: lambda paper: paper.name,
    Weight: lambda weight: weight.text,
    Divisor: lambda divisor: divisor.text,
    Ending: lambda ending: ending.text,
}


def usual_text(default: Any, kind: Input) -> str:  # noqa: ANN401 - any default
    """Return what holds where a file says nothing, as text; "" for nothing."""
    if default is PydanticUndefined or default is None or isinstance(default, BaseModel) or default in ((), {}):
        return ""
    if type(default) in _SHOWN:
        return _SHOWN[type(default)](default)
    if kind is Input.SHARE:
        return share_text(default)
    return line_of(default.value if isinstance(default, Enum) else default)


def typed_value(kind: Input, text: str, raw: object) -> TomlValue:
    """Return one typed value; a plain number is written bare, unless the file has it in quotes."""
    plain = bool(_PLAIN.fullmatch(text))
    if kind is Input.FOCUS:
        return [Decimal(part) if _PLAIN.fullmatch(part) else part for part in re.split(r"[\s,;]+", text)]
    if kind is Input.YES_NO and text in ("yes", "no"):
        return text == "yes"
    if kind is Input.DAY and _DAY.fullmatch(text):
        with suppress(ValueError):
            return datetime.date.fromisoformat(text)
    if kind is Input.SHARE and plain:
        return f"{text} %"
    if kind in (Input.NUMBER, Input.MONEY) and plain and not isinstance(raw, str):
        return Decimal(text) if "." in text else int(text)
    return text


def list_value(kind: Input, of: Input, raw: object, lines: Sequence[str]) -> TomlValue | None:
    """Return the lines that were typed of a list, of groups or of pairs as the file is to have them; None for none.

    `of` is what each is, `raw` what the file has.
    """
    if not lines:
        return None
    found = list(_apart(kind, of, raw, lines))
    if kind is not Input.PAIRS:
        return [value for _, value in found]
    pairs: dict[str, list[Any]] = {}
    for key, value in found:
        values = pairs.setdefault(key, [])
        if value not in values:
            values.append(value)
    return {key: values[0] if len(values) == 1 else values for key, values in pairs.items()}  # its reader refuses two


def _apart(kind: Input, of: Input, raw: object, lines: Sequence[str]) -> Iterator[tuple[str, Any]]:
    """Yield each entry of a list or of pairs, and its key there.

    One that is still as the file has it stays so, also where it shows as several lines, or its key has a "=".
    """
    pairs = kind is Input.PAIRS
    there: dict[str, list[tuple[list[str], tuple[str, Any]]]] = {}
    if isinstance(raw, Mapping if pairs else list):
        for entry in raw.items() if isinstance(raw, Mapping) else (("", value) for value in raw):
            text = line_of(dict((entry,)) if pairs else [entry[1]], kind)
            if shown := [line.strip() for line in text.splitlines() if line.strip()]:
                there.setdefault(shown[0], []).append((shown, entry))
    at = 0
    while at < len(lines):
        kept = [each for each in there.get(lines[at], ()) if lines[at : at + len(each[0])] == each[0]]
        if kept:
            shown, entry = max(kept, key=lambda each: len(each[0]))
            yield entry
        else:
            shown, entry = [lines[at]], _typed(kind, of, lines[at])
            yield entry
        at += len(shown)


def _typed(kind: Input, of: Input, line: str) -> tuple[str, TomlValue]:
    """Return the entry that a line was typed as, and its key where it is a pair."""
    if kind is Input.GROUPS:
        return "", [code for code in re.split(r"[\s,;]+", line) if code]
    if kind is Input.PAIRS:
        key, _, value = line.partition("=")
        return key.strip(), typed_value(of, value.strip(), "")
    return "", typed_value(of, line, None)
