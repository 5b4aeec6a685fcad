"""Stock: how many can be made of a variant and of a set, and what a channel may publish.

How many of a set is a question of whole numbers: k sets take k choices in every slot, and slots may draw on the same
items. Where all slots that share an item take as many of it at a time, it is a flow; where they do not, pieces are
counted in blocks that every slot can take whole, and all ways to spend what is left beside the blocks are tried. Where
there are too many ways, most choices are given first, as whole rounds or as a flow of pieces gives them, and only the
last few are tried: what is found so can be made, and is now and then one set or a few short of the most.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, product
from math import lcm, prod
from operator import add, itemgetter

from listkit.compute.catalog import Piece
from listkit.compute.flow import Flow

_Whole = tuple[int, ...]  # numbers, one a slot or a kind of items
_Takes = tuple[tuple[int, int], ...]  # the place of an item, and how many a choice takes of it
Codes = tuple[str, ...]  # of the options chosen, one a slot
_MOST_WAYS = 5_000  # to spend what is left beside blocks; with more of them only those near a good one are tried
_MOST_TRIES = 200_000  # looks at a choice, where closing couples slots
_MOST_TRIED = 300  # choices; of the others as many are made as are left
_KEPT = (0, 1, 2, 3)  # rounds of an item, or choices of it for a slot, that are tried anew
_MOST_SHARED = 200  # items that slots of unlike quantity draw on; with more of them likewise


def can_make(pieces: Iterable[Piece], packing: tuple[int | None, ...] = ()) -> int | None:
    """Return the least over items of ⌊on hand ÷ quantity⌋, and of counted packing; None if none is counted."""
    needed: dict[str, int] = {}
    limits = [have for have in packing if have is not None]
    for piece in pieces:
        item = piece.item
        if (have := item.on_hand) is not None:
            code = item.code
            needed[code] = asked = needed.get(code, 0) + piece.quantity
            limits.append(have // asked)
    return min(limits) if limits else None


@dataclass(frozen=True, slots=True)
class _Asked:
    """A slot that limits: how many of the chosen item it takes, and the items, all counted."""

    quantity: int
    codes: frozenset[str]


def can_make_of_set(
    fixed: tuple[Piece, ...],
    slots: tuple[tuple[Piece, ...], ...],
    packing: tuple[int | None, ...],
    *,
    closed: Sequence[Codes] = (),
    sold: Sequence[Codes] = (),
) -> int | None:
    """Return the largest k such that k sets can be put together, each with a choice that is sold.

    Args:
        fixed: what lies in every set.
        slots: the options of each slot.
        packing: how many boxes, fills and cards there are, None where they are not counted.
        closed: the choices that are not sold; the others are `sold`, which is asked for only where some are closed.

    Returns:
        None when nothing limits. It is no more than can be made, and may be less, where there are too many ways to try:
        slots of unlike quantity share several items, and have many ways to spend them (slots of 2, 3, 4 and 5, of 3, 5
        and 7) or more than 200 items; closing couples more than two slots, or two that share items or draw on those of
        others. Of one item that all slots share it is exact.
    """
    if closed:
        options = [{codes[at] for codes in sold} for at in range(len(slots))]
        slots = tuple(tuple(piece for piece in slot if piece.item.code in options[at]) for at, slot in enumerate(slots))
        coupling = [codes for codes in closed if all(code in options[at] for at, code in enumerate(codes))]
        if coupling:
            return _coupled(fixed, slots, packing, coupling, sold)
    return _most(fixed, slots, packing)


def can_make_in_boxes(
    fixed: tuple[Piece, ...],
    slots: tuple[tuple[Piece, ...], ...],
    packing: tuple[int | None, ...],
    boxes: Mapping[Codes, Mapping[str, int]],
) -> int | None:
    """Return the same where each choice lies in a box of its own.

    Args:
        fixed: what lies in every set.
        slots: the options of each slot.
        packing: how many cards there are, None where they are not counted.
        boxes: by the choices that are sold what each takes one of, its box and its fill, and how many of it there are.

    Returns:
        None when nothing limits; no more than can be made, and now and then less.
    """
    chosen = [{codes[at] for codes in boxes} for at in range(len(slots))]
    slots = tuple(tuple(piece for piece in slot if piece.item.code in chosen[at]) for at, slot in enumerate(slots))
    return _tried_out(fixed, slots, packing, boxes)


def published(makeable: int | None, hold_back: int) -> int | None:
    """Return what a channel may publish: what can be made less what is held back, never below zero."""
    return None if makeable is None else max(0, makeable - hold_back)


def _most(
    fixed: tuple[Piece, ...],
    slots: tuple[tuple[Piece, ...], ...],
    packing: tuple[int | None, ...],
    pairs: "_Pairs | None" = None,
) -> int | None:
    """Return the most sets, every choice being sold, or only those in which two slots make one of `pairs`."""
    have = {p.item.code: p.item.on_hand for slot in slots for p in slot if p.item.on_hand is not None}
    asked = [
        _Asked(slot[0].quantity, frozenset(piece.item.code for piece in slot)) if slot else _Asked(1, frozenset())
        for slot in slots
        if all(piece.item.on_hand is not None for piece in slot)
    ]
    limits = [sum(have[code] // slot.quantity for code in slot.codes) for slot in asked]
    limits += [most for most in (can_make(fixed, packing), pairs.most() if pairs else None) if most is not None]
    if not limits:
        return None
    used: Counter[str] = Counter()
    for piece in fixed:
        used[piece.item.code] += piece.quantity
    groups = list(_sharing(asked))

    def suffices(k: int) -> bool:
        left = {code: number - k * used[code] for code, number in have.items()}
        return all(_serves(k, group, left) for group in groups) and (pairs is None or pairs.serves(k, left))

    low, high = 0, min(limits)
    if suffices(high):
        return high
    while low < high - 1:
        middle = (low + high) // 2
        low, high = (middle, high) if suffices(middle) else (low, middle)
    return low


def _sharing(asked: Iterable[_Asked]) -> Iterator[list[_Asked]]:
    """Yield the slots in groups, those together that draw on the same items."""
    groups: list[list[_Asked]] = []
    for slot in asked:
        near = [group for group in groups if any(slot.codes & member.codes for member in group)]
        groups = [group for group in groups if group not in near]
        groups.append([*(member for group in near for member in group), slot])
    yield from groups


def _serves(k: int, group: Sequence[_Asked], left: Mapping[str, int]) -> bool:
    """Whether what is left gives every slot of a group k whole choices."""
    quantities = {slot.quantity for slot in group}
    if len(group) == 1 or len(quantities) == 1:
        (quantity,) = quantities
        return _flows([(slot.codes, k) for slot in group], {code: number // quantity for code, number in left.items()})
    most, whole = max(quantities), lcm(*quantities)
    if _flows([(slot.codes, k) for slot in group], {code: number // most for code, number in left.items()}):
        return True
    if not _flows([(slot.codes, k * slot.quantity) for slot in group], left):
        return False
    return any(_in_blocks(lacking, group, there, whole) for lacking, there in _begun(k, group, left))


def _begun(k: int, group: Sequence[_Asked], left: Mapping[str, int]) -> Iterator[tuple[_Whole, dict[str, int]]]:
    """Yield how many choices each slot lacks and what is left, where nothing is given yet, and once most choices are.

    Given are whole rounds, each one choice of every slot from one item that all of them take, then what a flow of
    pieces gives; of either a few are kept, so that what is near to it can be tried.
    """
    yield (k,) * len(group), dict(left)
    each = sum(slot.quantity for slot in group)
    shared = sorted(frozenset.intersection(*(slot.codes for slot in group)))
    for kept in _KEPT:
        lacking, there = k, dict(left)
        for code in shared:
            rounds = min(lacking, max(0, there[code] // each - kept))
            lacking -= rounds
            there[code] -= rounds * each
        yield (lacking,) * len(group), there
    flowing = _given(k, group, left)
    for kept in _KEPT:
        lacks, there = [k] * len(group), dict(left)
        for (at, code), number in flowing.items():
            taken = max(0, number - kept)
            lacks[at] -= taken
            there[code] -= taken * group[at].quantity
        yield tuple(lacks), there


def _given(k: int, group: Sequence[_Asked], left: Mapping[str, int]) -> dict[tuple[int, str], int]:
    """Return how many whole choices each slot gets of each item in one flow of the pieces of k choices each."""
    needed: Counter[frozenset[str]] = Counter()
    for slot in group:
        needed[slot.codes] += k * slot.quantity
    flow = Flow(needed, {code: max(left[code], 0) for codes in needed for code in codes})
    flow.short_of()
    lacking, given = [k] * len(group), {}
    for code, takers in flow.given.items():
        for codes, flowing in takers.items():
            pieces = flowing
            for at, slot in enumerate(group):
                if slot.codes == codes:
                    number = min(lacking[at], pieces // slot.quantity)
                    given[at, code] = number
                    lacking[at] -= number
                    pieces -= number * slot.quantity
    return given


def _flows(needs: Sequence[tuple[frozenset[str], int]], there: Mapping[str, int]) -> bool:
    """Whether every one of `needs` gets as many as it asks for of its own."""
    if len(needs) == 1:
        ((codes, number),) = needs
        return sum(max(there[code], 0) for code in codes) >= number
    needed: Counter[frozenset[str]] = Counter()
    for codes, number in needs:
        needed[codes] += number
    flow = Flow(needed, {code: max(there[code], 0) for codes in needed for code in codes})
    return not flow.short_of()


def _in_blocks(lacking: _Whole, group: Sequence[_Asked], left: Mapping[str, int], whole: int) -> bool:
    """Whether slots of unlike quantity get the choices that they lack; with too many ways to try the answer is no.

    A block is so many pieces of one item that any slot takes it without a rest: of 2 and 3 at a time it is 6. An item
    gives each slot a few choices, fewer than a block holds, and the rest in blocks, which any of its slots may take.
    So ways differ in those few alone, and what they leave for blocks is a flow. No way may waste more pieces than
    there are beyond what all slots ask for.
    """
    items: dict[str, tuple[int, ...]] = {}
    for code in sorted(frozenset[str]().union(*(slot.codes for slot in group))):
        items[code] = tuple(at for at, slot in enumerate(group) if code in slot.codes)
    fewer = [min(whole // slot.quantity, number + 1) for slot, number in zip(group, lacking, strict=True)]
    if not any(lacking) or len(items) > _MOST_SHARED or prod(fewer) > _MOST_WAYS:
        return not any(lacking)
    kinds = sorted(set(items.values()))
    takes = [frozenset(str(kind) for kind, takers in enumerate(kinds) if at in takers) for at in range(len(group))]
    ways = [
        (kinds.index(takers), sorted(_beside(max(left[code], 0), takers, group, whole, fewer), key=itemgetter(2)))
        for code, takers in items.items()
    ]
    seen = set[tuple[int, _Whole, _Whole]]()

    def suffices(at: int, given: _Whole, blocks: _Whole, spare: int) -> bool:
        if (at, given, blocks) in seen or len(seen) >= _MOST_WAYS:
            return False
        seen.add((at, given, blocks))
        if at == len(ways):
            needs = [
                max(0, -(-(number - few) * slot.quantity // whole))
                for number, few, slot in zip(lacking, given, group, strict=True)
            ]
            there = {str(kind): number for kind, number in enumerate(blocks)}
            return sum(needs) <= sum(blocks) and _flows(list(zip(takes, needs, strict=True)), there)
        kind, some = ways[at]
        return any(
            suffices(
                at + 1,
                tuple(map(add, given, few)),
                (*blocks[:kind], blocks[kind] + number, *blocks[kind + 1 :]),
                spare - wasted,
            )
            for few, number, wasted in some
            if wasted <= spare
        )

    spare = sum(max(left[code], 0) for code in items) - sum(
        number * slot.quantity for number, slot in zip(lacking, group, strict=True)
    )
    return suffices(0, (0,) * len(group), (0,) * len(kinds), spare)


def _beside(
    there: int, takers: tuple[int, ...], group: Sequence[_Asked], whole: int, fewer: Sequence[int]
) -> Iterator[tuple[tuple[int, ...], int, int]]:
    """Yield how many choices an item gives each slot beside blocks, how many blocks are left, and what is wasted.

    A slot gets `fewer` than so many of them.
    """
    for few in product(*(range(fewer[at]) if at in takers else (0,) for at in range(len(group)))):
        rest = there - sum(number * slot.quantity for number, slot in zip(few, group, strict=True))
        if rest >= 0:
            yield few, *divmod(rest, whole)


# Where variants are closed whose options are sold in others: two slots that are coupled by it are a flow from one to
# the other; what is coupled otherwise is tried out.


@dataclass(frozen=True, slots=True)
class _Pairs:
    """The options of two slots that are sold together, and what there is of them; None where they are not counted."""

    quantities: tuple[int, int]
    sold: frozenset[tuple[str, str]]
    have: Mapping[str, int | None]

    def most(self) -> int | None:
        """Return how many pairs there are with all that is on hand."""
        counted = {code: number for code, number in self.have.items() if number is not None}
        beyond = sum(counted.values()) + 1
        reached = self._flow(beyond, counted)
        return None if reached >= beyond else reached

    def serves(self, k: int, left: Mapping[str, int]) -> bool:
        """Whether what is left makes k pairs."""
        return self._flow(k, left) >= k

    def _flow(self, most: int, left: Mapping[str, int]) -> int:
        def number(code: str, quantity: int) -> int:
            return most if self.have[code] is None else max(left[code], 0) // quantity

        beside: dict[str, set[str]] = {}
        for first, second in self.sold:
            beside.setdefault(first, set()).add(second)
        needed: Counter[frozenset[str]] = Counter()
        for first, seconds in beside.items():
            needed[frozenset(seconds)] += number(first, self.quantities[0])
        flow = Flow(needed, {second: number(second, self.quantities[1]) for _, second in self.sold})
        flow.short_of()
        return sum(needed.values()) - sum(flow.open.values())


def _coupled(
    fixed: tuple[Piece, ...],
    slots: tuple[tuple[Piece, ...], ...],
    packing: tuple[int | None, ...],
    coupling: Sequence[Codes],
    sold: Sequence[Codes],
) -> int | None:
    """Return the most sets where closing couples slots: a flow where it couples two that share no item."""
    of = [{piece.item.code: piece.item.on_hand for piece in slot} for slot in slots]
    for first, second in combinations(range(len(slots)), 2):
        pairs = frozenset((codes[first], codes[second]) for codes in sold)
        elsewhere = [code for at, have in enumerate(of) if at not in (first, second) for code in have]
        alone = len({*of[first], *of[second]} - {*elsewhere}) == len(of[first]) + len(of[second])
        if alone and all((codes[first], codes[second]) not in pairs for codes in coupling):
            quantities = (slots[first][0].quantity, slots[second][0].quantity)
            return _most(fixed, slots, packing, _Pairs(quantities, pairs, {**of[first], **of[second]}))
    return _tried_out(fixed, slots, packing, {codes: {} for codes in sold})


def _tried_out(
    fixed: tuple[Piece, ...],
    slots: tuple[tuple[Piece, ...], ...],
    packing: tuple[int | None, ...],
    sold: Mapping[Codes, Mapping[str, int]],
) -> int | None:
    """Return the most sets that some numbers of each choice make: tried from the most on, within a bound of tries.

    `sold` has for each choice what it takes one of beside its pieces, and how many of it there are.
    """
    by_code = [{piece.item.code: piece for piece in slot} for slot in slots]
    have: dict[str, int] = {}
    needs: list[Counter[str]] = []
    for codes, boxes in sold.items():
        need = Counter(dict.fromkeys(boxes, 1))
        have |= boxes
        for piece in (*fixed, *(pieces[code] for pieces, code in zip(by_code, codes, strict=True))):
            if piece.item.on_hand is not None:
                have[piece.item.code] = piece.item.on_hand
                need[piece.item.code] += piece.quantity
        needs.append(need)
    packs = min((number for number in packing if number is not None), default=None)
    if packs is None and not all(needs):
        return None
    never_more = _most(fixed, slots, packing)  # were nothing closed
    trial = _Trial(needs, tuple(have), sum(have.values()) if packs is None else packs)
    return trial.most(tuple(have.values()), sum(have.values()) if never_more is None else never_more)


class _Trial:
    """Tries how many of each choice to make; the choices of which most can be made come first."""

    def __init__(self, needs: Sequence[Counter[str]], codes: Codes, packs: int) -> None:
        places = {code: at for at, code in enumerate(codes)}
        self._needs = [tuple((places[code], quantity) for code, quantity in need.items()) for need in needs]
        self._packs = packs
        self._others: list[_Takes] = []
        self._looks = 0
        self._best = 0
        self._reached: dict[tuple[int, _Whole], int] = {}

    def most(self, have: _Whole, never_more: int) -> int:
        """Return the most sets found; `never_more` is what no way exceeds."""
        by_number = sorted(self._needs, key=lambda need: -self._number(need, have))
        self._needs, self._others = by_number[:_MOST_TRIED], by_number[_MOST_TRIED:]
        self._try(0, have, 0, never_more)
        return self._best

    def _number(self, need: _Takes, left: Sequence[int]) -> int:
        return min([left[at] // quantity for at, quantity in need], default=self._packs)

    def _try(self, at: int, left: _Whole, made: int, never_more: int) -> None:
        if at == len(self._needs):
            self._looks += len(self._others)
            made += self._made_of_others(left, self._packs - made)
        self._best = max(self._best, made)
        if self._done(never_more) or at == len(self._needs) or self._reached.get((at, left), -1) >= made:
            return
        self._looks += len(self._needs) - at
        self._reached[at, left] = made
        could_be = sum(self._number(need, left) for need in self._needs[at:])
        if made + could_be <= self._best and not self._others:
            return
        need = self._needs[at]
        most = min(self._number(need, left), self._packs - made)
        for number in chain((most, 0), range(most - 1, 0, -1)):  # none second: the rest may need all of it
            rest = list(left)
            for place, quantity in need:
                rest[place] -= number * quantity
            self._try(at + 1, tuple(rest), made + number, never_more)
            if self._done(never_more) or (at + 1 == len(self._needs) and not self._others):
                return  # of the last choice fewer are never better

    def _done(self, never_more: int) -> bool:
        return self._best >= never_more or self._looks >= _MOST_TRIES

    def _made_of_others(self, left: _Whole, most: int) -> int:
        made, rest = 0, list(left)
        for need in self._others:
            if number := min(self._number(need, rest), most - made):
                for at, quantity in need:
                    rest[at] -= number * quantity
                made += number
        return made
