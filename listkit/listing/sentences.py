"""Sentences that an owner may write anew: which places each takes, and without which of them a fact is lost."""

import re
from collections.abc import Iterator
from dataclasses import field
from typing import Any, Final

Places = tuple[str, ...]
_PLACE: Final = re.compile(r"\{(\w+)\}")


def with_places(*takes: str, spared: Places = (), once: Places = ()) -> Any:  # noqa: ANN401 (as dataclasses.field itself)
    """Return the field of a sentence; without a place not `spared` a fact is lost, those of `once` stand once."""
    return field(metadata={"takes": takes, "needs": tuple(one for one in takes if one not in spared), "once": once})


def may_be_empty(*takes: str) -> Any:  # noqa: ANN401
    """Return the field of a sentence that only adds to what is said; an empty one leaves it out."""
    return field(metadata={"takes": takes, "needs": takes, "nicety": True})


def may_be_missing(*takes: str) -> Any:  # noqa: ANN401
    """Return the field of words that came later: an owner's file of before goes on without them, and so do pages."""
    return field(default="", metadata={"takes": takes, "needs": takes})


def fill(sentence: str, **values: str) -> str:
    """Return `sentence` with every {name} replaced by its value.

    >>> fill("{count} × {what}", count="2", what="{count} bars")
    '2 × {count} bars'
    """
    return _PLACE.sub(lambda place: values[place[1]], sentence)


def sentence_faults(
    key: str, value: object, takes: Places = (), needs: Places = (), once: Places = (), *, nicety: bool = False
) -> Iterator[tuple[str, str, str]]:
    """Yield code, message and hint of what is wrong with one sentence; None is one that is not there.

    >>> [*sentence_faults("net.times", "{count} × {what}", ("count", "size"))]
    [('template-fault', '"net.times" has a place {what}.', 'Known here: {count}, {size}.')]
    """
    if value is None:
        yield "language-missing", f'there is no "{key}".', f'Write {key.rpartition(".")[2]} = "...".'
        return
    if not isinstance(value, str):
        yield "template-fault", f'"{key}" is not a text.', "Write it in quotes."
        return
    if nicety and not value.strip():
        return
    there = _PLACE.findall(value)
    if strange := sorted(set(there) - set(takes)):
        known = ", ".join(f"{{{name}}}" for name in takes) or "none"
        yield "template-fault", f'"{key}" has a place {{{strange[0]}}}.', f"Known here: {known}."
        return
    for name in needs:
        often = there.count(name)
        if not often or (name in once and often > 1):
            how = " once" if name in once else ""
            yield "template-fault", f'"{key}" must have the place {{{name}}}{how}.', f"Write {{{name}}} in it."
