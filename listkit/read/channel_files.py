"""Reads the channel files: one a channel, its key the file's stem, which also names its folder of output."""

import re
from collections.abc import Iterable
from pathlib import Path, PurePosixPath
from typing import Final

from listkit.model.channel import Channel
from listkit.problem import Place, Problem
from listkit.read.source import TOML_LIMIT, read_source
from listkit.read.toml_file import read_toml
from listkit.read.wording import quoted

_KEY: Final = re.compile(r"[a-z0-9]+(?:[_-][a-z0-9]+)*")
_TAKEN: Final = ("wholesale", "print")  # folders of output that belong to no channel


def read_channels(root: Path, files: Iterable[str], currency: str) -> tuple[tuple[Channel, ...], list[Problem]]:
    """Return the channels in the order of their files."""
    channels: list[Channel] = []
    problems: list[Problem] = []
    for file in files:
        source = read_source(root, file, limit=TOML_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
            continue
        key = PurePosixPath(file).stem
        channel, told = read_toml(source, Channel, given={"key": key}, currency=currency)
        if not _KEY.fullmatch(key) or key in _TAKEN:
            hint = 'Name the file with small letters, digits and _, as in "web_shop.toml".'
            told.append(Problem(Place(file), "bad-value", f"{quoted(key)} cannot be a channel's key.", hint))
        elif channel:
            channels.append(channel)
        problems += told
    return tuple(channels), problems
