"""The one way from a shop folder and a day to everything that is known of the shop.

    opened = open_shop(folder)                          # read
    catalog = build_catalog(opened.shop)                # compute
    listed = list_catalog(catalog, day, opened.problems)  # list: what each channel would show on that day
    checked = check_listed(listed, photos=opened.photos)  # check: every problem, as the owner set its level

`check_shop` takes all four steps, and again without drafts and sets that need mending: what it gives can be published.
Each step can be called alone, with a catalog of a few sets too. Nothing is written.
"""

import datetime
import json
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from listkit.check import check_listings, hidden
from listkit.check.places import CheckContext
from listkit.check.scope import WHOLESALE as SHOPS
from listkit.check.scope import Scopes, files_to_mend, items_to_mend
from listkit.check.thresholds import read_thresholds, without_accepted
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, Variant
from listkit.compute.costs import costed
from listkit.compute.given_out import NOTHING_GIVEN_OUT, GivenOut, PreviousSheet, SheetHistory, given_line
from listkit.compute.movements import in_stock
from listkit.compute.reductions import InForce, reduced_variants, reductions_in_force
from listkit.compute.wholesale import build_sheet
from listkit.ledger.history import PricePoint, channel_prices, currency_at, lawful_reduction
from listkit.ledger.old_codes import joined_prices, renamed_lines
from listkit.ledger.store import LEDGER, lines_of, recorded_sets, records, standing
from listkit.listing.build import build_listings
from listkit.listing.listings import Listing, Listings, OnDay, PriorPrice
from listkit.listing.sheet import version_code
from listkit.model.channel import Channel
from listkit.model.codes import OldCodes
from listkit.model.settings import Settings
from listkit.model.shop import FolderRead, Guess, Shop
from listkit.problem import FieldError, Level, Place, Problem, must_fix
from listkit.read.folder import find_files
from listkit.read.lines import with_lines
from listkit.read.parts import read_settings, settle_settings
from listkit.read.photos import Parts, PhotoMemory
from listkit.read.shop import in_order, read_shop
from listkit.save.made import Photos, read_made
from listkit.save.manifest import read_manifest
from listkit.units.money import Money

WHOLESALE: Final = SHOPS
"""A place of its own beside the channels: its rows are the lines of the line sheet, a set with all its variants."""
SHEET: Final = "sheet"
"""The code under which the ledger keeps what was recorded of a line sheet as a whole."""

PriceHistory = Mapping[str, Sequence[PricePoint]]
Known = Photos | PhotoMemory | None


@dataclass(frozen=True, slots=True)
class Opened:
    """A shop as it was read; what is wrong in it is left out and told in `problems`."""

    shop: Shop
    problems: tuple[Problem, ...]
    photos: Photos
    """What was measured in each photo, to be remembered with the next build."""
    waiting: int = 0  # photos that have stand-in facts, as nobody has opened them yet
    parts: Parts = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Listed:
    """A shop with the listings of a day; `problems` are those of reading and listing, which leave sets out."""

    shop: Shop
    listings: Listings
    day: datetime.date
    problems: tuple[Problem, ...] = ()

    @property
    def catalog(self) -> Catalog:
        """All sets, computed."""
        return self.listings.catalog

    @property
    def places(self) -> tuple[str, ...]:
        """The keys of all channels, and wholesale where there are terms for it."""
        keys = tuple(channel.key for channel in self.shop.channels)
        return (*keys, WHOLESALE) if self.shop.wholesale is not None and WHOLESALE not in keys else keys

    def channel(self, key: str) -> Channel | None:
        """Return a channel by its key, None for wholesale."""
        return next((channel for channel in self.shop.channels if channel.key == key), None)

    def listings_of(self, key: str) -> tuple[Listing, ...]:
        """Return a channel's listings."""
        return tuple(listing for listing in self.listings if listing.channel.key == key)

    def name(self, key: str) -> str:
        """Return what people call the place."""
        channel = self.channel(key)
        return channel.name if channel else "Wholesale"


@dataclass(frozen=True, slots=True)
class Aside:
    """What is not published: drafts, the sets that the owner leaves out this once, and what needs mending.

    `items` are the codes of items with a fault that must be fixed, `places` the keys of channels (or wholesale, or
    labels) that use files with one, and these files. `stopping` are the problems that concern everything. The code of
    a broken set is "" where a sound one has it. `listings` are those of broken sets that can be listed, to look at.
    """

    drafts: tuple[FolderRead, ...] = ()
    without: tuple[FolderRead, ...] = ()
    broken: tuple[FolderRead, ...] = ()
    items: frozenset[str] = frozenset()
    places: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    stopping: tuple[Problem, ...] = ()
    unnamed: bool = False  # whether the code of a broken set cannot be read
    known: frozenset[str] = frozenset()  # the codes of all sets there are
    listings: tuple[Listing, ...] = ()


@dataclass(frozen=True, slots=True)
class Checked(Listed):
    """A shop of which everything is known: `problems` are all there are, with their lines, in the order of places.

    `sheets` is what the ledger knows of line sheets that were given out. Shop and listings are without the sets that
    are `aside`; the problems are of the whole shop.
    """

    photos: Photos = field(default_factory=dict)
    sheets: SheetHistory = NOTHING_GIVEN_OUT
    aside: Aside = field(default_factory=Aside)

    @property
    def stopped(self) -> bool:
        """Whether nothing at all can be published: something is wrong for everything, or no set is left."""
        return bool(self.aside.stopping) or (bool(self.aside.broken) and not (self.shop.sets or self.shop.singles))


# The steps


def open_shop(
    folder: Path, out: Path | None = None, before: Opened | None = None, *, measure_at_most: int | None = None
) -> Opened:
    """Read the shop folder; what has not moved is known from `before`, photos else from the output folder, or out/."""
    return _Reading(folder, out, None, before=before, at_most=measure_at_most).open()


def open_settings(folder: Path) -> Settings:
    """Read shop.toml alone; whatever is wrong in it is left out."""
    return settle_settings(folder, read_settings(folder, find_files(folder)[0].shop)[0])[0]


def list_catalog(catalog: Catalog, day: datetime.date, problems: Iterable[Problem] = ()) -> Listed:
    """List what each channel shows on a day, with its reductions; `problems` are those of reading."""
    on, unread = on_day(catalog, day)
    listings = build_listings(catalog, on)
    return Listed(catalog.shop, listings, day, (*problems, *unread, *listings.problems))


def check_listed(listed: Listed, *, photos: Photos | None = None, out: Path | None = None, below: str = "") -> Checked:
    """Check listings; every problem of the shop has its line and the level that the owner set.

    `out` is where the build is, out/ if left out. Of problems those of files `below` a set's folder are kept, "" keeps
    all; line sheets, which are no set's, are then not looked at.
    """
    sheets, unread = NOTHING_GIVEN_OUT, list[Problem]()
    if not below:
        try:
            sheets = sheet_history(listed.catalog)
        except FieldError as fault:
            unread.append(_ledger_unread(fault))
    context = CheckContext(listed.day, sheets=sheets, rows_before=_rows_before(listed, out or listed.shop.root / "out"))
    found = (*listed.problems, *unread, *check_listings(listed.listings, context, sheet=not below))
    judged = read_thresholds(listed.shop.settings)[0].judged(one for one in found if one.place.file.startswith(below))
    problems = dict.fromkeys(sorted(with_lines(listed.shop.root, judged), key=in_order))
    return Checked(listed.shop, listed.listings, listed.day, tuple(problems), photos=photos or {}, sheets=sheets)


def list_shop(
    folder: Path,
    day: datetime.date,
    out: Path | None = None,
    searches: Searches | None = None,
    *,
    photos: Known = None,
) -> Listed:
    """Read, compute and list the shop in `folder`, without its drafts; arguments as those of `check_shop`."""
    reading = _Reading(folder, out, photos)
    drafts = draft_folders((opened := reading.open()).shop)
    opened = reading.open(drafts) if drafts else opened
    return list_catalog(build_catalog(opened.shop, searches), day, opened.problems)


def check_shop(
    folder: Path,
    day: datetime.date,
    out: Path | None = None,
    searches: Searches | None = None,
    *,
    without: Iterable[str] = (),
    photos: Known = None,
    before: Opened | None = None,
) -> Checked:
    """Read, compute, list and check the shop in `folder` for the day of today; return what can be published.

    Args:
        out: where the build is, out/ if left out; photos measured before are remembered there.
        searches: those of the command.
        without: codes or folders of sets that are left out this once.
        photos: what is known of photos beyond the output folder, or what has begun to measure them.
        before: the shop as it was read before; parts whose files have not moved are taken over from it.

    Raises:
        FieldError: there is no set of such a code.
    """
    reading, searches = _Reading(folder, out, photos, before=before), searches or Searches()
    whole = reading.check((), day, searches)
    drafts, chosen, broken = draft_folders(whole.shop), _chosen_folders(whole.shop, without), frozenset[str]()
    published = finished = reading.check(drafts | chosen, day, searches) if drafts or chosen else whole
    while more := _broken_folders(published) - drafts - chosen - broken:
        broken |= more
        published = reading.check(drafts | chosen | broken, day, searches)
    kept, added = without_accepted(_told_of(reading, (whole, finished, published), drafts | chosen, day), whole.shop)
    concerned = Scopes(published.shop)
    scopes = [(each, concerned.of(each)) for each in (*published.problems, *added) if each.level is Level.MUST_FIX]
    seen, sound = {each.folder: each for each in whole.shop.folders}, {facts.code for facts in published.catalog.listed}
    return replace(
        published,
        problems=tuple(sorted((*kept, *with_lines(folder, added)), key=in_order)) if added else kept,
        aside=Aside(
            drafts=tuple(seen[each] for each in sorted(drafts - chosen)),
            without=tuple(seen[each] for each in sorted(chosen)),
            broken=tuple(
                replace(each, code="") if each.code in sound else each for each in map(seen.__getitem__, sorted(broken))
            ),
            items=items_to_mend(finished.problems, finished.shop),
            places=files_to_mend(scopes),
            stopping=tuple(problem for problem, scope in scopes if scope.everything),
            unnamed=any(not seen[each].code for each in broken),
            known=frozenset(each.code for each in whole.shop.folders if each.code),
            listings=tuple(listing for listing in finished.listings if listing.folder in broken),
        ),
    )


def find_place(listed: Listed, wanted: str) -> str:
    """Return the key that a key or name means.

    Raises:
        FieldError: there is no such channel.
    """
    for key in listed.places:
        if wanted in (key, listed.name(key)):
            return key
    raise FieldError(f'There is no channel "{wanted}".', f"There are: {', '.join(listed.places) or 'none'}.")


# What can be published: the shop without drafts and without the sets that need mending


class _Reading:
    """Reads one folder several times, without some of its sets; each photo is measured once."""

    def __init__(
        self, folder: Path, out: Path | None, photos: Known, *, before: Opened | None = None, at_most: int | None = None
    ) -> None:
        self._folder = folder
        self._out = folder / "out" if out is None else out
        known = (before.photos if before else read_made(self._out).photos) if photos is None else photos
        self._memory = known if isinstance(known, PhotoMemory) else PhotoMemory(known, at_most=at_most)
        self._memory.parts = dict(before.parts) if before else self._memory.parts
        self._told: list[tuple[Opened, tuple[Problem, ...]]] = []  # so that no two readings alike are checked

    def open(self, leave_out: Collection[str] = (), guess: Guess | None = None) -> Opened:
        shop, problems = read_shop(self._folder, photo_facts=self._memory, leave_out=leave_out, guess=guess)
        shop = costed(in_stock(shop), guess)
        return Opened(shop, tuple(problems), self._memory.photos, self._memory.waiting, self._memory.parts)

    def check(self, leave_out: Collection[str], day: datetime.date, searches: Searches) -> Checked:
        """Check the rest; its box searches may spend what a command may, so that no set takes from the others."""
        return self._checked(self.open(leave_out), day, Searches(progress=searches.progress) if leave_out else searches)

    def _checked(self, opened: Opened, day: datetime.date, searches: Searches | None = None) -> Checked:
        listed = list_catalog(build_catalog(opened.shop, searches), day, opened.problems)
        checked = check_listed(listed, photos=opened.photos, out=self._out)
        self._told.append((opened, checked.problems))
        return checked

    def as_mended(self, leave_out: Collection[str], day: datetime.date, guesses: Iterable[Guess]) -> hidden.Readings:
        """Return what is told of the shop with each of these stand-ins in the place of what is wrong in it."""

        def told_of(opened: Opened) -> tuple[Problem, ...]:
            same = (told for read, told in self._told if (read.problems, read.shop) == (opened.problems, opened.shop))
            known = next(same, None)
            return self._checked(opened, day).problems if known is None else known

        told = list[tuple[Problem, ...]]()
        for guess in guesses:
            opened = self.open(leave_out, guess)
            problems = told_of(opened)
            if unlisted := [each for each in problems if each.code in hidden.UNLISTED]:
                listable = replace(opened, shop=hidden.that_can_be_listed(opened.shop, unlisted, guess))
                problems = (*unlisted, *told_of(listable))
            told.append(problems)
        return tuple(told)


def draft_folders(shop: Shop) -> frozenset[str]:
    """Return the folders of sets that are not finished.

    They say so; or they cannot be parsed, and the ledger does not know them. One whose code cannot be read is known
    where the ledger has a set that no folder has; a ledger that cannot be read knows every set.
    """
    stated = frozenset(each.folder for each in shop.folders if each.draft)
    unparsed = tuple(each for each in shop.folders if not each.parsed)
    if not unparsed:
        return stated
    codes = frozenset((*(each.code for each in shop.folders), *(item.code for item in shop.items)))
    try:
        recorded = frozenset(map(shop.old_codes, recorded_sets(shop.root / LEDGER)))
    except FieldError:
        return stated
    lost = bool(recorded - codes)
    return stated | {each.folder for each in unparsed if not (each.code in recorded if each.code else lost)}


def _chosen_folders(shop: Shop, without: Iterable[str]) -> frozenset[str]:
    known = {name: each.folder for each in reversed(shop.folders) for name in (each.folder, each.code)}
    chosen = tuple(without)
    if (unknown := next((code for code in chosen if code not in known), None)) is not None:
        there = ", ".join(each.code for each in shop.folders if each.code) or "none"
        raise FieldError(f'There is no set "{unknown}".', f"There are: {there}.")
    return frozenset(known[code] for code in chosen)


def _broken_folders(checked: Checked) -> frozenset[str]:
    """Return the folders of sets of this shop that must be mended, or use an item that must be."""
    shop, scopes = checked.shop, Scopes(checked.shop)
    faults = (each for each in checked.problems if each.level is Level.MUST_FIX)
    broken = frozenset(folder for problem in faults for folder in scopes.of(problem).folders)
    read = {each.folder for each in shop.sets} | {each.folder for each in shop.singles}
    unread = {one.folder for one in shop.folders if one.folder not in read or one.items & shop.left_out.items}
    ours = frozenset(one.folder for one in shop.folders)  # a link among them is none, and nothing is left out for it
    return broken & ours | unread


def _told_of(
    reading: _Reading, parts: tuple[Checked, Checked, Checked], apart: frozenset[str], day: datetime.date
) -> tuple[Problem, ...]:
    """Return all problems, and those behind them unless they are thousands: that reads the whole shop twice more."""
    whole, finished, published = parts
    marked, unfinished = _as_drafts(whole, finished, published, apart), must_fix(finished.problems)
    unsought = hidden.unsought(whole.problems, whole.shop)
    if unsought or not must_fix(whole.problems):
        return tuple(sorted((*marked, *unsought), key=in_order))
    mended = reading.as_mended((), day, hidden.EXTREMES)
    rest = (reading.as_mended(apart, day, hidden.EXTREMES) if apart else mended) if unfinished else ((),)
    if hidden.unsure(told := hidden.with_hidden(marked, mended, rest), mended):
        told += hidden.with_usual_values(told, mended, reading.as_mended((), day, (Guess.USUAL,))[0], apart)
    return tuple(sorted(told, key=in_order))


def _as_drafts(whole: Checked, finished: Checked, published: Checked, apart: frozenset[str]) -> tuple[Problem, ...]:
    """Return the problems of the whole shop; those that are not there without the drafts are marked.

    A fault that comes up only where sets are left out is among them, unless none is left to have it. An item that
    drafts alone use is as they are.
    """
    if finished is whole is published:
        return whole.problems
    there, scopes = {hidden.identity(problem) for problem in finished.problems}, Scopes(whole.shop)
    used = {item.code for facts in finished.catalog.listed for item in facts.items}
    used |= {code for each in whole.shop.folders if each.folder not in apart for code in each.items}
    drafted = frozenset(code for each in whole.shop.folders for code in each.items) - used

    def unfinished(problem: Problem) -> bool:
        items = scopes.of(problem).items if finished is not whole else frozenset()
        return hidden.identity(problem) not in there or (bool(items) and items <= drafted)

    marked = (replace(problem, draft=True) if unfinished(problem) else problem for problem in whole.problems)
    known = {hidden.identity(problem) for problem in whole.problems}
    more = {
        hidden.identity(problem): problem
        for each in (finished, published)
        for problem in each.problems
        if each.catalog.listed and problem.level is Level.MUST_FIX and hidden.identity(problem) not in known
    }
    return tuple(sorted((*marked, *more.values()), key=in_order))


# What the ledger knows of the prices before a reduction. It is read only while a reduction is in force.


def on_day(catalog: Catalog, day: datetime.date) -> tuple[OnDay, tuple[Problem, ...]]:
    """Return the day with what its reductions may be compared with; nothing where the ledger cannot be read."""
    announcing, ledger = catalog.shop.settings.announcing, catalog.shop.root / LEDGER
    in_force = tuple(reductions_in_force(catalog, day)) if announcing.announce else ()
    problems: tuple[Problem, ...] = ()
    there = os.path.lexists(ledger)
    try:
        keys = dict.fromkeys(reduction.channel for reduction in in_force)
        now = catalog.shop.old_codes.now
        known: dict[str, PriceHistory] = {
            key: joined_prices(channel_prices(ledger, key, catalog.shop.settings.currency), now) if there else {}
            for key in keys
        }
    except FieldError as fault:
        problems, known = (_ledger_unread(fault),), {}
    priors = tuple(
        prior for reduction in in_force for prior in _priors(reduction, catalog, known.get(reduction.channel))
    )
    return OnDay(day, priors, announcing.announce, announcing.prior_days), problems


def _priors(reduction: InForce, catalog: Catalog, history: PriceHistory | None) -> Iterator[PriorPrice]:
    """Yield what each lowered variant of a set may be compared with on a channel; no history: it cannot be read."""
    for lowered in reduced_variants(reduction.facts.variants, reduction.ruling.reduction):
        if lowered.usual is not None and history is None:
            yield PriorPrice(reduction.channel, lowered.code, None, "the ledger cannot be read.")
        elif lowered.usual is not None and history is not None:
            yield _prior(reduction, lowered, catalog.shop.settings, history.get(lowered.code, ()))


def _prior(reduction: InForce, lowered: Variant, settings: Settings, points: Sequence[PricePoint]) -> PriorPrice:
    days, price = (settings.announcing.prior_days, settings.announcing.known_days), lowered.price.amount
    lawful = lawful_reduction(points, reduction.began, price, *days, spoken=settings.spoken)
    lowest = Money(lawful.prior, settings.currency) if lawful.prior is not None and lawful.share else None
    return PriorPrice(reduction.channel, lowered.code, lowest, lawful.reason)


def _ledger_unread(fault: FieldError) -> Problem:
    return Problem(Place(LEDGER), "ledger-unread", fault.message.removeprefix(f"{LEDGER}: "), fault.hint, Level.LOOK_AT)


# What the ledger knows of line sheets that were given out


def sheet_history(catalog: Catalog) -> SheetHistory:
    """Return the current version of the line sheet, and all that was given out before.

    Raises:
        FieldError: the ledger cannot be used.
    """
    sheet = build_sheet(catalog)
    if sheet is None:
        return SheetHistory()
    current, ledger = version_code(sheet), catalog.shop.root / LEDGER
    given = tuple(
        GivenOut(str(facts["version"]), record.day, _day(facts, "issued"), _day(facts, "valid_until"), record.number)
        for record, line in lines_of(ledger, SHEET, "rules")
        if line is not None and record.channel == WHOLESALE and "version" in (facts := json.loads(line))
    )
    before = next((version for version in reversed(given) if version.version != current), None)
    return SheetHistory(current, given, _previous(catalog.shop, before) if before else None)


def _rows_before(listed: Listed, out: Path) -> dict[str, int]:
    """Return how many rows each channel had that has none now: in its last record, else in the last build."""
    shown = {listing.channel.key for listing in listed.listings if listing.offers}
    rows = {}
    for channel in listed.shop.channels:
        if "feed" in channel.make and channel.key not in shown:
            try:
                recorded = records(listed.shop.root / LEDGER, channel.key)
                last = len(standing(listed.shop.root / LEDGER, channel.key, "rows")) if recorded else None
            except FieldError:  # told where the sheets given out are looked up
                last = None
            path = f"{channel.key}/feed.{channel.feed}"
            built = (entry.rows or 0 for entry in read_manifest(out) if entry.path == path)
            rows[channel.key] = next(built, 0) if last is None else last
    return rows


def _day(facts: Mapping[str, Any], name: str) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(str(facts.get(name, "")))
    except ValueError:
        return None


def _previous(shop: Shop, given: GivenOut) -> PreviousSheet:
    rows = given_out_rows(shop.root / LEDGER, given, shop.old_codes)
    currency = currency_at(shop.root / LEDGER, WHOLESALE, given.number) or shop.settings.currency
    lines = (given_line(code, row, currency) for code, row in rows.items())
    return PreviousSheet(given.version, tuple(filter(None, lines)), given.issued)


def given_out_rows(ledger: Path, given: GivenOut, old_codes: OldCodes) -> dict[str, dict[str, Any]]:
    """Return the wholesale rows as they were when a version of the line sheet was recorded, by today's codes."""
    rows = renamed_lines(standing(ledger, WHOLESALE, "rows", until=given.number), old_codes.now)
    return {code: json.loads(line) for code, line in rows.items()}
