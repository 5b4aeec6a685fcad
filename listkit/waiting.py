"""Who hears that something waits for another program: what waits says so here, and the command line prints it.

A wait without a word looks like a program that hangs. Nothing of ours is imported, so that any layer may say it.
"""

from collections.abc import Callable

_listeners: list[Callable[[str], object]] = []
_said: set[str] = set()


def hear(listener: Callable[[str], object]) -> None:
    """Let `listener` have what is said from now on, the same sentence once, in place of who had it before."""
    _said.clear()
    _listeners[:] = [listener]


def say_waiting(sentence: str) -> None:
    """Say what is waited for, and for how long; nobody need listen."""
    if sentence not in _said:
        _said.add(sentence)
        for listener in _listeners:
            listener(sentence)
