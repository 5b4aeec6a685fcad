"""Made-up questions of who gets which piece: sets of two fixed pieces and one to choose, sold at several places."""

import random
from typing import Any

from listkit.compute.allotment import Sharing, Ware
from listkit.model.allotment import Allotment

FEES = ((2, 15), (11, 25), (1, 0), (6, 0), (9, 20), (0, 0))
"""What each place takes of a sale: per cent, and pence."""


def sharing(
    seed: int, *, items: int, sets: int, variants: int, places: int, wishes: int = 0, most: int = 120
) -> Sharing:
    """Return a question of so many items, sets and places; the same for the same seed.

    `wishes` is how many there are for at least or at most so many of one set or piece, `most` the largest stock.
    """
    chance = random.Random(seed)
    have = {f"I{at:03}": chance.randrange(most // 10, most + 1) for at in range(items)}
    price = {code: chance.randrange(400, 1600) for code in have}
    held = [chance.choice((0, 0, 2)) for _ in range(places)]
    units: dict[str, list[tuple[str, tuple[str, ...]]]] = {code: [(code, (code,))] for code in have}
    for number in range(sets):
        first, second, *others = chance.sample(sorted(have), min(items, variants + 2))
        units[f"S{number:03}"] = [(f"S{number:03}-{other}", (first, second, other)) for other in others]
    wares = []
    for at in range(places):
        for unit, sold in sorted(units.items()):
            for code, pieces in sold:
                retail = sum(price[piece] for piece in pieces) + (100 if len(pieces) > 1 else 0)
                share, fixed = FEES[at % len(FEES)]
                kept = retail - (retail * share + 50) // 100 - fixed - retail // 3
                needs = tuple((piece, 1) for piece in pieces)
                wares.append(Ware(place=f"P{at}", code=code, unit=unit, needs=needs, kept=kept, hold=held[at]))
    wished: list[dict[str, Any]] = []
    for _ in range(wishes):
        place, unit = f"P{chance.randrange(places)}", chance.choice(sorted(units))
        code = chance.choice((unit, chance.choice(units[unit])[0]))
        number = chance.randrange(1, max(2, most // 4))
        wished.append({"place": place, "of": [code], chance.choice(("least", "most")): number})
    return Sharing(tuple(wares), have, Allotment.model_validate({"wish": wished}))
