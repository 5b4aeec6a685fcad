"""Another program holds the ledger or the shop's files: the desk says so soon, and goes on when it has ended."""

import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from listkit.cli import main
from listkit.desk.changes import see
from listkit.desk.edits import Role, Target
from listkit.desk.page import Desk
from listkit.desk.saving import shown_name
from listkit.ledger.store import records
from listkit.save.out_folder import locked
from tests.cli.published import small_shop
from tests.desk.desks import DAY, form, text
from tests.desk.test_places import desk_of, sent_of

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")
SOON = 5.0  # seconds of a busy machine; each of these took 10 to 22 before
WAITED_FOR = "another program is writing to it just now"


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = small_shop(tmp_path_factory.mktemp("waiting") / "shop")
    for words in (["build"], ["record", "web"]):
        assert main([*words, "--shop", str(folder), "--today", f"{DAY}"]) == 0
    return folder


@pytest.fixture
def shop(recorded: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(recorded, tmp_path / "shop", symlinks=True))


@contextmanager
def held(ledger: Path) -> Iterator[None]:
    """Hold the ledger as a program does that writes to it ("EXCLUSIVE" in SQLite's "Transactions")."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        yield


@pytest.mark.parametrize("address", ["/place/web/publish", "/shops", "/past/prices?code=RRS-1", "/past"])
def test_a_page_that_needs_the_ledger_says_soon_that_another_program_has_it(shop: Path, address: str) -> None:
    with desk_of(shop) as (client, _):
        usual = client.get(address)
        with held(shop / "ledger.sqlite3"):
            began = time.monotonic()
            page = client.get(address)
            assert time.monotonic() - began < SOON
        assert page.status_code < 500
        if address != "/past":  # which shows the past of files, and leaves out what it cannot read
            assert WAITED_FOR in text(page.text)
        again = client.get(address)
        assert WAITED_FOR not in text(again.text)
        assert again.status_code == usual.status_code == 200


def test_publishing_beside_another_program_is_refused_soon_and_done_when_it_is_sent_again(shop: Path) -> None:
    ledger = shop / "ledger.sqlite3"
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web/publish").text.replace('class="fields"', 'id="fields"'))
        before = records(ledger)
        with held(ledger):
            began = time.monotonic()
            page = client.post("/place/web/publish", data=sent)
            assert time.monotonic() - began < SOON
        assert page.status_code == 409
        assert WAITED_FOR in text(page.text)
        assert records(ledger) == before


def test_a_change_of_files_beside_another_program_is_refused_soon(shop: Path) -> None:
    file, target = shop / "sets/dawn/set.toml", Target(Role.SET, "RRS-1")

    def typed(client: TestClient, desk: Desk, theme: str) -> Any:
        shown = {shown_name(target): see(shop, target).digest}
        return client.post("/sets/RRS-1/change", data=form(desk, **shown, theme=theme))

    with desk_of(shop) as (client, desk):
        assert typed(client, desk, "Typed first.").status_code < 400
        before = file.read_bytes()
        assert b"Typed first." in before
        with locked(shop / ".listkit"):
            began = time.monotonic()
            answer = typed(client, desk, "Typed beside another.")
            assert time.monotonic() - began < SOON
        assert answer.status_code == 409
        assert "another window or program is changing files of this shop" in text(answer.text)
        assert file.read_bytes() == before
        assert typed(client, desk, "Typed again.").status_code < 400
        assert b"Typed again." in file.read_bytes()


@pytest.mark.parametrize("address", ["/past/prices?code=RRS-1", "/past/season?name=spring", "/past/drawing?code=RRS-1"])
def test_what_the_ledger_shows_is_in_the_way_and_not_missing_while_another_program_has_it(
    shop: Path, address: str
) -> None:
    with desk_of(shop) as (client, _), held(shop / "ledger.sqlite3"):
        assert client.get(address).status_code == 409
