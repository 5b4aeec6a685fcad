"""What one command asks of the box search: every question once, and all of them within one effort.

A shop may hold questions that no search ends, and thousands of them. So what all searches of a command may cost is
counted, in looks at two pieces; then what is still open is "not decided". No clock: the same shop, the same answers.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final

from listkit.compute.box import Vector
from listkit.compute.box.arrange import Arrangement, Decision, Solid, arrange, decide

MOST_LOOKS: Final = 4_000_000  # of one command, about ten seconds
_MOST_OF_ONE: Final = 3_000_000  # of one question
_MORE_A_SET: Final = 20_000  # large shops have many easy questions


def nothing(done: int, total: int) -> None:
    """Show no progress."""


@dataclass(slots=True)
class Searches:
    """The questions of one command with their answers; `left` is what may still be spent on others.

    `progress` is called after each new question with what was spent, and of how much.
    """

    left: int = MOST_LOOKS
    progress: Callable[[int, int], None] = nothing
    total: int = field(init=False)
    _asked: dict[tuple[Solid, ...], tuple[Solid, ...]] = field(default_factory=dict)
    _decided: dict[tuple[object, ...], Decision] = field(default_factory=dict)
    _arranged: dict[tuple[object, ...], Arrangement] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.total = self.left

    def allow(self, sets: int) -> None:
        """Allow as much more as a shop of so many sets may need."""
        self.left += sets * _MORE_A_SET
        self.total += sets * _MORE_A_SET

    def decide(self, solids: tuple[Solid, ...], room: Vector, *, stacked: bool) -> Decision:
        """Return whether the pieces go in, in any order, and how."""
        asked = self._asked.get(solids)
        if asked is None:  # of many boxes, the same pieces are asked for again and again
            asked = self._asked[solids] = tuple(sorted(replace(solid, dearest=False) for solid in solids))
        key = (asked, room, stacked)
        if key not in self._decided:
            self._decided[key] = decide(asked, room, stacked, min(self.left, _MOST_OF_ONE))
            self._spend(self._decided[key].looks)
        return self._decided[key]

    def arrange(self, solids: tuple[Solid, ...], room: Vector, *, stacked: bool) -> Arrangement:
        """Return how the pieces lie, in their order, which must be ascending but for the dearest."""
        key = (solids, room, stacked)
        if key not in self._arranged:
            decision = self.decide(solids, room, stacked=stacked) if solids else Decision("no")
            self._arranged[key] = arrange(solids, room, decision, min(self.left, _MOST_OF_ONE))
            self._spend(self._arranged[key].looks)
        return self._arranged[key]

    def _spend(self, looks: int) -> None:
        self.left -= looks
        self.progress(self.total - self.left, self.total)
