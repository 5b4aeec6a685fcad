"""What the names in a [[reduction]] stand for: channels and sets. What names nothing is told; it lowers nothing."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import PurePosixPath

from listkit.model.reduction import Reduction
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder
from listkit.problem import Place, Problem
from listkit.read.folder import SHOP
from listkit.read.wording import listed, perhaps, quoted, write_instead


def reduction_names(
    settings: Settings, sets: Iterable[SetFolder], channels: Iterable[str], codes: frozenset[str] | None
) -> list[Problem]:
    """Return the problems of names in reductions.

    Args:
        settings: with the shop's own reductions.
        sets: with theirs.
        channels: the channel files there are, read or not.
        codes: of all sets, None where one could not be read.
    """
    keys = tuple(PurePosixPath(file).stem for file in channels)
    problems = [*_channels(settings.reductions, keys, SHOP), *_sets(settings, codes)]
    for folder in sets:
        problems += _channels(folder.gift_set.reductions, keys, f"sets/{folder.folder}/set.toml")
    return problems


def _channels(reductions: Sequence[Reduction], keys: tuple[str, ...], file: str) -> Iterator[Problem]:
    for at, one in enumerate(reductions):
        for number, key in enumerate(one.channels):
            if key not in keys:
                there = f"Channels are {listed(keys, 'and')}." if keys else "There are no channels."
                place = Place(file, key=("reduction", at, "channels", number))
                hint = write_instead(key, keys) or there
                yield Problem(place, "unknown-code", f"there is no channel {quoted(key)}.", hint)


def _sets(settings: Settings, codes: frozenset[str] | None) -> Iterator[Problem]:
    for at, one in enumerate(settings.reductions if codes is not None else ()):
        for number, code in enumerate(one.sets):
            if codes is not None and code not in codes:
                place = Place(SHOP, key=("reduction", at, "sets", number))
                hint = perhaps(code, codes) or "Write the code of a set."
                yield Problem(place, "unknown-code", f"there is no set {quoted(code)}.", hint)
