"""Desks for tests: without a port, spoken to through starlette's test client; and in a real browser."""

import datetime
import re
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path

from starlette.testclient import TestClient

from listkit.desk.app import application
from listkit.desk.building import Builder
from listkit.desk.guard import FORM_TOKEN, Keys
from listkit.desk.page import Desk

DAY = datetime.date(2026, 11, 29)
NOW = datetime.datetime(2026, 11, 29, 10, 30, tzinfo=datetime.UTC)
PORT = 8765
ORIGIN = f"http://127.0.0.1:{PORT}"
CHROMIUM = next(
    (path for path in (Path("/usr/bin/chromium"), Path("/usr/bin/chromium-browser")) if path.exists()), None
)


def new_desk(folder: Path) -> Desk:
    """Return a desk of a folder, with its shop where there is one; `close` notes that it was called."""
    desk = Desk(folder, Keys(PORT), lambda: DAY, lambda: NOW, Builder(), close=lambda: None)
    if (folder / "shop.toml").is_file():
        desk.open_shop(folder)
    return desk


@contextmanager
def opened(folder: Path) -> Iterator[tuple[TestClient, Desk]]:
    """Yield a client that was let in to the desk of a folder, as the owner's browser is, and has seen no page yet."""
    desk = new_desk(folder)
    with stranger(desk) as client:
        client.get(desk.keys.address.removeprefix(ORIGIN), follow_redirects=False)
        yield client, desk
    desk.builder.end(30)
    if desk.state is not None:
        desk.state.end()


@contextmanager
def stranger(desk: Desk) -> Iterator[TestClient]:
    """Yield a client that was given nothing."""
    with TestClient(application(desk), base_url=ORIGIN, raise_server_exceptions=False) as client:
        client.headers["origin"] = ORIGIN
        yield client


def form(desk: Desk, **fields: str) -> dict[str, str]:
    """Return a form's fields with the token of the desk."""
    return {FORM_TOKEN: desk.keys.form_token, **fields}


def hidden(page: str) -> dict[str, str]:
    """Return what a page sends back unseen, by the names of its fields."""
    return dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', page))


def sure(page: str) -> str:
    """Return what the button of a page sends that agrees to all that the page shows."""
    (seal,) = re.findall(r'name="sure" value="(\w+)"', page)
    return str(seal)


def text(page: str) -> str:
    """Return what a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())
