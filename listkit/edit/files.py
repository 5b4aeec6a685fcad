"""Makes the owner's files: whole folders, texts filled into our templates, a channel's file.

Nothing that the owner wrote is overwritten, and nothing is left half made.
"""

import errno
import os
import re
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import jinja2

from listkit.problem import BlockedError, FieldError, remedy_of
from listkit.save.place import make_folders, put_file, refuse_links_below

# Folders: filled under a hidden name beside their place, and moved there whole.


@contextmanager
def in_the_making(folder: Path) -> Iterator[Path]:
    """Yield a folder to fill; it becomes `folder` when the block ends, and is removed when the block raises.

    Raises:
        FieldError: `folder` is there already and not empty, or is no name for one. Nothing is overwritten.
        BlockedError: it cannot be written to.
    """
    if "\0" in str(folder):
        raise FieldError("a folder's name cannot hold the sign NUL.", "Name another folder.")
    try:
        if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
            raise FieldError(f"{folder} is there already and not empty.", "Name a folder that is not there yet.")
        nearest = next(parent for parent in folder.absolute().parents if parent.is_dir())
        with tempfile.TemporaryDirectory(prefix=".listkit-", dir=nearest) as hidden:
            made = Path(hidden) / "made"
            made.mkdir()
            yield made
            _move(made, folder)
    except OSError as fault:
        hint = "Make room on the disk, allow writing there, or name another folder."
        raise BlockedError(f"{folder} cannot be written to: {fault.strerror}.", remedy_of(fault, hint)) from fault


def write_file(path: Path, content: bytes) -> None:
    """Write a file in a folder in the making, with the folders above it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _move(made: Path, folder: Path) -> None:
    """Move what was made to its place; an empty folder that is there already stays the same folder."""
    if not folder.exists():
        parents = make_folders(folder.parent)
        try:
            made.rename(folder)
        except OSError:
            for parent in reversed(parents):
                parent.rmdir()
            raise
        return
    moved = []
    try:
        for path in sorted(made.iterdir()):
            if os.path.lexists(folder / path.name):
                raise FileExistsError(errno.EEXIST, f"{path.name} has come there meanwhile")
            path.rename(folder / path.name)
            moved.append(path)
    except OSError:
        for path in moved:  # nothing else that lies there, which is somebody's
            (folder / path.name).rename(path)
        raise


# Templates of the owner's TOML and Markdown files: shipped with the code; `quoted` and `remark` keep values, which come
# from outside, in their places.

_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_ESCAPES: Final = {"\\": "\\\\", '"': '\\"'}
_LONGEST: Final = 200


def quoted(text: str) -> str:
    """Return a text as a basic string of TOML 1.0: quotes, backslashes and control characters escaped.

    >>> print(quoted('say "tab"\\t'))
    "say \\"tab\\"\\u0009"
    """
    return '"' + "".join(_escaped(sign) for sign in text) + '"'


def _escaped(sign: str) -> str:
    number = ord(sign)
    if sign in _ESCAPES:
        return _ESCAPES[sign]
    if number < 0x20 or number == 0x7F:
        return f"\\u{number:04X}"
    return "\ufffd" if 0xD800 <= number <= 0xDFFF else sign


def remark(text: str) -> str:
    """Return a text on one line, fit for a comment, of at most 200 characters.

    >>> remark("two\\nlines")
    'two lines'
    """
    plain = " ".join(_CONTROL.sub(" ", text).split())
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 1] + "…"


_ENVIRONMENT: Final = jinja2.Environment(  # noqa: S701 - TOML, not HTML: `quoted` and `remark` escape
    undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True
)
_ENVIRONMENT.filters["quoted"] = quoted
_ENVIRONMENT.filters["remark"] = remark


def filled_in(template: str, values: Mapping[str, object]) -> bytes:
    """Return a template rendered with these values, in UTF-8."""
    return _ENVIRONMENT.from_string(template).render(values).encode()


# A channel's file, drafted from a sample.


@dataclass(frozen=True, slots=True)
class ChannelWords:
    """The values of a drafted channel file: `dialect` are its keys with their values as TOML writes them.

    `columns` have the keys of a [[column]] as their attributes, and remarks. `text` is "" where the sample leaves it
    open; `day_doubtful` where day and month could change places.
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


def channel_toml(template: str, draft: ChannelWords) -> bytes:
    """Return the channel's file."""
    values = {name: getattr(draft, name) for name in ChannelWords.__slots__}
    return filled_in(template, values)


def put_channel(shop: Path, key: str, content: bytes) -> Path:
    """Write channels/<key>.toml and return its path.

    Raises:
        FieldError: it is there already.
        BlockedError: it cannot be written.
    """
    path = free_channel(shop, key)
    refuse_links_below(shop, path)
    put_file(path, content)
    return path


def free_channel(shop: Path, key: str) -> Path:
    """Return the path of channels/<key>.toml.

    Raises:
        FieldError: it is there already.
    """
    path = shop / "channels" / f"{key}.toml"
    if os.path.lexists(path):
        raise FieldError(f"{path} is there already.", "Take another name, or put that file away first.")
    return path
