"""Market day and post day: what to take and how it comes back, a day's parcels with all their papers.

A market is planned from what sold there; the numbers may be changed before its page is printed, and the sheet that goes
with it comes back to what came and went. Of a table of buyers' orders nothing is kept, not even while the desk is open.
"""

import csv
import datetime
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.days import MarketPlanned, MarketRequest, plan_for_market, print_market, print_post
from listkit.actions.prints import KINDS, Printed
from listkit.desk.page import Desk, in_full, page, say, text_of
from listkit.desk.paper import checked_shop, whole_count
from listkit.desk.sent import sent_file
from listkit.desk.stock import day_named
from listkit.listing.cells import guarded
from listkit.pipeline import Checked, check_shop
from listkit.problem import FieldError, must_fix
from listkit.read.source import Given
from listkit.units.spoken import date_text

MARKET: Final = "/print/market"
POST: Final = "/print/post"
_COUNT: Final = "count/"
_LONGEST_NAME: Final = 100


@dataclass(frozen=True, slots=True)
class TakeRow:
    """One thing that is sold at the market: how many are free, the most that a like day sold, how many are taken."""

    code: str
    name: str
    free: str
    sold: str
    take: str


@dataclass(frozen=True, slots=True)
class Asked:
    """Which market: its place and day, and the owner's own numbers as they were typed, by code."""

    place: str
    day: datetime.date
    counts: Mapping[str, str] = field(default_factory=dict)

    @property
    def query(self) -> str:
        """What stands behind the question mark."""
        return urlencode({"place": self.place, "day": self.day.isoformat()})


# Market day


def show_market(desk: Desk, request: Request) -> Response:
    """Return the page of a market, planned where its place and day are asked for."""
    return _market_page(desk, request, _asked(desk, request.query_params))


def _asked(desk: Desk, given: Mapping[str, str]) -> Asked:
    day = day_named(given.get("day", "")) or desk.shop_state.look().day
    return Asked(given.get("place", "")[:_LONGEST_NAME], day)


def _market_page(
    desk: Desk,
    request: Request,
    asked: Asked,
    *,
    printed: Printed | None = None,
    fault: str = "",
) -> Response:
    shop = desk.shop_state.look().opened.shop
    planned, missing = None, ""
    if asked.place:
        try:
            planned = plan_for_market(_checked_on(desk, asked.day), MarketRequest(asked.place, asked.day))
        except FieldError as refused:
            missing = in_full(refused)
    plan = planned.market.plan if planned is not None and planned.market is not None else None
    language = shop.settings.language
    return page(
        desk,
        request,
        "print",
        template="market",
        kinds=KINDS,
        asked=asked,
        channels=[(channel.key, channel.name) for channel in shop.channels],
        rows=tuple(_rows(planned, asked)) if planned is not None else (),
        like_days=[date_text(day, language, style="medium") for day in plan.like_days] if plan is not None else [],
        planned=plan is not None,
        missing=missing if missing != fault else "",
        printed=printed,
        fault=fault,
        status=422 if fault or (printed is not None and must_fix(printed.problems)) else 200,
    )


def _checked_on(desk: Desk, day: datetime.date) -> Checked:
    """Return the shop as it is on a day.

    Raises:
        FieldError: something must be fixed first, or it is still being looked through.
    """
    state = desk.shop_state
    seen = state.look()
    full = checked_shop(desk) if day == seen.day else None
    if day != seen.day:
        checked: Checked | None = check_shop(state.folder, day, state.out, before=seen.opened)
    else:
        checked = full.checked if full is not None else None
    if checked is None:
        raise FieldError(say("print.looking"))
    if checked.stopped:
        raise FieldError(say("print.stopped"))
    return checked


def _rows(planned: MarketPlanned, asked: Asked) -> Iterator[TakeRow]:
    lines = {line.on_sale.code: line for line in planned.market.plan.lines} if planned.market is not None else {}
    for each in planned.on_sale:
        line, choices = lines.get(each.code), ", ".join(choice.says for choice in each.variant.choices)
        yield TakeRow(
            each.code,
            name=f"{each.facts.name}, {choices}" if choices else each.facts.name,
            free="" if each.most is None else str(each.most),
            sold="" if line is None or line.sold is None else str(line.sold),
            take=asked.counts.get(each.code, str(line.take) if line is not None and line.take else ""),
        )


def counts_sheet(desk: Desk, request: Request) -> Response:
    """Return what would be taken as a table of numbers, to be changed elsewhere and dropped back."""
    asked = _asked(desk, request.query_params)
    planned = plan_for_market(_checked_on(desk, asked.day), MarketRequest(asked.place, asked.day))
    content = _table((row.code, row.take or "0", guarded(row.name)) for row in _rows(planned, asked))
    headers = {"content-disposition": 'attachment; filename="counts.csv"'}
    return Response(content, media_type="text/csv", headers=headers)


def make_market(desk: Desk, request: Request, form: FormData) -> Response:
    """Print the page of a market and write its sheet, in the numbers that were typed or dropped where they differ."""
    typed = {name.removeprefix(_COUNT): text_of(form, name) for name in form if name.startswith(_COUNT)}
    plain = _asked(desk, {name: text_of(form, name) for name in ("place", "day")})
    asked = Asked(plain.place, plain.day, typed)
    try:
        checked = _checked_on(desk, asked.day)
        planned = plan_for_market(checked, MarketRequest(asked.place, asked.day))
        counts = _counts(form, asked, {row.code: row.take for row in _rows(planned, plain)})
        printed = print_market(checked, MarketRequest(asked.place, asked.day, counts), desk.shop_state.out)
    except FieldError as refused:
        return _market_page(desk, request, asked, fault=in_full(refused))
    return _market_page(desk, request, asked, printed=printed)


def _counts(form: FormData, asked: Asked, proposed: Mapping[str, str]) -> Given | None:
    """Return the owner's own numbers as a table; None where they are as they were proposed."""
    if (sent := sent_file(form, "counts")) is not None:
        return sent
    wanted = {code: whole_count(text, code) for code, text in asked.counts.items() if text}
    if not any(wanted.values()):
        raise FieldError(say("print.none_asked"))
    if wanted == {code: int(text) for code, text in proposed.items() if text}:
        return None
    return Given("counts.csv", _table((code, str(number), "") for code, number in wanted.items() if number))


def _table(rows: Iterator[tuple[str, str, str]]) -> bytes:
    written = io.StringIO(newline="")
    csv.writer(written).writerows([("code", "quantity", "name"), *rows])
    return written.getvalue().encode("utf-8-sig")  # so that spreadsheets see that it is in UTF-8


# Post day


def show_post(desk: Desk, request: Request) -> Response:
    """Return the page onto which a day's orders are dropped."""
    return _post_page(desk, request)


def make_post(desk: Desk, request: Request, form: FormData) -> Response:
    """Print the papers of a day's orders; the table is gone when they are printed."""
    orders = sent_file(form, "orders")
    if orders is None:
        return _post_page(desk, request, fault=say("print.no_orders"))
    try:
        checked = _checked_on(desk, desk.shop_state.look().day)
        printed = print_post(checked, orders, desk.shop_state.out)
    except FieldError as refused:
        return _post_page(desk, request, fault=in_full(refused))
    return _post_page(desk, request, printed=printed)


def _post_page(desk: Desk, request: Request, *, printed: Printed | None = None, fault: str = "") -> Response:
    return page(
        desk,
        request,
        "print",
        template="post",
        kinds=KINDS,
        printed=printed,
        fault=fault,
        status=422 if fault or (printed is not None and must_fix(printed.problems)) else 200,
    )
