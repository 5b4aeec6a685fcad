"""Today: what must be done. Problems by set, what moved since each place was published, days ahead, stock; Build."""

import asyncio
import datetime
import json
import mimetypes
import os
from collections.abc import AsyncIterator, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from markupsafe import Markup
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from listkit.actions.changes import ChannelChanges
from listkit.actions.outputs import Built
from listkit.compute.calendar import year_days
from listkit.compute.catalog import Catalog
from listkit.compute.plan import make_plan
from listkit.desk import changes, stock
from listkit.desk.building import Progress, Step
from listkit.desk.edits import look
from listkit.desk.guard import FILE_POLICY, FileOnDisk
from listkit.desk.page import Desk, linked, page, say, sentence, set_address, text_of, went_well
from listkit.desk.problems import Group, grouped, within
from listkit.desk.shelf import TARGET, is_read_only, sheet_lines, with_commas, without_code
from listkit.desk.shop import examples
from listkit.desk.state import Seen
from listkit.desk.tables import Lines
from listkit.desk.wording import language as spoken
from listkit.ledger.changes import codes_of_other_goods
from listkit.ledger.orders import KeptOrder, OrderState, orders
from listkit.ledger.store import LEDGER
from listkit.listing.formats import list_text
from listkit.listing.plan_words import calendar_words, day_text
from listkit.listing.words import base_language
from listkit.model.fields import SetStatus
from listkit.model.shop import Shop
from listkit.problem import FieldError, Level
from listkit.save.manifest import read_manifest
from listkit.units.spoken import date_text

_FIRST_LOOK: Final = 0.25  # seconds that the page waits for the whole check before it shows what it knows
_AHEAD: Final = 60  # days
_SOON: Final = 14  # days of the make list that are shown
_SHORT: Final = 3  # sets that can still be made
_NAMED: Final = 3  # things that a sentence names
_TURN: Final = 0.2  # seconds between two looks at a build
_AS_THEY_ARE: Final = (".jpg", ".png", ".webp", ".avif", ".pdf")
_SHOWN: Final = (*_AS_THEY_ARE, ".html", ".txt", ".svg", ".md")


@dataclass(frozen=True, slots=True)
class DayAhead:
    """A day that comes: which, in how many days, and what is then."""

    day: datetime.date
    shown: str
    left: int
    what: str


@dataclass(frozen=True, slots=True)
class Short:
    """A set that runs short: its name and address, how many can still be made."""

    name: str
    address: str
    left: int


@dataclass(frozen=True, slots=True)
class MovedLine:
    """What differs on a place from what was published there last: a summary, and the files to send again.

    `built` says whether these are there as they are to be sent; `look` are sentences that must be read before.
    """

    name: str
    summary: str
    files: tuple[str, ...] = ()
    built: Built = Built.NOW
    look: tuple[str, ...] = ()


def show(desk: Desk, request: Request) -> Response:
    """Return the page."""
    seen, full = desk.shop_state.look(), desk.shop_state.full(wait=_FIRST_LOOK)
    shop = seen.opened.shop
    fresh = full is not None and full.number == seen.number
    problems = full.problems if full is not None and not full.fault else seen.opened.problems
    lines, file = _lines_of(desk)
    codeless = len(without_code(lines, file.path))
    commas = () if is_read_only(file.path) else tuple(with_commas(seen.opened.problems, lines, file.path))
    fix, look, drafts = (
        grouped(tuple(filter(of, problems)), shop, lines.rows)
        for of in (
            lambda each: each.level is Level.MUST_FIX and not each.draft,
            lambda each: each.level is not Level.MUST_FIX and not each.draft,
            lambda each: each.draft,
        )
    )
    moved = tuple(moved_together(map(moved_of, full.changes))) if full else ()
    ahead, short = tuple(days_ahead(shop, seen.day)), tuple(running_short(seen.catalog))
    return page(
        desk,
        request,
        "today",
        day=date_text(seen.day, shop.settings.language),
        fresh=fresh,
        fault=full.fault if full else "",
        codeless=linked("today.codeless", "/shelf/codes", count=codeless) if codeless else "",
        commas=len(commas),
        file=file,
        target=TARGET,
        sentences=tuple(_of_the_day(seen, ahead, fix=fix, look=look)) if fresh and full and not full.fault else (),
        sections={
            key: _section(key, groups, whole="all" in request.query_params)
            for key, groups in (("fix", fix), ("look", look), ("drafts", drafts))
            if groups
        },
        moved=moved,
        stopped=full is not None and full.stopped,
        moved_fault=full.moved_fault if full else "",
        ahead=ahead,
        short=short,
        short_pieces=stock.running_short(seen),
        to_make=to_make(seen.catalog, seen.day),
        progress=desk.builder.progress,
        examples=examples(desk),
    )


def _section(key: str, groups: tuple[Group, ...], *, whole: bool) -> tuple[tuple[Group, ...], Markup]:
    """Return the groups of one section that the page shows, and a link to all where that leaves some out."""
    shown, left = (groups, 0) if whole else within(groups)
    return shown, linked("today.more_like_these", f"/today?all=yes#{key}", count=left) if left else Markup("")


def _of_the_day(
    seen: Seen, ahead: Sequence[DayAhead], *, fix: Sequence[Group], look: Sequence[Group]
) -> Iterator[Markup]:
    """Yield what a day comes to, in sentences: what is promised next, and what is left to do before that."""
    language = seen.opened.shop.settings.language
    if waiting := _to_send(seen):
        names = list_text(tuple(dict.fromkeys(each.buyer for each in waiting))[:_NAMED], language)
        yield linked("today.to_send", "/shops#to-send", count=len(waiting), names=names)
    if ahead:
        left = say("count.days", count=ahead[0].left) if ahead[0].left else say("today.today_is")
        yield linked("today.next", "#ahead", when=sentence(left), what=ahead[0].what, day=ahead[0].shown)
    if not seen.opened.shop.folders:
        yield linked("today.no_set", "/sets/new")
        if not seen.opened.shop.settings.seasons:
            yield linked("today.no_season", "/shop?at=season")
    for key, groups in (("fix", fix), ("look", look)):
        count = sum(len(each.told) for each in groups)
        if count:
            titles, more = tuple(each.title for each in groups[:_NAMED]), len(groups) - _NAMED
            names = list_text(titles, language)
            names = say("today.and_more", names=", ".join(titles), count=more) if more > 0 else names
            yield linked(f"today.{key}_some", f"#{key}", count=count, names=names)
        elif key == "fix" and look and seen.opened.shop.folders:
            yield linked("today.nothing_to_fix", "/build")


def _to_send(seen: Seen) -> tuple[KeptOrder, ...]:
    """Return the orders of shops that are confirmed and wait to be sent; none where the ledger cannot be read."""
    try:
        return tuple(each for each in orders(seen.opened.shop.root / LEDGER) if each.state is OrderState.CONFIRMED)
    except FieldError:
        return ()


def _lines_of(desk: Desk) -> tuple[Lines, changes.Seen]:
    """Return the rows of the sheet and its file, no rows where it cannot be read."""
    files = look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    try:
        return sheet_lines(files, file), file
    except FieldError:
        return Lines({}, ()), file


def moved_of(moved: ChannelChanges) -> MovedLine:
    """Return what moved on a place in a line: "3 prices, 1 new; send web_shop/feed.csv again".

    A variant of which several facts moved counts once for each kind.
    """
    if moved.record is None:
        return MovedLine(moved.name, say("today.never_published"), built=moved.built)
    by_code: dict[str, set[str]] = {}
    for change in moved.found.changed:
        by_code.setdefault(change.code, set()).add(change.field)
    kinds = {
        "new": len(moved.found.new),
        "gone": len(moved.found.gone),
        "prices": sum("price" in fields for fields in by_code.values()),
        "stocks": sum("stock" in fields for fields in by_code.values()),
        "others": sum(bool(fields - {"price", "stock"}) for fields in by_code.values()),
        "held": len(moved.held),
    }
    parts = [say(f"moved.{kind}", count=count) for kind, count in kinds.items() if count]
    files = tuple(file.path for file in moved.files if not file.document)
    look = tuple(
        say("moved.other_goods", code=each.code, was=each.was, now=each.now)
        for each in codes_of_other_goods(moved.old, moved.new)
    )
    if not parts:
        parts = [_files_alone(moved)] if moved.files else [say("moved.nothing")]
    return MovedLine(moved.name, ", ".join(parts), files, moved.built, look)


def _files_alone(moved: ChannelChanges) -> str:
    """Return which files alone differ on a place, by their names there; the first few of many."""
    names = tuple(file.path.partition("/")[2] or file.path for file in moved.files)
    shown = list_text(names[:_NAMED], spoken())
    if len(names) > _NAMED:
        shown = say("moved.more_files", names=", ".join(names[:_NAMED]), count=len(names) - _NAMED)
    return say("moved.files", count=len(names), names=shown)


def moved_together(lines: Iterable[MovedLine]) -> Iterator[MovedLine]:
    """Yield what moved, places of which the same is to be said and nothing is to be sent together."""
    alike: dict[MovedLine, list[str]] = {}
    for line in lines:
        alike.setdefault(replace(line, name=""), []).append(line.name)
    for line, names in alike.items():
        yield replace(line, name=", ".join(names))


def days_ahead(shop: Shop, day: datetime.date) -> Iterator[DayAhead]:
    """Yield what comes within two months, in its order: seasons that begin or end, the last days to post and order."""
    dates = [(season.on_sale, say("ahead.begins", season=season.name)) for season in shop.settings.seasons]
    dates += [(season.off_sale, say("ahead.ends", season=season.name)) for season in shop.settings.seasons]
    dates += [
        (season.last_post, say("ahead.last_post", season=season.name))
        for season in shop.settings.seasons
        if season.last_post is not None
    ]
    if shop.wholesale is not None:
        dates += [(last, say("ahead.order_by")) for last in (shop.wholesale.window.order_by,) if last is not None]
    for at, what in sorted(dates):
        left = (at - day).days
        if 0 <= left <= _AHEAD:
            yield DayAhead(at, date_text(at, shop.settings.language), left, what)


@dataclass(frozen=True, slots=True)
class ToMake:
    """The make list of the next two weeks: days with what is to be done, and how much of the plan is too late."""

    days: tuple[DayAhead, ...]
    late: tuple[str, ...]


def to_make(catalog: Catalog, day: datetime.date) -> ToMake | None:
    """Return what the plan asks for within two weeks, None where nothing is planned."""
    if not catalog.shop.making.plan:
        return None
    plan, shop = make_plan(catalog, day), catalog.shop
    words = calendar_words(shop)
    until = day + datetime.timedelta(_SOON)
    soon = (each for each in year_days(shop, plan, day) if each.kind in ("buy", "pour", "ready") and each.day <= until)
    days = (
        DayAhead(each.day, date_text(each.day, shop.settings.language), (each.day - day).days, day_text(each, words))
        for each in soon
    )
    late = (
        say("make.late", code=make.code, name=make.name, short=make.short, by=_day_in_sentence(make.by, shop))
        for make in plan.late
    )
    unseen = plan.closed_unseen
    more = () if unseen is None else (say("make.closed_unseen", day=_day_in_sentence(unseen, shop)),)
    return ToMake(tuple(days), (*late, *more))


def _day_in_sentence(day: datetime.date, shop: Shop) -> str:
    """Return a day as the sentence around it is written: in the desk's language, as the shop's country writes it."""
    stated = shop.settings.language
    return date_text(day, stated if base_language(stated) == spoken() else spoken())


def running_short(catalog: Catalog) -> Iterator[Short]:
    """Yield the sets on sale of which few can still be made, the scarcest first."""
    short = [
        (facts.can_make, facts)
        for facts in catalog.sets
        if facts.can_make is not None
        and facts.can_make <= _SHORT + catalog.shop.settings.stock.hold_back
        and facts.source.gift_set.status in (SetStatus.ON_SALE, SetStatus.LAST_CHANCE)
    ]
    for left, facts in sorted(short, key=lambda each: (each[0], each[1].name)):
        yield Short(facts.name, set_address(facts.code), left)


# Build


def start_build(desk: Desk, request: Request, form: FormData) -> Response:
    """Begin a build and go to its page, where one that is at work is shown too."""
    desk.builder.start(desk.shop_state, accept=text_of(form, "accept"))
    return went_well(desk, "/build")


def stop_build(desk: Desk, request: Request, form: FormData) -> Response:
    """Ask the build to stop."""
    desk.builder.stop()
    return went_well(desk, "/build")


def show_build(desk: Desk, request: Request) -> Response:
    """Return the page of the build at work, or of the last one."""
    behind = desk.builder.progress.step is Step.DONE and is_behind(desk)
    return page(desk, request, "today", template="build", progress=desk.builder.progress, behind=behind)


def is_behind(desk: Desk, key: str = "") -> bool:
    """Whether it is known that the files of some place, or of the one named, are not those of the shop as it is."""
    number, full = desk.shop_state.look().number, desk.shop_state.full(wait=_FIRST_LOOK)
    if full is None or full.number != number:
        return False
    return any(each.built is not Built.NOW for each in full.changes if key in ("", each.key))


async def build_events(desk: Desk, request: Request) -> Response:
    """Return the build as server-sent events, one whenever it moved, until it ends or nobody listens."""

    async def events() -> AsyncIterator[str]:
        before: Progress | None = None
        while not desk.closing and not await request.is_disconnected():
            progress = desk.builder.progress
            if progress != before:
                before = progress
                shown = {"step": progress.step, "done": progress.done, "total": progress.total}
                yield f"data: {json.dumps({**shown, 'running': progress.running})}\n\n"
            if not progress.running:
                return
            await asyncio.sleep(_TURN)

    return StreamingResponse(events(), media_type="text/event-stream")


def built_file(desk: Desk, request: Request) -> Response:
    """Return a file that the last build made: shown where a browser can do so safely, else to be kept."""
    file = made_file(desk, request.path_params["path"])
    if file is None:
        return page(desk, request, "today", template="nothing", status=404)
    kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
    shown = file.suffix.lower() in _SHOWN and "keep" not in request.query_params
    headers = {} if file.suffix.lower() in _AS_THEY_ARE else {"content-security-policy": FILE_POLICY}
    kind = f"{kind}; charset=utf-8" if kind.startswith("text/") else kind
    return FileOnDisk(
        file,
        media_type=kind,
        filename=file.name,
        content_disposition_type="inline" if shown else "attachment",
        headers=headers,
    )


def made_file(desk: Desk, wanted: str) -> Path | None:
    """Return a file of the last build by its path below the output folder; None where the build made none such."""
    out = desk.shop_state.out
    entry = next((each for each in read_manifest(out) if each.path == wanted), None)
    file = out / entry.path if entry else None
    return file if file is not None and is_plain(file, out) else None


def is_plain(file: Path, out: Path) -> bool:
    """Whether a file is there, may be read, and no link leads away from the output folder on the way to it."""
    return (
        file.is_file()
        and os.access(file, os.R_OK)
        and not any(part.is_symlink() for part in (file, *file.parents) if out in part.parents)
    )
