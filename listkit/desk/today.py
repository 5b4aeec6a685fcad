"""Today: what must be done. Problems by set, what moved since each place was published, days ahead, stock; Build."""

import asyncio
import datetime
import json
import mimetypes
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import FileResponse, Response, StreamingResponse

from listkit.actions.changes import ChannelChanges
from listkit.compute.catalog import Catalog
from listkit.desk.building import Progress
from listkit.desk.guard import FILE_POLICY
from listkit.desk.page import Desk, grouped, page, say, set_address, went_well
from listkit.listing.formats import date_text
from listkit.model.fields import SetStatus
from listkit.model.shop import Shop
from listkit.problem import Level
from listkit.save.manifest import read_manifest

_FIRST_LOOK: Final = 0.25  # seconds that the page waits for the whole check before it shows what it knows
_AHEAD: Final = 60  # days
_SHORT: Final = 3  # sets that can still be made
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
    """What differs on a place from what was published there last: a summary, and the files to send again."""

    name: str
    summary: str
    files: tuple[str, ...] = ()


def show(desk: Desk, request: Request) -> Response:
    """Return the page."""
    seen, full = desk.shop_state.look(), desk.shop_state.full(wait=_FIRST_LOOK)
    shop = seen.opened.shop
    fresh = full is not None and full.number == seen.number
    problems = full.problems if full is not None and not full.fault else seen.opened.problems
    fix = tuple(each for each in problems if each.level is Level.MUST_FIX and not each.draft)
    look = tuple(each for each in problems if each.level is not Level.MUST_FIX and not each.draft)
    return page(
        desk,
        request,
        "today",
        day=date_text(seen.day, shop.settings.language),
        fresh=fresh,
        fault=full.fault if full else "",
        fix=grouped(fix, shop),
        fix_count=len(fix),
        look=grouped(look, shop),
        look_count=len(look),
        drafts=grouped(tuple(each for each in problems if each.draft), shop),
        moved=tuple(map(moved_of, full.changes)) if full else (),
        stopped=full is not None and full.stopped,
        moved_fault=full.moved_fault if full else "",
        ahead=tuple(days_ahead(shop, seen.day)),
        short=tuple(running_short(seen.catalog)),
        progress=desk.builder.progress,
    )


def moved_of(changes: ChannelChanges) -> MovedLine:
    """Return what moved on a place in a line: "3 prices, 1 new; send web_shop/feed.csv again".

    A variant of which several facts moved counts once for each kind.
    """
    if changes.record is None:
        return MovedLine(changes.name, say("today.never_published"))
    by_code: dict[str, set[str]] = {}
    for change in changes.found.changed:
        by_code.setdefault(change.code, set()).add(change.field)
    kinds = {
        "new": len(changes.found.new),
        "gone": len(changes.found.gone),
        "prices": sum("price" in fields for fields in by_code.values()),
        "stocks": sum("stock" in fields for fields in by_code.values()),
        "others": sum(bool(fields - {"price", "stock"}) for fields in by_code.values()),
        "held": len(changes.held),
    }
    parts = [say(f"moved.{kind}", count=count) for kind, count in kinds.items() if count]
    files = tuple(file.path for file in changes.files if not file.document)
    if not parts:
        parts = [say("moved.files", count=len(changes.files))] if changes.files else [say("moved.nothing")]
    return MovedLine(changes.name, ", ".join(parts), files)


def days_ahead(shop: Shop, day: datetime.date) -> Iterator[DayAhead]:
    """Yield what comes within two months, in its order: seasons that begin or end, the last day to order."""
    dates = [(season.on_sale, say("ahead.begins", season=season.name)) for season in shop.settings.seasons]
    dates += [(season.off_sale, say("ahead.ends", season=season.name)) for season in shop.settings.seasons]
    if shop.wholesale is not None:
        dates += [(last, say("ahead.order_by")) for last in (shop.wholesale.window.order_by,) if last is not None]
    for at, what in sorted(dates):
        left = (at - day).days
        if 0 <= left <= _AHEAD:
            yield DayAhead(at, date_text(at, shop.settings.language), left, what)


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
    desk.builder.start(desk.shop_state, accept=form.get("accept") == "yes")
    return went_well(desk, "/build")


def stop_build(desk: Desk, request: Request, form: FormData) -> Response:
    """Ask the build to stop."""
    desk.builder.stop()
    return went_well(desk, "/build")


def show_build(desk: Desk, request: Request) -> Response:
    """Return the page of the build at work, or of the last one."""
    return page(desk, request, "today", template="build", progress=desk.builder.progress)


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
    return FileResponse(
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
    """Whether a file is there and no link leads away from the output folder on the way to it."""
    return file.is_file() and not any(part.is_symlink() for part in (file, *file.parents) if out in part.parents)
