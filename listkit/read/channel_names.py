"""Codes in a channel's `sets` and `leave_out`: one that names nothing is a problem with its place."""

from collections.abc import Iterable, Iterator

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.shop import SetFolder
from listkit.problem import Problem
from listkit.read.references import Lines
from listkit.read.wording import perhaps, quoted


def channel_names(
    channels: Iterable[Channel], names: Lines, sets: Iterable[SetFolder], set_codes: frozenset[str] | None
) -> Iterator[Problem]:
    """Yield the problems of codes in a channel's `sets` and `leave_out` that name nothing.

    Args:
        channels: those that could be read.
        names: every code there is, None where some file could not be read.
        sets: the sound sets; of others it is not known what may be left out of them.
        set_codes: of all sets, None where one could not be read.
    """
    gift_sets = {folder.gift_set.code: folder.gift_set for folder in sets}
    variants = {*names.variants, *(f"{code}-{part}" for code, one in gift_sets.items() for part in _parts(one))}
    known_codes = names.known or frozenset()
    unsound = tuple(f"{code}-" for code in known_codes - names.sound)
    for channel in channels:
        for at, code in enumerate(channel.sets if set_codes is not None else ()):
            if set_codes is not None and code not in set_codes:
                is_item = code in known_codes
                message = f"{quoted(code)} is an item, not a set." if is_item else f"there is no set {quoted(code)}."
                hint = ("" if is_item else perhaps(code, set_codes)) or "Write the code of a set."
                yield Problem(channel.place("sets", at), "unknown-code", message, hint)
        for at, code in enumerate(channel.leave_out if names.known is not None else ()):
            known = code in known_codes or code in variants or code.startswith(unsound)
            if not known and not any(_is_variant(code, each) for each in gift_sets.values()):
                hint = perhaps(code, (*known_codes, *variants)) or "Write the code of a set, an item or a variant."
                message = f"there is no set, item or option {quoted(code)}."
                yield Problem(channel.place("leave_out", at), "unknown-code", message, hint)


def _parts(gift_set: GiftSet) -> Iterator[str]:
    return (option.code_part for slot in gift_set.slots for option in slot.choose)


def _is_variant(code: str, gift_set: GiftSet) -> bool:
    """Whether a code is made of a set's and, slot by slot, a part of one of its options; parts may hold hyphens."""
    rests = {code.removeprefix(gift_set.code)} if code.startswith(gift_set.code) else set[str]()
    for slot in gift_set.slots:
        parts = [f"-{option.code_part}" for option in slot.choose]
        rests = {rest.removeprefix(part) for rest in rests for part in parts if rest.startswith(part)}
    return "" in rests
