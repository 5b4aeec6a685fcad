"""A new set: proposes what it could hold and its code, and makes its folder.

The folder has set.toml and story.md with two lines left to write, and shots.md, a list of photos to take, which is not
read. What story.md explains is a comment of its template language, which is never put into a text.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import count, islice, product
from pathlib import Path
from typing import Final

from slugify import slugify

from listkit.edit.files import filled_in, in_the_making, quoted, write_file
from listkit.edit.toml_text import lead, line_start, parsed, says
from listkit.model.fields import SetStatus, Shape, Status
from listkit.model.gift_set import TO_WRITE, Fixed, GiftSet
from listkit.model.item import Item
from listkit.model.packaging import GiftBox
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.paths import is_device
from listkit.problem import BlockedError, FieldError
from listkit.read.position import layout

# The proposal: a bar, a small thing, and a jar to choose, from what is on sale and on hand; the same for the same
# shop. First comes what no live set holds, then what the set's name or season speaks of, then what most lies of on
# hand; never pieces that lie together in a set already. Rules of the trade (common practice, no source): about three
# pieces; all options of a slot share a footprint, so that box and photo stay; nothing is worth less than a tenth of the
# whole; a box still closes.

_OPTIONS: Final = 4
_WRAPPINGS: Final = frozenset(("wrap", "wrapper", "band", "paper", "sleeve", "label"))  # no name for what is chosen
_MOST_WAYS: Final = 1_000  # to choose in a set that is there, looked at one by one
_FILLER: Final = Decimal("0.1")  # of the worth of the whole
_MOST_TRIED: Final = 60  # compositions that are tried in boxes; behind them the first new one is proposed without
_MUTE: Final = frozenset(("and", "the", "for", "with", "our", "gift", "set", "box", "les", "des", "pour", "avec"))
_WORD: Final = re.compile(r"[^\W\d_]{3,}")

Fits = Callable[[GiftBox, tuple[Item, ...]], bool]
"""Returns whether the pieces go into a box."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Pieces in every variant, the slot's name and options (() without a slot), and the box's code, "" for none.

    `default` is the option that is shown first. `why` says in one line, for the owner, what spoke for all of them.
    """

    fixed: tuple[Item, ...]
    slot: str = ""
    options: tuple[Item, ...] = ()
    box: str = ""
    why: str = ""
    default: str = ""

    @property
    def items(self) -> tuple[Item, ...]:
        """Everything that it may hold."""
        return (*self.fixed, *self.options)

    @property
    def parts(self) -> tuple[str, ...]:
        """For each option its part of the variant's code, "" where the last parts of the items' codes all differ."""
        apart = {item.code.rpartition("-")[2] for item in self.options}
        return tuple("" if len(apart) == len(self.options) else item.code.replace("-", "") for item in self.options)


def propose(shop: Shop, fits: Fits | None = None, about: str = "") -> Proposal | None:
    """Return a proposal; None when fewer than two items are on sale and on hand, or all goes together already.

    Args:
        shop: as it was read; what is broken is not in it.
        fits: decides exactly; called for boxes that the pieces could go into by their volumes.
        about: words that speak for an item whose name, scent or form has one of them: the set's name and season.
    """
    usable = usable_items(shop)
    if len(usable) < 2:
        return None
    merits = _Merits.of(shop, about)

    def made(pieces: tuple[Item, ...], options: tuple[Item, ...], box: str) -> Proposal:
        why, default = _why((*pieces, *options), merits, usable), _best_option(options, merits)
        return Proposal(pieces, slot_name(options), options, box=box, why=why, default=default)

    unboxed: Proposal | None = None
    for fixed, options in islice(_compositions(usable, merits, shop), _MOST_TRIED):
        for pieces in (fixed, fixed[:1]) if options and len(fixed) > 1 else (fixed,):
            if not _there_already(pieces, options, shop) and (box := _box(shop, pieces, options, fits)):
                return made(pieces, options, box)
        unboxed = unboxed or made(fixed, options, "")
    return unboxed


def usable_items(shop: Shop) -> tuple[Item, ...]:
    """Return what a new set could hold: on sale, and on hand beyond what is held back; by code."""
    least = shop.settings.stock.hold_back
    return tuple(
        item
        for item in sorted(shop.items, key=lambda item: item.code)
        if item.status is Status.ON_SALE and (item.on_hand is None or item.on_hand > least)
    )


@dataclass(frozen=True, slots=True)
class _Merits:
    """What speaks for an item: that no live set holds it, and that a word of the set's name or season is of it."""

    used: frozenset[str]
    about: tuple[str, ...]

    @classmethod
    def of(cls, shop: Shop, about: str) -> "_Merits":
        """Return the merits that items of a shop have for a set of which `about` speaks."""
        live = (one.gift_set for one in shop.sets if one.gift_set.sold_as is not Status.CLOSED)
        words = tuple(dict.fromkeys(word for word in _words_of(about) if word not in _MUTE))
        return cls(frozenset(code for gift_set in live for code in gift_set.item_codes), words)

    def spoken(self, item: Item) -> tuple[str, ...]:
        """Return the words of the set's name or season that the item's name, scent or form has."""
        its = _words_of(f"{item.name} {item.scent} {item.form}")
        return tuple(word for word in self.about if any(_alike(word, each) for each in its))

    def rank(self, item: Item) -> tuple[bool, int]:
        """Return what sorts the better item first."""
        return item.code in self.used, -len(self.spoken(item))


def _words_of(text: str) -> list[str]:
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return _WORD.findall("".join(sign for sign in decomposed if not unicodedata.combining(sign)))


def _alike(word: str, second: str) -> bool:
    """Whether two words are the same, or one begins with the other as "roses" does with "rose"."""
    short, long = sorted((word, second), key=len)
    return word == second or (len(short) > 3 and long.startswith(short) and len(long) - len(short) < 3)


def _why(items: tuple[Item, ...], merits: _Merits, usable: tuple[Item, ...]) -> str:
    """Return what spoke for the items, in one line: parts that are so of all items alike say nothing."""
    fresh = [item.code for item in items if item.code not in merits.used]
    spoken = {word: item.code for item in reversed(items) for word in reversed(merits.spoken(item))}
    parts = []
    if fresh and merits.used:
        parts.append("no live set holds " + ("any of it" if len(fresh) == len(items) else ", ".join(fresh)))
    parts += [f'"{word}" is said of {code}' for word, code in reversed(spoken.items())]
    counted = [item.on_hand for item in items if item.on_hand is not None]
    if counted:
        parts.append(f"at least {min(counted)} of each {'are' if min(counted) > 1 else 'is'} on hand")
    return "; ".join(parts) or f"{len(usable)} items are on sale, and these go together"


def _compositions(
    usable: tuple[Item, ...], merits: _Merits, shop: Shop
) -> Iterator[tuple[tuple[Item, ...], tuple[Item, ...]]]:
    """Yield fixed pieces and options that lie together in no set yet, the best first."""
    for family in _families(usable, merits):
        for beside in _beside(family, usable, merits):
            fixed = tuple(sorted(beside, key=lambda item: (-item.retail.amount, item.code)))
            options = tuple(option for option in family if not _there_already(fixed, (option,), shop))
            if len(options) > 1 or not (family or _there_already(fixed, (), shop)):
                yield fixed, options


def _there_already(fixed: tuple[Item, ...], options: tuple[Item, ...], shop: Shop) -> bool:
    """Whether some set of the shop, live or not, has a variant of exactly these pieces."""
    variants = [frozenset(item.code for item in (*fixed, option)) for option in options]
    variants = variants or [frozenset(item.code for item in fixed)]
    return any(_holds(one.gift_set, codes) for one in shop.sets for codes in variants)


def _holds(gift_set: GiftSet, codes: frozenset[str]) -> bool:
    fixed = frozenset(entry.item for entry in gift_set.contents if isinstance(entry, Fixed))
    slots = [codes & {option.item for option in slot.choose} for slot in gift_set.slots]
    if not fixed <= codes <= frozenset(gift_set.item_codes) or not all(slots):
        return False
    ways = islice(product(*(sorted(slot) for slot in slots)), _MOST_WAYS)
    return any(fixed | set(chosen) == codes for chosen in ways)


def loosely_fits(box: GiftBox, pieces: tuple[Item, ...], settings: Settings) -> bool:
    """Whether pieces could go into a box by their volumes and sides, with air around them, not how they lie."""
    inside = [side - settings.packing.clearance.mm for side in box.inside.sides]
    volume = sum((piece.size.volume for piece in pieces), Decimal(0))
    closes = volume <= settings.packing.full_above * box.inside.volume
    return closes and all(_goes_in(piece, inside) for piece in pieces)


def _goes_in(piece: Item, inside: list[Decimal]) -> bool:
    length, width, height = piece.size.sides
    if piece.upright:
        footprint = sorted((length, width))
        return height <= inside[2] and all(a <= b for a, b in zip(footprint, sorted(inside[:2]), strict=True))
    return all(a <= b for a, b in zip(sorted(piece.size.sides), sorted(inside), strict=True))


def _families(usable: tuple[Item, ...], merits: _Merits) -> Iterator[tuple[Item, ...]]:
    """Yield options of a slot, the best first: items of one size, of one form where there are two of it; () last."""
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in usable:
        groups.setdefault((item.size.sides, item.shape), []).append(item)
    several = [group for group in groups.values() if len(group) > 1]

    def worth_choosing(group: list[Item]) -> tuple[bool, int, int, Decimal, int]:
        standing = all(item.upright or item.shape is Shape.CYLINDER for item in group)  # jars and bottles
        unused = sum(item.code not in merits.used for item in group)
        spoken = max(len(merits.spoken(item)) for item in group)
        return standing, min(unused, 2), spoken, max(item.retail.amount for item in group), len(group)

    for group in sorted(several, key=worth_choosing, reverse=True) if len(usable) > 2 else ():
        form, count = Counter(item.form for item in group).most_common(1)[0]
        family = [item for item in group if item.form == form] if count > 1 else group
        most = _OPTIONS if len(family) < len(usable) else len(family) - 2
        if most > 1:
            yield tuple(sorted(_by_merit(family, merits)[:most], key=lambda item: item.code))
    yield ()


def _beside(options: tuple[Item, ...], usable: tuple[Item, ...], merits: _Merits) -> Iterator[tuple[Item, ...]]:
    """Yield the pieces beside the slot: one of the commonest form, the smallest of another; a third without slot."""
    taken = {item.form for item in options}
    others = [item for item in usable if item not in options and item.form not in taken and not item.larger]
    others = others or [item for item in usable if item not in options]
    others = _unlike(others, options) or others
    scents = {word for item in options for word in item.scent.casefold().split()}
    alone: list[tuple[Item, ...]] = []
    for first in _best(others, scents, merits):
        rest = [item for item in others if item.form != first.form] or [item for item in others if item is not first]
        rest = _unlike(rest, (first,)) or rest
        worth = sum((item.retail.amount for item in options[:1]), first.retail.amount)
        rest = [item for item in rest if item.retail.amount >= _FILLER * (worth + item.retail.amount)]
        seconds = sorted(rest, key=lambda item: (*merits.rank(item), item.size.volume, item.code))
        for second in seconds:
            more = [item for item in rest if item is not second]
            third = next(iter(_by_merit(_unlike(more, (second,)) or more, merits)), None)
            yield (first, second, third) if third and not options else (first, second)
        alone += [(first,)] if options else [(first, second) for second in seconds]
    yield from sorted(
        alone, key=lambda pieces: (*merits.rank(pieces[0]), -sum(piece.retail.amount for piece in pieces))
    )


def _kind(item: Item) -> tuple[object, ...]:
    """Return what is the same of pieces that differ in their scent alone: they go into one slot, and not beside it."""
    net = (item.net.measure, item.net.total) if item.net else None
    return item.form.casefold(), item.container.casefold(), item.size.sides, item.shape, net, item.retail


def _unlike(items: Sequence[Item], there: Sequence[Item]) -> list[Item]:
    """Return the items that differ in more than their scent from those that are there."""
    kinds = {_kind(item) for item in there}
    return [item for item in items if _kind(item) not in kinds]


def _best(items: list[Item], scents: set[str], merits: _Merits) -> list[Item]:
    """Return items of the form that has most kinds first: those that smell like the options, then by stock."""
    kinds = Counter(item.form for item in items)
    return sorted(
        items,
        key=lambda item: (
            item.code in merits.used,
            -kinds[item.form],
            -len(merits.spoken(item)),
            scents.isdisjoint(item.scent.casefold().split()),
            -(item.on_hand or 0),
            item.code,
        ),
    )


def _best_option(options: tuple[Item, ...], merits: _Merits) -> str:
    """Return the code of the option of which name and season speak most, the first one where they speak of none."""
    return min(options, key=lambda item: -len(merits.spoken(item))).code if options else ""


def _by_merit(items: list[Item], merits: _Merits) -> list[Item]:
    return sorted(items, key=lambda item: (*merits.rank(item), -(item.on_hand or 0), item.code))


def slot_name(options: tuple[Item, ...]) -> str:
    """Return the slot's name: "Jar" where that is the container of all, else the form of all, else "Piece"."""
    if not options:
        return ""
    containers = {item.container.split()[-1] if item.container.strip() else "" for item in options}
    containers = {""} if containers & _WRAPPINGS else containers
    forms = {item.form for item in options}
    for shared in (containers, forms):
        [word, *more] = sorted(shared)
        if word and not more:
            return word[:1].upper() + word[1:]
    return "Piece"


def _box(shop: Shop, fixed: tuple[Item, ...], options: tuple[Item, ...], fits: Fits | None) -> str:
    """Return the smallest box, by its inside, that every variant goes into; "" when there is none."""
    variants = [(*fixed, option) for option in options] or [fixed]
    for box in sorted(shop.packaging.boxes, key=lambda box: (box.inside.volume, box.code)):
        if box.on_hand != 0 and all(
            loosely_fits(box, pieces, shop.settings) and (fits is None or fits(box, pieces)) for pieces in variants
        ):
            return box.code
    return ""


# The folder of a new set.

_OF_A_BOX: Final = ("open box", "closed")
_LONGEST_NAME: Final = 80
_LONGEST_FOLDER: Final = 60
_FILES: Final = ("set.toml", "story.md", "shots.md")


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set to be made: its folder under sets/, the values of set.toml, and the shots that the shop asks for."""

    folder: str
    code: str
    name: str
    season: str
    keywords: tuple[str, ...]
    proposal: Proposal | None
    shots: tuple[str, ...]
    boxed: bool
    copied: Mapping[str, str] = field(default_factory=dict)  # texts of files that are begun with another set's

    @property
    def pictures(self) -> tuple[str, ...]:
        """The file names of the shots that the shop asks for; a single one where it asks for none."""
        asked = [shot for shot in self.shots if self.boxed or shot not in _OF_A_BOX]
        return tuple(f"{shot.replace(' ', '-')}.jpg" for shot in asked or ["open box" if self.boxed else "contents"])


def folder_name(name: str) -> str:
    """Return the folder's name for a set.

    Raises:
        FieldError: the name gives none that every system takes.

    >>> folder_name("Été & Mer")
    'ete-mer'
    """
    if any(unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} for sign in name):
        raise FieldError("the name holds a sign that stands on no line.", "Write it in plain letters.")
    if len(name) > _LONGEST_NAME:
        raise FieldError(f"the name has {len(name)} characters.", f"Write at most {_LONGEST_NAME}.")
    folder = slugify(name, max_length=_LONGEST_FOLDER, word_boundary=True)
    if not folder:
        raise FieldError(f'"{name}" has no letter that a folder could be called by.', "Write a name with letters.")
    if is_device(folder):
        raise FieldError(f'some systems cannot have a folder called "{folder}".', "Write a longer name.")
    return folder


def files_of_set(templates: Path, new: NewSet) -> dict[str, bytes]:
    """Return the files of a new set's folder, by their names in it."""
    values = {"set": new, "proposal": new.proposal, "write_here": TO_WRITE}
    files: dict[str, bytes] = {}
    for file in dict.fromkeys((*_FILES, *new.copied)):
        copied = new.copied.get(file)
        template = "" if copied is not None else (templates / "new_set" / file).read_text(encoding="utf-8")
        files[file] = filled_in(template, values) if copied is None else copied.encode("utf-8")
    return files


def refuse_taken(shop: Path, folder: str) -> None:
    """Refuse the name of a folder that is there already.

    Raises:
        FieldError: there is such a folder.
        BlockedError: sets/ is a link.
    """
    sets = shop / "sets"
    if sets.is_symlink():
        raise BlockedError("sets is a link, which is not followed.", "Put the folder itself there.")
    there = {path.name.casefold() for path in sets.iterdir()} if sets.is_dir() else set()
    if folder.casefold() in there:
        raise FieldError(f"sets/{folder} is there already.", "Give the set another name, or take the folder away.")


def make_set(
    templates: Path, shop: Path, new: NewSet, photos: Mapping[str, Callable[[], bytes]] | None = None
) -> tuple[str, ...]:
    """Make sets/<folder> in the shop folder and return the paths of its files, relative to the shop.

    `photos` are pictures to be put into it, by their file names; each is read when its turn comes.

    Raises:
        FieldError: there is such a folder.
        BlockedError: it cannot be written to. Nothing is overwritten or half made.
    """
    refuse_taken(shop, new.folder)
    files = files_of_set(templates, new)
    with in_the_making(shop / "sets" / new.folder) as made:
        for file, content in files.items():
            write_file(made / file, content)
        (made / "photos").mkdir()
        for name, content_of in (photos or {}).items():
            write_file(made / "photos" / name, content_of())
    return tuple(f"sets/{new.folder}/{file}" for file in files)


# A set begun with another: its set.toml with what belongs to the old one alone left behind.

_LEFT_BEHIND: Final = frozenset(("old_codes", "price", "variant", "photos", "reduction"))


def begun_with(text: str, code: str, name: str, season: str | None = None) -> str:
    """Return set.toml for a new set: a draft, without photos, price in print, reductions and what is said of variants.

    Args:
        text: the old set's, as the owner wrote it; comments and order stay.
        code: the new set's.
        name: the new set's.
        season: another season; the old set's when None.

    Raises:
        FieldError: what belongs to the old set alone cannot be parted from the rest.

    >>> print(begun_with('code = "A-1"\\nname = "Frost"\\nprice = 9\\nbox = "S"', "A-2", "Thaw"))
    code = "A-2"
    name = "Thaw"
    status = "draft"  # take this line out when the set is finished: until then no build shows it
    box = "S"
    """
    document = parsed(text)
    stated = {"code": code, "name": name, "status": SetStatus.DRAFT.value}
    stated |= {} if season is None else {"season": season}
    end = "\r\n" if "\r\n" in text else "\n"
    lines = {key: f"{key} = {quoted(value)}{end}" for key, value in stated.items()}
    lines["status"] = f"{lines['status'].rstrip()}  # {_DRAFT_NOTE}{end}"
    kept: list[str] = []
    for key, comments, part in _statements(text):
        if key not in (*_LEFT_BEHIND, *stated):
            kept += [comments, part]
        elif key == "name":
            kept += [comments, lines["name"], lines["status"]]
        elif key in lines and key != "status":
            kept += [comments, lines[key]]
    if season is not None and "season" not in document:
        kept.insert(0, lines["season"])
    wanted = {key: value for key, value in document.items() if key not in _LEFT_BEHIND} | stated
    result = "".join(kept)
    if not says(result, wanted):
        hint = "Write each key of it on a line of its own, or copy its folder by hand and give the set another code."
        raise FieldError("its set.toml cannot be taken apart.", hint)
    return result


_DRAFT_NOTE: Final = "take this line out when the set is finished: until then no build shows it"


def _statements(text: str) -> Iterator[tuple[str, str, str]]:
    """Yield each key above the tables, then each table: its name, the comment lines above it, its text to the next."""
    spots = layout(text)
    tables = spots.headers[0][1] if spots.headers else len(text)
    keys = [(path, start) for path, start in spots.statements.items() if start < tables]
    starts = sorted(
        (line_start(text, start), str(path[0])) for path, start in (*keys, *(each[:2] for each in spots.headers))
    )
    begins = [lead(text, start) for start, _ in starts]
    yield "", "", text[: begins[0]] if begins else text
    for (start, name), begin, end in zip(starts, begins, (*begins[1:], len(text)), strict=True):
        yield name, text[begin:start], text[start:end]


# The code of a new set: the next number after those of the shop's other sets, unlike every code in use.

_NUMBERED: Final = re.compile(r"(.*?)(\d{1,6})", re.ASCII)
_FIRST: Final = "SET-"


def next_set_code(sets: Iterable[str], others: Iterable[str] = ()) -> str:
    """Return the next code after those of `sets`, unlike those of `others`; SET-1 where there is no pattern.

    >>> next_set_code(["OHS-1", "OHS-2"], ["OHS-3"]), next_set_code(["G07"]), next_set_code([])
    ('OHS-4', 'G08', 'SET-1')
    """
    sets = tuple(sets)
    used = {code.casefold() for code in (*sets, *others)}
    numbered = [match.groups() for code in sets if (match := _NUMBERED.fullmatch(code))]
    begins = Counter(begin for begin, _ in numbered)
    begin = min(begins, key=lambda text: (-begins[text], text)) if begins else _FIRST
    numbers = [digits for text, digits in numbered if text == begin]
    width = max((len(digits) for digits in numbers if digits.startswith("0")), default=1)
    last = max(map(int, numbers), default=0)
    codes = (f"{begin}{number:0{width}}" for number in count(last + 1))
    return next(code for code in codes if code.casefold() not in used)
