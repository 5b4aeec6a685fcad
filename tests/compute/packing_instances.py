"""Packing instances for tests and benches: cut to fit, drawn near the limit, or from a published generator."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import prod

from listkit.compute.box import Block, Vector


@dataclass(frozen=True, slots=True)
class Instance:
    """Pieces and a room, on two axes or three, all turns allowed; which pieces are fragile, which are heavy."""

    sides: tuple[Vector, ...]
    room: Vector
    fragile: frozenset[int] = frozenset()
    heavy: frozenset[int] = frozenset()

    @property
    def blocks(self) -> tuple[Block, ...]:
        """The pieces with every way to turn them."""
        return tuple(
            Block(tuple(sorted(set(permutations(sides)))), (), index in self.fragile, index in self.heavy)
            for index, sides in enumerate(self.sides)
        )


def blocks_of(*sides: Vector) -> tuple[Block, ...]:
    """Return blocks that may be turned in every way."""
    return tuple(Block(tuple(sorted(set(permutations(each))))) for each in sides)


def cut_tightly(rng: random.Random, count: int, axes: int) -> Instance:
    """Cut a room guillotine-wise into `count` pieces without waste, turned and shuffled: fits by construction."""
    room = tuple(rng.randint(80, 250) for _ in range(axes))
    parts = [room]
    while len(parts) < count:
        part = max(parts, key=lambda sides: prod(sides) * rng.uniform(0.3, 1))
        parts.remove(part)
        axis = rng.choice([axis for axis in range(axes) if part[axis] >= 20] or [part.index(max(part))])
        at = rng.randint(max(1, part[axis] // 4), max(1, part[axis] * 3 // 4))
        parts += [(*part[:axis], at, *part[axis + 1 :]), (*part[:axis], part[axis] - at, *part[axis + 1 :])]
    rng.shuffle(parts)
    return Instance(tuple(tuple(rng.sample(part, axes)) for part in parts), room)


def near_the_limit(rng: random.Random, count: int, axes: int) -> Instance:
    """Draw pieces and a room that they fill to between 55 and 100 hundredths: about as many fit as do not."""
    sides = tuple(tuple(rng.randint(15, 90) for _ in range(axes)) for _ in range(count))
    shape = [rng.uniform(0.6, 1.4) for _ in range(axes)]
    volume = sum(map(prod, sides)) / rng.uniform(0.55, 1.0)
    scale = (volume / prod(shape)) ** (1 / axes)
    return Instance(sides, tuple(max(1, round(side * scale)) for side in shape))


def nudged(rng: random.Random, count: int, axes: int) -> Instance:
    """Cut tightly, then make sides up to three units shorter or one longer: whether it still fits hangs by a hair."""
    cut = cut_tightly(rng, count, axes)
    moved = tuple(tuple(max(1, side - rng.randint(-1, 3)) for side in sides) for sides in cut.sides)
    return Instance(moved, cut.room)


def alike(rng: random.Random, count: int, axes: int) -> Instance:
    """Draw one or two kinds of pieces, several of each, near the limit."""
    kinds = near_the_limit(rng, 2, axes).sides
    sides = tuple(rng.choice(kinds) for _ in range(count))
    volume = sum(map(prod, sides)) / rng.uniform(0.6, 1.0)
    shape = [rng.uniform(0.6, 1.4) for _ in range(axes)]
    scale = (volume / prod(shape)) ** (1 / axes)
    return Instance(sides, tuple(max(1, round(side * scale)) for side in shape))


def ruled(rng: random.Random, count: int) -> Instance:
    """Draw pieces in space of which some are fragile and some heavy."""
    instance = near_the_limit(rng, count, 3)
    some = [frozenset(index for index in range(count) if rng.random() < 0.4) for _ in range(2)]
    return Instance(instance.sides, instance.room, fragile=some[0], heavy=some[1])


class Lrand48:
    """The POSIX lrand48 stream: x ← 0x5DEECE66D·x + 11 mod 2^48, seed (s << 16) | 0x330E, output x >> 17."""

    def __init__(self, seed: int) -> None:
        self.state = (seed & 0xFFFFFFFF) << 16 | 0x330E

    def draw(self) -> int:
        """Return the next number."""
        self.state = (0x5DEECE66D * self.state + 11) % (1 << 48)
        return self.state >> 17

    def between(self, low: int, high: int) -> int:
        """Return the next number from `low` to `high`."""
        return self.draw() % (high - low + 1) + low


def published_class(number: int, count: int, replicate: int) -> tuple[Vector, ...]:
    """Return the items of Martello, Pisinger, Vigo (2000), classes 1 and 4 to 8, written anew from the description."""
    stream = Lrand48(replicate + count)
    return tuple(_item(stream, number) for _ in range(count))


def _item(stream: Lrand48, number: int) -> Vector:
    if number > 5:
        top = {6: 10, 7: 35, 8: 100}[number]
        return tuple(stream.between(1, top) for _ in range(3))
    drawn = stream.between(1, 10)
    kind = drawn if drawn <= 5 else number
    return tuple(stream.between(low, high) for low, high in KINDS[kind])


HALF, THIRDS = 50, 66
LONG, SHORT, BIG, ANY = (THIRDS, 100), (1, HALF), (HALF, 100), (1, HALF)
KINDS: dict[int, Sequence[tuple[int, int]]] = {
    1: (SHORT, LONG, LONG),
    2: (LONG, SHORT, LONG),
    3: (LONG, LONG, SHORT),
    4: (BIG, BIG, BIG),
    5: (ANY, ANY, ANY),
}


def drawn(seed: str, count: int, *, most: int = 7) -> Iterator[Instance]:
    """Yield `count` instances of two to `most` pieces on two and three axes, all kinds by turns."""
    rng = random.Random(seed)
    for number in range(count):
        pieces, axes = rng.randint(2, most), 2 + number % 2
        match number % 5:
            case 0:
                yield nudged(rng, pieces, axes)
            case 1:
                yield alike(rng, pieces, axes)
            case 2:
                yield ruled(rng, pieces)
            case _:
                yield near_the_limit(rng, pieces, axes)
