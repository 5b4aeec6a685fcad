"""The desk's routes, a line each; and the server, which listens on this machine alone.

A page is a function of the desk and the request. A form is one of the desk, the request and the form, called once the
token of the form is the desk's own. Whatever nobody foresaw becomes a plain page, never a traceback.
"""

import asyncio
import ctypes
import mimetypes
import os
import socket
import sys
import threading
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from listkit.desk import (
    allotment,
    boxes,
    days,
    feed,
    item_codes,
    items,
    moves,
    new_place,
    one_set,
    paper,
    past,
    photos,
    pictures,
    places,
    publish,
    rows,
    saving,
    sets,
    shelf,
    shop,
    shops,
    start,
    stock,
    stock_add,
    stories,
    terms,
    today,
)
from listkit.desk.building import Builder
from listkit.desk.connections import Server
from listkit.desk.guard import (
    FORM_TOKEN,
    LOOPBACK,
    TOKEN_HEADER,
    Guard,
    Keys,
    TooLargeError,
    same,
    too_large,
    unreadable,
)
from listkit.desk.page import Clock, Desk, Today, accent_css, carry, page, text_of
from listkit.desk.sent import Arriving, Turns, UnreadableError, read_form
from listkit.desk.wording import Speaking, choose
from listkit.problem import BlockedError, FieldError
from listkit.read.folder import SHOP
from listkit.shipped import shipped_templates
from listkit.waiting import waiting_at_most

Show = Callable[[Desk, Request], Response]
Change = Callable[[Desk, Request, FormData], Response]
PORT: Final = 8765
"""The port that is tried first where none is asked for."""
_SHOWS_WITHIN, _CHANGES_WITHIN = 0.25, 1.5
"""Seconds for which a page and a change wait for another program; then the page says who was waited for."""
_ENDS_WITHIN: Final = 3.0  # seconds; ending.GRACE is more
_MALLOC: Final = ((-8, 2), (-3, 131_072), (-1, 131_072))
"""For mallopt of glibc: at most two arenas, and blocks from 128 kB on, and ends of the heap, are given back."""


def application(desk: Desk) -> ASGIApp:
    """Return the whole desk behind its guard."""
    show, change = _shows(desk), _changes(desk)
    routes = [
        show("/", _first_page, shop=False),
        show("/start", start.show, shop=False),
        change("/start/small", start.make_small, shop=False),
        show("/start/sheet", start.show_columns, shop=False),
        change("/start/sheet", start.take_sheet, shop=False),
        change("/start/columns", start.make_own, shop=False),
        show("/today", today.show),
        show("/build", today.show_build),
        change("/build", today.start_build),
        change("/build/stop", today.stop_build),
        Route("/build/events", _streamed(desk)),
        show("/made/{path}", publish.show_proof),
        show("/made/{path:path}", today.built_file),
        *_of_sets(show, change),
        *_of_places(show, change),
        *_of_shelf(show, change),
        *_of_paper(show, change),
        show("/rename", item_codes.show_rename),
        change("/rename", item_codes.rename),
        show("/past", past.show),
        show("/past/prices", past.show_prices),
        show("/past/season", past.show_season),
        show("/past/drawing", past.show_drawing),
        change("/past/back", saving.take_back),
        show("/shop", shop.show),
        change("/shop", shop.change),
        change("/shop/examples", shop.keep_examples),
        show("/shop/table/{name}", rows.show),
        change("/shop/table/{name}", rows.change),
        show("/news", _news, shop=False),
        show("/accent.css", _accent, shop=False),
        show("/static/{name}", _static, shop=False),
        change("/language", _speak, shop=False),
        change("/close", _close, shop=False),
    ]
    foreseen = {HTTPException: _refused(desk), 500: _mistake}
    app = Starlette(routes=routes, middleware=[Middleware(Speaking)], exception_handlers=foreseen)
    return Guard(app, desk.keys)


def _of_stock(show: Callable[..., Route], change: Callable[..., Route]) -> list[Route]:
    return [
        show("/shelf/stock", stock.show),
        show("/shelf/stock/code", stock.show_code),
        show("/shelf/stock/batch", stock.show_batch),
        change("/shelf/stock/start", stock.start),
        change("/shelf/stock/undo", stock.take_back),
        change("/shelf/stock/add", stock_add.take),
        change("/shelf/stock/count", stock_add.count),
        change("/shelf/stock/moved", stock_add.by_hand),
        show("/shelf/stock/add/{key}", stock_add.show),
        change("/shelf/stock/add/{key}", stock_add.decide),
    ]


def _of_shelf(show: Callable[..., Route], change: Callable[..., Route]) -> list[Route]:
    return [
        show("/shelf", shelf.show),
        show("/shelf/item", items.show_item),
        change("/shelf/item", items.change),
        show("/shelf/new", items.show_new),
        change("/shelf/new", items.add),
        show("/shelf/codes", item_codes.show_make),
        change("/shelf/codes", item_codes.make),
        change("/shelf/points", item_codes.write_points),
        show("/shelf/take", item_codes.show_take),
        change("/shelf/take", item_codes.take),
        show("/shelf/boxes", boxes.show),
        change("/shelf/boxes", boxes.change),
        *_of_stock(show, change),
        show("/shelf/table/{name}", rows.show),
        change("/shelf/table/{name}", rows.change),
        show("/shelf/allotment", allotment.show),
        change("/shelf/allotment", allotment.change),
    ]


def _of_paper(show: Callable[..., Route], change: Callable[..., Route]) -> list[Route]:
    return [
        show("/shops", shops.show),
        change("/shops/stockists", shops.change_stockists),
        change("/shops/order", shops.receive),
        show("/shops/order/{key}", shops.show_dropped),
        change("/shops/order/{key}", shops.confirm),
        show("/shops/orders/{number:number}", shops.show_order),
        change("/shops/orders/{number:number}", shops.follow),
        show("/shops/orders/{number:number}/{paper}", shops.order_paper),
        show("/shops/terms", terms.show),
        change("/shops/terms", terms.change),
        show("/shops/terms/{digest}/{number:number}.png", terms.show_page),
        show("/shops/terms/{digest}/{number:number}", terms.show_large),
        show("/print", paper.show),
        change("/print", paper.make),
        show("/print/market", days.show_market),
        change("/print/market", days.make_market),
        show("/print/market/counts.csv", days.counts_sheet),
        show("/print/post", days.show_post),
        change("/print/post", days.make_post),
        show("/print/files/{name}", paper.show_file),
        show("/print/test.pdf", paper.show_outlines),
        show("/print/ruler.pdf", paper.show_ruler),
        show("/print/measure", paper.show_measuring),
        change("/print/measure", paper.measure),
    ]


def _of_sets(show: Callable[..., Route], change: Callable[..., Route]) -> list[Route]:
    return [
        show("/sets", sets.show),
        show("/sets/proposals", sets.show_proposals),
        change("/sets/proposals", sets.make_proposed),
        show("/sets/new", sets.show_new),
        change("/sets/new", sets.make_new),
        show("/sets/{code:code}", one_set.show),
        change("/sets/{code:code}/change", one_set.change),
        change("/sets/{code:code}/status", one_set.change_status),
        change("/sets/{code:code}/story", stories.story_page),
        show("/sets/{code:code}/items", one_set.show_items),
        show("/sets/{code:code}/box/{variant:code}", one_set.show_box),
        show("/sets/{code:code}/delete", sets.show_delete),
        change("/sets/{code:code}/delete", sets.delete),
        show("/sets/{code:code}/photos", photos.show),
        change("/sets/{code:code}/photos", photos.save),
        change("/sets/{code:code}/photos/order", photos.move),
        change("/sets/{code:code}/photos/add", photos.add),
        change("/sets/{code:code}/photos/take", photos.take),
        show("/sets/{code:code}/photos/{name}", pictures.show_photo),
        show("/sets/{code:code}/photos/{name}/crops", photos.draw_crops),
        show("/sets/{code:code}/photos/{name}/crops/{number:number}", photos.show_crop),
        show("/sets/{code:code}/listing/{place}", pictures.show_listing),
    ]


def _of_places(show: Callable[..., Route], change: Callable[..., Route]) -> list[Route]:
    return [
        show("/places", places.show),
        show("/places/new", new_place.show),
        change("/places/new", new_place.make_kind),
        change("/places/new/sample", new_place.take_sample),
        show("/places/new/columns", new_place.show_columns),
        change("/places/new/columns", new_place.make_from_sample),
        show("/places/moves", moves.show),
        change("/places/moves", moves.change),
        show("/place/{key}", places.show_place),
        change("/place/{key}/change", places.change),
        show("/place/{key}/delete", places.show_delete),
        change("/place/{key}/delete", places.delete),
        show("/place/{key}/feed", feed.show),
        show("/place/{key}/columns", feed.show_columns),
        change("/place/{key}/columns", feed.change_columns),
        change("/place/{key}/columns/sample", feed.sample),
        show("/place/{key}/zip", publish.download),
        show("/place/{key}/publish", publish.show_publish),
        change("/place/{key}/publish", publish.publish),
        change("/place/{key}/unpublish", publish.unpublish),
        show("/place/{key}/compare", publish.show_compare),
        change("/place/{key}/compare", publish.take_export),
        change("/place/{key}/corrections", publish.corrections),
    ]


def _shows(desk: Desk) -> Callable[..., Route]:
    def route(path: str, function: Show, *, shop: bool = True) -> Route:
        async def answer(request: Request) -> Response:
            if shop and desk.state is None:
                return RedirectResponse("/start", 303)
            return await run_in_threadpool(function, desk, request)

        return Route(path, _foreseen(desk, answer), methods=["GET"])

    return route


def _changes(desk: Desk) -> Callable[..., Route]:
    turns, arriving = Turns(), Arriving()

    def route(path: str, function: Change, *, shop: bool = True) -> Route:
        async def answer(request: Request) -> Response:
            async with read_form(request, arriving) as form:
                token = request.headers.get(TOKEN_HEADER) or form.get(FORM_TOKEN)
                if not isinstance(token, str) or not same(token, desk.keys.form_token):
                    return PlainTextResponse("This form is not of this desk, so nothing was done. Go back, load "
                                             "the page again, and send it once more.\n", 403)  # fmt: skip
                if shop and desk.state is None:
                    return RedirectResponse("/start", 303)
                carry(request, saving.shown_fields(form))
                return await run_in_threadpool(
                    turns.take, request.url.path, form, lambda: function(desk, request, form)
                )

        return Route(path, _foreseen(desk, answer), methods=["POST"])

    return route


def _foreseen(desk: Desk, answer: Callable[[Request], Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
    """Return `answer`, with what may come between made a page: too much was sent, or something outside comes first."""

    async def answered(request: Request) -> Response:
        try:
            with waiting_at_most(_SHOWS_WITHIN if request.method == "GET" else _CHANGES_WITHIN):
                return await answer(request)
        except TooLargeError as fault:
            return too_large(fault.most)
        except (UnreadableError, ClientDisconnect):  # whom it is for may be gone
            return unreadable()
        except (BlockedError, FieldError) as fault:
            lines = (fault.message, fault.hint)
            return await run_in_threadpool(page, desk, request, "", template="refused", lines=lines, status=409)

    return answered


def _streamed(desk: Desk) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        return await today.build_events(desk, request)

    return answer


def _refused(desk: Desk) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, fault: Exception) -> Response:
        status = fault.status_code if isinstance(fault, HTTPException) else 400
        return await run_in_threadpool(page, desk, request, "", template="nothing", status=status)

    return answer


async def _mistake(request: Request, fault: Exception) -> Response:
    at, place = fault.__traceback__, ""
    while at is not None:
        place, at = f"{Path(at.tb_frame.f_code.co_filename).name}, line {at.tb_lineno}", at.tb_next
    text = f"listkit made a mistake of its own ({place}): {type(fault).__name__}.\nNothing else was harmed. Go back, "
    return PlainTextResponse(f"{text}and send this line to whoever gave you listkit.\n", 500)


def _first_page(desk: Desk, request: Request) -> Response:
    return RedirectResponse("/today" if desk.state else "/start", 303)


def _news(desk: Desk, request: Request) -> Response:
    """Return what tells an open page that it is out of date: numbers of the reading and of the last whole check."""
    state = desk.state
    full = state.full() if state else None
    return JSONResponse({"reading": state.look().number if state else 0, "checked": full.number if full else 0})


def _accent(desk: Desk, request: Request) -> Response:
    return Response(accent_css(desk), media_type="text/css")


@cache
def _statics() -> Mapping[str, bytes]:
    folder = shipped_templates() / "desk" / "static"
    return {file.name: file.read_bytes() for file in sorted(folder.iterdir()) if file.is_file()}


def _static(desk: Desk, request: Request) -> Response:
    name = request.path_params["name"]
    content = _statics().get(name)
    if content is None:
        return PlainTextResponse("There is no such file.\n", 404)
    kind = "text/javascript" if name.endswith(".js") else mimetypes.guess_type(name)[0] or "application/octet-stream"
    return Response(content, media_type=kind, headers={"cache-control": "no-cache"})


def _speak(desk: Desk, request: Request, form: FormData) -> Response:
    """Return to the page that a language was chosen on, which speaks it from now on."""
    answer = RedirectResponse(saving.way_back(form), 303)
    choose(text_of(form, "language"), answer)
    return answer


def _close(desk: Desk, request: Request, form: FormData) -> Response:
    answer = page(desk, request, "", template="closed")
    threading.Timer(0.3, desk.close).start()  # once the page has gone out
    return answer


# The server


class DeskServer:
    """The desk of one folder on a port of this machine; `address` opens it, once."""

    def __init__(self, folder: Path, port: int | None, today: Today, now: Clock) -> None:
        """Take the port, another one where that is taken and none was asked for.

        Raises:
            BlockedError: the port that was asked for cannot be had.
        """
        self._socket = _listening(port)
        keys = Keys(self._socket.getsockname()[1])
        has_shop = os.path.isfile(folder / SHOP)
        self.desk = Desk(folder, keys, today, now, Builder(), close=self.close)
        if has_shop:
            self.desk.open_shop(folder)
        self._server = Server(application(self.desk))
        self._thread = threading.Thread(target=self._serve, name="listkit-desk")

    @property
    def address(self) -> str:
        """The address that opens the desk, once."""
        return self.desk.keys.address

    def start(self) -> None:
        """Begin to answer."""
        _give_memory_back()
        self._thread.start()

    def close(self) -> None:
        """Ask the desk to end; it has ended when `wait` returns."""
        self.desk.closing = True
        self._server.should_exit = True

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until the desk has ended, so long at most; return whether it has. A signal may come between."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def end(self) -> None:
        """End everything: the build, the thread that checks, the server."""
        self.close()
        self.desk.builder.end(_ENDS_WITHIN)
        if self.desk.state is not None:
            self.desk.state.end()
        self.wait(_ENDS_WITHIN)
        self._socket.close()

    def _serve(self) -> None:
        asyncio.run(self._server.serve([self._socket]))


def _give_memory_back() -> None:
    """Let the C library give large blocks back at once and keep few stores of free ones; where it is glibc.

    Else what pictures took stays with the process: 333 MB after a build of the demo in place of 276.
    """
    with suppress(AttributeError, OSError, TypeError):
        tune = ctypes.CDLL(None).mallopt
        for parameter, value in _MALLOC:
            tune(parameter, value)


def _listening(port: int | None) -> socket.socket:
    """Return a socket on loopback, which no other machine reaches."""
    for wanted in (PORT, 0) if port is None else (port,):
        server = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform != "win32":  # there it would let another program listen on the same port
            server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        server.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)  # else the end of each page waits 40 ms for an ACK
        try:
            server.bind((LOOPBACK, wanted))
            server.listen()
        except OSError as fault:
            server.close()
            if port is not None:
                hint = "Name another with --port, or leave it out: then one that is free is taken."
                raise BlockedError(f"port {port} cannot be had: {fault.strerror}.", hint) from fault
        except OverflowError:
            server.close()
            raise FieldError(f"{wanted} is no port.", "Name one from 1024 to 65535.") from None
        else:
            return server
    raise BlockedError("no port of this machine is free.", "Close other programs, then try again.")
