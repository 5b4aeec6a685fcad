"""Codes in a channel's `sets` and `leave_out`: one that names nothing is a problem with its place."""

from collections.abc import Iterable, Iterator

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.shop import SetFolder
from listkit.problem import Place, Problem
from listkit.read.references import Lines
from listkit.read.wording import perhaps, quoted


def channel_names(channels: Iterable[Channel], names: Lines, sets: Iterable[SetFolder]) -> Iterator[Problem]:
    """Yield the problems of codes in a channel's `sets` and `leave_out` that name nothing.

    Args:
        channels: those that could be read.
        names: every code there is, None where some file could not be read.
        sets: the sound sets; of others it is not known what may be left out of them.
    """
    if names.known is None:
        return
    gift_sets = {folder.gift_set.code: folder.gift_set for folder in sets}
    variants = {*names.variants, *(f"{code}-{part}" for code, one in gift_sets.items() for part in _parts(one))}
    unsound = tuple(f"{code}-" for code in names.known - names.sound)
    for channel in channels:
        place = f"channels/{channel.key}.toml"
        for at, code in enumerate(channel.sets):
            if code not in gift_sets and code not in names.known:
                hint = perhaps(code, gift_sets) or "Write the code of a set."
                yield Problem(Place(place, key=("sets", at)), "unknown-code", f"there is no set {quoted(code)}.", hint)
        for at, code in enumerate(channel.leave_out):
            known = code in names.known or code in variants or code.startswith(unsound)
            if not known and not any(_is_variant(code, each) for each in gift_sets.values()):
                hint = perhaps(code, (*names.known, *variants)) or "Write the code of a set, an item or a variant."
                message = f"there is no set, item or option {quoted(code)}."
                yield Problem(Place(place, key=("leave_out", at)), "unknown-code", message, hint)


def _parts(gift_set: GiftSet) -> Iterator[str]:
    return (option.part or option.item.rpartition("-")[2] for slot in gift_set.slots for option in slot.choose)


def _is_variant(code: str, gift_set: GiftSet) -> bool:
    """Whether a code is made of a set's and a part for each of its slots."""
    parts = code.removeprefix(f"{gift_set.code}-").split("-")
    return (
        code.startswith(f"{gift_set.code}-")
        and len(parts) == len(gift_set.slots)
        and set(parts) <= set(_parts(gift_set))
    )
