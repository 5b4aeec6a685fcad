"""A folder in the making: filled under a hidden name beside its place, and put there whole or not at all."""

import os
import re
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import jinja2

from listkit.problem import FieldError


@contextmanager
def in_the_making(folder: Path) -> Iterator[Path]:
    """Yield a folder to fill; it takes the place of `folder` when all went well, else it is gone without a trace.

    Raises:
        FieldError: something lies in `folder` already, or it cannot be written to. Nothing is overwritten.
    """
    if "\0" in str(folder):
        raise FieldError("a folder's name cannot hold the sign NUL.", "Name another folder.")
    try:
        if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
            raise FieldError(f"{folder} is there already and not empty.", "Name a folder that is not there yet.")
        with tempfile.TemporaryDirectory(prefix=".listkit-", dir=_above(folder)) as hidden:
            made = Path(hidden) / "made"
            made.mkdir()
            yield made
            _put(made, folder)
    except OSError as fault:
        raise FieldError(f"{folder} cannot be written to: {fault.strerror}.", "Name another folder.") from fault


def write_file(path: Path, content: bytes) -> None:
    """Write a file in a folder in the making, with the folders above it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _above(folder: Path) -> Path:
    """Return the nearest folder above that is there."""
    return next(parent for parent in folder.absolute().parents if parent.is_dir())


def _put(made: Path, folder: Path) -> None:
    """Move what was made to its place; an empty folder that is there already keeps being itself."""
    if not folder.exists():
        folder.parent.mkdir(parents=True, exist_ok=True)
        made.rename(folder)
        return
    try:
        for path in sorted(made.iterdir()):
            path.rename(folder / path.name)
    except OSError:
        for path in folder.iterdir():
            path.rename(made / path.name)
        raise


# Fills in our templates of the owner's TOML and Markdown files: texts in quotes, remarks in one line.
#
# The templates are our own, shipped with the code; only values come from outside, and none can break out of its
# place.

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


# Writes drawings where the owner asks for them: one file, or a folder with one for each.

ENDING: Final = ".svg"


def is_folder(place: Path) -> bool:
    """Whether a place that the owner names is a folder: it is one, or has no ending."""
    return place.is_dir() or not place.suffix


def write_drawings(place: Path, drawings: tuple[tuple[str, str], ...]) -> tuple[Path, ...]:
    """Write drawings, each a file name and its SVG, into the folder `place`, made if need be; return their paths.

    Where `place` is a file, it takes the first of them. What was drawn there before is replaced, at once and whole.

    Raises:
        FieldError: the file does not end in .svg, or it cannot be written.
    """
    if is_folder(place):
        targets = tuple(place / name for name, _ in drawings)
    elif place.suffix.lower() == ENDING:
        targets, drawings = (place,), drawings[:1]
    else:
        raise FieldError(f"{place} is no name for a drawing.", "Write a name that ends in .svg, or a folder's.")
    try:
        for target, (_, svg) in zip(targets, drawings, strict=True):
            target.parent.mkdir(parents=True, exist_ok=True)
            _put_drawing(target, svg)
    except OSError as fault:
        raise FieldError(f"{place} cannot be written: {fault.strerror}.", "Name another place.") from fault
    return targets


def _put_drawing(target: Path, text: str) -> None:
    """Write beside the target, then take its place."""
    number, part = tempfile.mkstemp(prefix=".drawing-", suffix=ENDING, dir=target.parent)
    try:
        with os.fdopen(number, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        os.chmod(part, 0o644)
        os.replace(part, target)
    except OSError:
        Path(part).unlink(missing_ok=True)
        raise


# Writes a channel's file as it was drafted from a sample; what lies there already is never overwritten.


@dataclass(frozen=True, slots=True)
class ChannelWords:
    """What a drafted channel file says: `dialect` are its keys with their values as TOML writes them.

    `columns` have the keys of a [[column]] as their attributes, and remarks. `text` is "" where the sample does not
    tell; `day_doubtful` where day and month could change places.
    """

    sample: str
    name: str
    feed: str
    rows: str
    text: str
    pictures: bool
    dialect: tuple[tuple[str, str], ...]
    day_doubtful: bool
    columns: Sequence[object]


def channel_toml(template: str, words: ChannelWords) -> bytes:
    """Return the channel's file."""
    values = {name: getattr(words, name) for name in ChannelWords.__slots__}
    return filled_in(template, values)


def put_channel(shop: Path, key: str, content: bytes) -> Path:
    """Write channels/<key>.toml and return its path.

    Raises:
        FieldError: it is there already, or cannot be written.
    """
    path = shop / "channels" / f"{key}.toml"
    try:
        path.parent.mkdir(exist_ok=True)
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError:
        raise FieldError(f"{path} is there already.", "Take another --name, or put that file away first.") from None
    except OSError as fault:
        raise FieldError(f"{path} cannot be written: {fault.strerror}.", "Check its permissions.") from None
    return path
