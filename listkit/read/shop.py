"""Reads the whole shop folder: every file is tried, every problem kept, and a Shop always comes back.

What cannot be read is left out of the Shop, the smallest part that can be: a row, a box, a set, a file.
The problems are sorted by place. Models carry no line numbers; `with_lines` of read/lines.py finds those of problems
that name only a file and a key or row.
"""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final, TypeVar, cast

from listkit import bounds
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import IngredientRow, Item
from listkit.model.making import MakingRead
from listkit.model.movements import MovesRead
from listkit.model.packaging import GiftBox, Rate
from listkit.model.photo import PhotoFacts
from listkit.model.settings import Settings
from listkit.model.shop import NOTHING_KNOWN, FolderRead, Guess, LeftOut, SetFolder, Shop
from listkit.model.translation import Translation
from listkit.model.wholesale import Wholesale
from listkit.problem import FieldError, Level, Place, Problem, must_fix, quoted
from listkit.read.allotment import read_allotment
from listkit.read.folder import (
    CHANNELS,
    LANGUAGES,
    MOVEMENTS,
    SETS,
    SHOP,
    SetFiles,
    ShopFiles,
    find_files,
)
from listkit.read.making import Sold, read_making
from listkit.read.movements import read_moves
from listkit.read.odd_rows import STORED
from listkit.read.old_codes import Renaming, stated_old_codes, with_variants
from listkit.read.parts import (
    PackagingRead,
    SetRead,
    SettingsRead,
    folder_read,
    places_within,
    read_channels,
    read_packaging,
    read_set,
    read_settings,
    read_translations,
    sets_within,
    settle_settings,
    unread_folder,
)
from listkit.read.photos import PhotoMemory, read_season_photos
from listkit.read.references import (
    BOX_WORDS,
    Codes,
    Known,
    Lines,
    SetsSettled,
    Waiting,
    item_uses,
    reduction_names,
    settle_boxes,
    settle_items,
    settle_sets,
    settle_wholesale,
    with_counts,
)
from listkit.read.singles import Asked, SinglesRead, read_singles
from listkit.read.source import TOML_LIMIT, Source, read_source
from listkit.read.table_file import Table
from listkit.read.tables import lost_headings, read_ingredients, read_items, read_rates, read_stockists
from listkit.read.templates import naming_in, read_templates
from listkit.read.toml_file import read_toml, validated
from listkit.read.wording import begins_with_one, perhaps
from listkit.units.shown import Measures

_MORE_OF_ITEMS: Final[Mapping[str, object]] = {"form": "soap", "ingredients": "Aqua", "net": "900 g", "on_hand": "1"}
_MORE_OF_BOXES: Final[Mapping[str, object]] = {"carton": {}}


T = TypeVar("T")
_NOTHING: Final = re.compile('"0 g"(?= weighs nothing)')


def read_shop(
    root: Path,
    *,
    photo_facts: PhotoMemory | None = None,
    leave_out: Collection[str] = (),
    guess: Guess | None = None,
) -> tuple[Shop, list[Problem]]:
    """Return the shop in `root` and all that is wrong with its files.

    `photo_facts` gives what was measured in photos before; afterwards its `photos` are what to remember. The shop is
    as though the folders `leave_out` of sets were not there, but for their codes, which other files may go on naming;
    with `guess` as though every fault were mended, by stand-ins that are small or large.
    Never raises for anything in the folder.
    """
    files, problems = find_files(root)
    if (unread := unread_folder(root, files)) is not None:
        files = files.without_toml()
    reading = _ShopReading(root, files, photo_facts or PhotoMemory(), problems, (leave_out, guess))
    shop, apart = reading.shop(), frozenset(leave_out)
    problems = _with_examples([*reading.problems, *reading.renaming.remarks()], shop.settings.measures)
    shop = replace(shop, naming=naming_in(shop.templates, shop.settings.language))
    if unread is not None:
        return replace(shop, left_out=NOTHING_KNOWN), [unread]
    return shop, sorted((each for each in problems if _set_folder(each.place.file) not in apart), key=in_order)


def _set_folder(file: str) -> str:
    """Return the name of the set's folder that a file lies in, "" of any other file."""
    top, _, below = file.partition("/")
    folder, inside, _ = below.partition("/")
    return folder if top == SETS and inside else ""


def _with_examples(problems: list[Problem], measures: Measures) -> list[Problem]:
    """Return problems whose hints have their examples in the shop's measure."""
    if not measures.customary:
        return problems
    return [
        replace(problem, message=_NOTHING.sub('"0 oz"', problem.message), hint=measures.example(problem.hint))
        for problem in problems
    ]


def in_order(problem: Problem) -> tuple[str, int, str]:
    """Return what problems are sorted by: file, line, row; those of one line stay in the order of the model's keys."""
    return problem.place.file, problem.place.line, problem.place.row


class _ShopReading:
    """One pass over the files of a folder, gathering problems."""

    def __init__(
        self,
        root: Path,
        files: ShopFiles,
        memory: PhotoMemory,
        problems: list[Problem],
        how: tuple[Collection[str], Guess | None],
    ) -> None:
        self.root, self.files, self.memory, self.problems = root, files, memory, problems
        self.leave_out, self.guess = how
        self.codes = Codes()
        self.renaming = Renaming()
        self.lost = LeftOut()

    def noted(self, read: tuple[T, list[Problem]]) -> T:
        """Keep the problems, give back the rest."""
        self.problems += read[1]
        return read[0]

    def once(self, part: tuple[str, str], inputs: object, files: Iterable[str], read: Callable[[], T]) -> T:
        """Return what `read` gives, or gave before, where the same goes into it and no stamp of the files moved."""
        stamps = tuple(_stamp(self.root / file) for file in files)
        inputs, part = (inputs, self.guess), (part[0], f"{part[1]}?{self.guess.value}" if self.guess else part[1])
        known = self.memory.parts.get(part)
        if known is None or known[0] != (inputs, stamps) or None in stamps:
            known = self.memory.parts[part] = (inputs, stamps), read()
        return cast("T", known[1])

    def logo(self, settings: Settings) -> PhotoFacts | None:
        try:
            return self.memory.facts(self.root, settings.logo) if settings.logo else None
        except FieldError as fault:
            self.problems.append(Problem(Place(settings.logo), "not-a-picture", fault.message, fault.hint))
            return None

    def shop(self) -> Shop:
        read = self.noted(read_settings(self.root, self.files.shop, self.guess))
        settings = self.noted(settle_settings(self.root, read))
        seasons = None if "season" in read.lost else frozenset(season.name for season in settings.seasons)
        table = self.items_table(read, settings)
        boxes = self.noted(read_packaging(self.root, self.files.packaging, settings.currency, self.guess))
        reads, apart = self.read_sets(table, boxes, settings.currency)
        table, boxes = with_stand_ins(table, boxes, reads, self.guess, settings.currency)
        table = self.renaming.rows(table)
        items = self.noted(settle_items(table, self.codes))
        packaging = self.noted(settle_boxes(boxes, self.codes))
        known = known_names(table, boxes, seasons)
        self.lost = replace(_broken(table, boxes), settings=read.unread)
        settled = self.settled(reads, known, waiting_for(table, boxes))
        sets, self.lost = settled.sets, replace(self.lost, seasonless=frozenset(settled.seasonless))
        reads += self.claimed(apart)
        self.renaming.codes = self.noted(with_variants(self.renaming.codes, sets, self.codes.of("item", "set", "box")))
        settings = self.renaming.model(settings, SHOP)
        unread = (codeless := self.codeless(reads)) or table.unread is not None
        sound = frozenset((*(item.code for item in items), *(folder.gift_set.code for folder in sets)))
        lines = Lines(None if unread else self.codes.of("set", "item"), sound, seasons, self.codes.of("variant"))
        set_codes = None if codeless else self.codes.of("set")
        channels = self.channels(settings.currency, lines, sets, set_codes)
        alone = self.alone(settings, channels, Asked(table, items, tuple(reads), self.renaming.codes))
        channels = self.within_places(channels, sets, alone, settings)
        self.problems += reduction_names(settings, sets, self.files.channel_keys, alone.codes_with(set_codes))
        return Shop(
            root=self.root,
            settings=settings,
            items=items,
            packaging=packaging,
            sets=sets,
            singles=alone.singles,
            season_photos=self.noted(read_season_photos(self.root, self.files.season_photos, seasons, self.memory)),
            channels=channels,
            translations=self.translations(settings.currency),
            wholesale=self.wholesale(settings.currency, lines),
            stockists=self.noted(read_stockists(self.root, self.files.stockists, settings.currency, self.guess)),
            rates=self.rates(settings),
            ingredients=self.ingredients(known.items),
            logo=self.logo(settings),
            templates=self.noted(read_templates(self.root, self.files.templates)),
            left_out=replace(self.lost, codes=self.left_out_codes(reads), every=unread),
            items_file=table.file,
            folders=(*(_folder_read(read) for read in reads), *alone.folders),
            old_codes=self.renaming.codes,
            movements=self.movements(),
            allotment=self.noted(read_allotment(self.root, self.files, settings.allotment, lines)),
            making=self.making(read, lambda: self.sold(known, sets, reads)),
        )

    def sold(self, known: Known, sets: tuple[SetFolder, ...], reads: Collection[SetRead]) -> Sold:
        return Sold(known.items, self.codes, sets, self.left_out_codes(reads), every=self.codeless(reads))

    def stories_lost(self, reads: Iterable[SetRead], alone: SinglesRead) -> frozenset[str]:
        """Return the files of stories that could not be read."""
        there = {file for files in self.files.sets for file, _ in files.stories}
        there |= {file for folder in alone.folders for file in folder.files if file.endswith(".md")}
        of_sets = {story.file for read in reads for story in read.stories}
        return frozenset(there - of_sets - {story.file for single in alone.singles for story in single.stories})

    def making(self, read: SettingsRead, sold: Callable[[], Sold]) -> MakingRead:
        made = self.noted(read_making(self.root, self.files, read.settings.currency, sold, self.renaming.rows))
        return replace(made, unsure=None) if "making" in read.lost else made

    def movements(self) -> MovesRead:
        file = self.files.movements
        moves = self.noted(
            self.once(("movements", ""), file, filter(None, (file,)), lambda: read_moves(self.root, file))
        )
        return replace(moves, in_part=must_fix([each for each in self.problems if each.place.file == MOVEMENTS]))

    def items_table(self, read: SettingsRead, settings: Settings) -> Table[Item]:
        sheets = tuple(filter(None, (*self.files.items, settings.items.file, self.files.recipes)))
        known, part = self.memory.parts.get(("items", "")), ("items", "")
        before = cast("tuple[Table[Item], list[Problem]]", known[1])[0] if known else None
        table = self.noted(
            self.once(part, (sheets, read), sheets, lambda: read_items(self.root, self.files, read, before, self.guess))
        )
        self.problems += lost_headings(read, table)
        return table

    def read_sets(self, table: Table[Item], boxes: PackagingRead, currency: str) -> tuple[list[SetRead], list[SetRead]]:
        """Return the sets in today's codes, and apart those that are left out, whose problems are not kept."""
        self.memory.look(self.root, self.files.pictures)
        within = self.noted(sets_within(self.files.sets))
        reads = {files.folder: self.read_set(files, currency) for files in within}
        of_boxes = (*(box.code for box in boxes.packaging.boxes), *boxes.broken)
        codes = self.noted(stated_old_codes(table, (read for read, _ in reads.values()), of_boxes))
        self.renaming.codes = codes
        kept: list[SetRead] = []
        apart: list[SetRead] = []
        for folder, (read, problems) in reads.items():
            (apart if folder in self.leave_out else kept).append(self.renaming.gift_set(read))
            self.problems += [] if folder in self.leave_out else problems
        self.problems = with_used_codes(self.problems, table, kept)
        return kept, apart

    def read_set(self, files: SetFiles, currency: str) -> tuple[SetRead, list[Problem]]:
        names = [files.file, *(file for file, _ in files.stories), *files.photos]
        facts = tuple(self.memory.known(file) for file in files.photos)
        return self.once(
            ("set", files.folder),
            (files, currency, facts),
            filter(None, names),
            lambda: read_set(self.root, files, self.memory, currency, self.guess),
        )

    def codeless(self, reads: Iterable[SetRead]) -> bool:
        """Whether the code of some set is not known."""
        codes = [folder.code for folder in reads]
        return len(codes) < len(self.files.sets) or not all(codes)

    def claimed(self, reads: list[SetRead]) -> list[SetRead]:
        """Return sets that are left out, their codes given out where nobody else has them."""
        for read in reads:
            notes = read.gift_set.variants if read.gift_set else ()
            for code, kind in ((read.code, "set"), *((note.code or "", "variant") for note in notes)):
                if code:
                    self.codes.claim(code, kind, read.source.file, ())
        return reads

    def rates(self, settings: Settings) -> tuple[Rate, ...]:
        rates, faults = read_rates(self.root, self.files.rates, settings.spoken, settings.measures, self.guess)
        self.lost = replace(self.lost, rates=must_fix(faults))
        return self.noted((rates, faults))

    def ingredients(self, items: frozenset[str] | None) -> tuple[IngredientRow, ...]:
        percentages = self.noted(read_ingredients(self.root, self.files.ingredients, items, self.renaming.rows))
        self.lost = replace(self.lost, percentages=percentages.unsure)
        return percentages.rows

    def left_out_codes(self, reads: Iterable[SetRead]) -> frozenset[str]:
        """Return codes of items and sets; those that sets name and nobody has are problems of these sets alone."""
        used = frozenset(code for read in reads if read.gift_set for _, code in item_uses(read.gift_set))
        return self.codes.of("item", "set") | used

    def channels(
        self, currency: str, names: Lines, sets: tuple[SetFolder, ...], set_codes: frozenset[str] | None
    ) -> tuple[Channel, ...]:
        stated = self.noted(read_channels(self.root, self.files.channels, currency, self.guess))
        channels = tuple(self.renaming.model(channel, f"{CHANNELS}/{channel.key}.toml") for channel in stated)
        self.problems += channel_names(channels, names, sets, set_codes)
        if self.guess is not None:
            sets_of = {each.key: tuple(code for code in each.sets if code in (set_codes or ())) for each in channels}
            channels = tuple(each.model_copy(update={"sets": sets_of[each.key]}) for each in channels)
        return channels

    def within_places(
        self, channels: tuple[Channel, ...], sets: tuple[SetFolder, ...], alone: SinglesRead, settings: Settings
    ) -> tuple[Channel, ...]:
        """Return the channels whose listings are few enough to be worked out."""
        channels = self.noted(places_within(channels, sets, len(alone.singles), settings))
        there = frozenset(channel.key for channel in channels)
        self.lost = replace(self.lost, channels=frozenset(self.files.channel_keys) - there)
        return channels

    def alone(self, settings: Settings, channels: tuple[Channel, ...], asked: Asked) -> SinglesRead:
        read = read_singles(self.root, settings, channels, asked, memory=self.memory, leave_out=self.leave_out)
        self.problems += (problem for problem in read.problems if problem not in self.problems)
        self.lost = replace(self.lost, stories=self.stories_lost(asked.reads, read))
        return read

    def translations(self, currency: str) -> tuple[tuple[str, Translation], ...]:
        translations = self.noted(read_translations(self.root, self.files.languages, currency, self.guess))
        stated = frozenset(Path(file).stem for file in self.files.languages)
        self.lost = replace(self.lost, languages=stated - {language for language, _ in translations})
        return tuple(
            (language, self.renaming.model(words, f"{LANGUAGES}/{language}.toml")) for language, words in translations
        )

    def wholesale(self, currency: str, names: Lines) -> Wholesale | None:
        """Return the terms for shops that buy from us, None without or with a broken file."""
        file = self.files.wholesale
        source = read_source(self.root, file, limit=TOML_LIMIT) if file else None
        if not isinstance(source, Source):
            self.problems += [source] if source else []
            return None
        wholesale = self.noted(read_toml(source, Wholesale, currency=currency, guess=self.guess))
        renamed = self.renaming.model(wholesale, source.file) if wholesale else None
        return self.noted(settle_wholesale(renamed, source, names)) if renamed else None

    def settled(self, reads: list[SetRead], known: Known, waiting: Waiting) -> SetsSettled:
        """Return the sets that can be computed, and apart those that cannot.

        Problems elsewhere then say how many sets wait for them.
        """
        around, part = (known, waiting), self.memory.parts.get(("settled", ""))
        before = cast("SetsSettled", part[1]).sound if part and part[0] == around and self.guess is None else {}
        settled = settle_sets(reads, known, waiting, self.codes, guess=self.guess, before=before)
        if self.guess is None:
            self.memory.parts["settled", ""] = around, settled
        self.problems = with_counts(self.problems, settled.waiting) + settled.problems
        return settled


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        status = path.stat(follow_symlinks=False)
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


def _folder_read(read: SetRead) -> FolderRead:
    return folder_read(read, frozenset(code for _, code in item_uses(read.gift_set)) if read.gift_set else frozenset())


def _broken(table: Table[Item], boxes: PackagingRead) -> LeftOut:
    """Return what is lost: the codes of rows that cannot be read, and of minis of such a full size; keys of boxes."""
    broken = frozenset(code for code, _ in table.broken)
    minis = {item.code for item in table.rows if item.larger in broken}
    keys = frozenset(problem.place.key[:2] for problem in boxes.broken.values())
    return LeftOut(items=broken | minis, boxes=keys, boxes_unread=boxes.unread is not None)


def with_used_codes(problems: list[Problem], table: Table[Item], reads: Iterable[SetRead]) -> list[Problem]:
    """Return the problems less those of doubtful codes that sets name as they stand: `code-unsafe` looks at these.

    One that is stored as a number may have lost zeros that nobody can see, so it is looked at here.
    """
    used = {code for read in reads if read.gift_set for _, code in item_uses(read.gift_set)}
    own = {problem for code, problem in table.doubtful if code in used}
    hint = "Sets name it so, and it is used as it stands; format the cell as text to keep its zeros."
    return [
        replace(each, hint=hint, own_level=Level.LOOK_AT) if each in own else each
        for each in problems
        if each not in own or STORED in each.message
    ]


def with_stand_ins(
    table: Table[Item], boxes: PackagingRead, reads: Iterable[SetRead], guess: Guess | None, currency: str
) -> tuple[Table[Item], PackagingRead]:
    """Return the items and the packaging with stand-ins for those that sets name and nobody has.

    A large one says more, lest something be told only for want of it; of a piece that nobody has nothing is usual.
    """
    if guess is None:
        return table, boxes
    gift_sets = [read.gift_set for read in reads if read.gift_set]
    known = {box.code for box in boxes.packaging.boxes}
    taken = {*known, *(item.code for item in table.rows)}
    uses = [] if guess is Guess.USUAL else map(item_uses, gift_sets)
    few = [*dict.fromkeys(code for each in uses for _, code in each if code not in taken)][: bounds.STAND_INS]
    boxed = () if guess is Guess.USUAL and known else (each.box for each in gift_sets)  # then the smallest that fits
    named = dict.fromkeys(box for box in boxed if box not in {*known, *BOX_WORDS})
    of_items, of_boxes = (_MORE_OF_ITEMS, _MORE_OF_BOXES) if guess is Guess.LARGE else ({}, {})
    more = (validated({"code": code, **of_items}, Item, currency=currency, guess=guess)[0] for code in few)
    made = (validated({"code": code, **of_boxes}, GiftBox, currency=currency, guess=guess)[0] for code in named)
    rows, packed = (*table.rows, *filter(None, more)), (*boxes.packaging.boxes, *filter(None, made))
    return (
        replace(table, rows=rows, row_lines=(*table.row_lines, *(0 for _ in rows[len(table.rows) :]))),
        replace(boxes, packaging=boxes.packaging.model_copy(update={"boxes": packed})),
    )


def known_names(table: Table[Item], boxes: PackagingRead, seasons: frozenset[str] | None) -> Known:
    """Return every name that sets may use, broken things included; None where a file could not be read to its end."""
    items = frozenset((*(item.code for item in table.rows), *(code for code, _ in table.broken)))
    named = frozenset((*(box.code for box in boxes.packaging.boxes), *boxes.broken))
    broken = frozenset(code for code, _ in table.broken)
    return Known(None if table.unread else items, None if boxes.unread else named, seasons, table.file, broken)


def waiting_for(table: Table[Item], boxes: PackagingRead) -> Waiting:
    """Return the problems that keep sets from being computed."""
    return Waiting(
        dict(table.broken),
        boxes.broken,
        items_read=frozenset(item.code for item in table.rows),
        boxes_read=frozenset(box.code for box in boxes.packaging.boxes),
        other_items=table.unread,
        other_boxes=boxes.unread,
    )


# Codes in a channel's `sets` and `leave_out`.


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
    variants = names.variants | {f"{code}-{part}" for code, one in gift_sets.items() for part in _parts(one)}
    known_codes = names.known or frozenset()
    unsound, every = known_codes - names.sound, known_codes | variants
    for channel in channels:
        for at, code in enumerate(channel.sets if set_codes is not None else ()):
            if set_codes is not None and code not in set_codes:
                is_item = code in known_codes
                message = f"{quoted(code)} is an item, not a set." if is_item else f"there is no set {quoted(code)}."
                near = "" if is_item else perhaps(code, set_codes, broken=set_codes - gift_sets.keys())
                hint = near or "Write the code of a set."
                yield Problem(channel.place("sets", at), "unknown-code", message, hint)
        for at, code in enumerate(channel.leave_out if names.known is not None else ()):
            known = code in known_codes or code in variants or begins_with_one(code, unsound)
            ends = (at for at, sign in enumerate(f"{code}-") if sign == "-")
            begun = (gift_sets[code[:end]] for end in ends if code[:end] in gift_sets)
            if not known and not any(_is_variant(code, each) for each in begun):
                hint = perhaps(code, every, broken=unsound) or "Write the code of a set, an item or a variant."
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
