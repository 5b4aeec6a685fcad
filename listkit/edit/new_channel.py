"""Writes a channel's file as it was drafted from a sample; what lies there already is never overwritten."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from listkit.edit.toml_words import filled_in
from listkit.problem import FieldError


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
