"""What is told of a broken shop behind its faults: what holds whatever is written in their place.

A shop is read as though its faults were mended, once with small stand-ins and once with large ones. What both readings
say in the same words depends on none of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from listkit.model.shop import Guess, Shop
from listkit.problem import Level, Place, Problem

_FAULT: Final = "template-fault"
UNLISTED: Final = (_FAULT, "language-missing")
"""Without what these are told of, a channel has no listings."""
Readings = tuple[tuple[Problem, ...], ...]
"""The problems of each reading."""


def that_can_be_listed(shop: Shop, unlisted: Sequence[Problem], guess: Guess) -> Shop:
    """Return the shop with other stories in the place of faulty ones, and every channel in the shop's language.

    Once without these stories and with the channels' bounds for texts; once with long stories and without such bounds,
    since nobody knows how long texts are in a language that has no words.
    """
    faulty = {each.place.file for each in unlisted if each.code == _FAULT}
    foreign = any(each.code != _FAULT for each in unlisted)
    long, bounded = "A few plain words of nothing in particular. " * 40, guess is Guess.SMALL
    sets = tuple(
        replace(
            folder,
            stories=tuple(
                replace(story, text=long) if story.file in faulty else story
                for story in folder.stories
                if story.file not in faulty or not bounded
            ),
        )
        for folder in shop.sets
    )
    free = {} if bounded else {"title": None, "description": None, "forbidden": ""}
    channels = tuple(
        channel
        if channel.language in (None, shop.settings.language) or not foreign
        else channel.model_copy(update={"language": None, "limits": channel.limits.model_copy(update=free)})
        for channel in shop.channels
    )
    return replace(shop, sets=sets, channels=channels)


def with_hidden(known: tuple[Problem, ...], mended: Readings, finished: Readings) -> tuple[Problem, ...]:
    """Return the problems with those behind others, less remarks that only follow from parts that are left out.

    Args:
        known: what is told of the shop as it is.
        mended: the same of the shop with each kind of stand-in.
        finished: the same without drafts; a problem that it does not have is one of the drafts.
    """
    there, possible = {identity(each) for each in known}, {identity(each) for part in mended for each in part}
    finished_too = {_said(each) for each in _in_each(finished)}
    if not any(each.code in UNLISTED for each in known):
        known = tuple(each for each in known if each.level is Level.MUST_FIX or identity(each) in possible)
    hidden = (each for each in _in_each(mended) if identity(each) not in there)
    marked = (replace(each, draft=_said(each) not in finished_too) for each in hidden)
    return (*known, *marked)


def _in_each(readings: Readings) -> Iterator[Problem]:
    """Yield the problems that every reading has, in the same words."""
    alike = set.intersection(*({_said(problem) for problem in problems} for problems in readings))
    return (problem for problem in readings[0] if _said(problem) in alike)


def _said(problem: Problem) -> tuple[object, ...]:
    """Return by what a problem is the same in two readings, its words included."""
    return (*identity(problem), problem.message, problem.hint)


def identity(problem: Problem) -> tuple[str, Place]:
    """Return by what a problem is the same in two readings; its words may count other sets."""
    return problem.code, replace(problem.place, line=0)
