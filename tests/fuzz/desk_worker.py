"""The process in which requests to the desk are tried: each case a desk of its own on the same small shop.

It is spoken to as tests/fuzz/worker.py is. What is written, how long it takes and how much memory is watched as there.
"""

import datetime
import faulthandler
import hashlib
import json
import os
import re
import resource
import shutil
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from random import Random
from typing import Any, Final
from urllib.parse import quote

from starlette.routing import Route
from starlette.testclient import TestClient

from listkit.desk.app import application
from listkit.desk.building import Builder
from listkit.desk.guard import FORM_TOKEN, Keys
from listkit.desk.page import Desk
from listkit.edit.past import past
from tests.desk.desks import NOW, ORIGIN, PORT
from tests.fuzz import requests
from tests.fuzz.cases import restore
from tests.fuzz.requests import Asked
from tests.fuzz.rich_shop import TODAY, make_place
from tests.fuzz.worker import BOUND, GIVE_UP, Outcome, Watch, beyond, peak_bytes, reset_peak

SEED: Final = "desk"
_NOT_HERS: Final = ("out", ".listkit")
_ADDED_TO: Final = ("movements.csv",)
_LEDGER: Final = "ledger.sqlite3"
_NEW: Final = "build/new-shop"
_STEPS: Final = 3


@dataclass(slots=True)
class Run:
    """One case as it goes: the desk, its client, what was asked, what was wrong; `seconds` of its slowest answer."""

    desk: Desk
    client: TestClient
    given: tuple[Path, ...]
    methods: Mapping[str, str]
    asked: list[Asked] = field(default_factory=list)
    seconds: float = 0.0
    changed: bool = False
    fault: str = ""
    known: set[str] = field(default_factory=set)

    def send(self, asked: Asked) -> requests.Reader:
        """Send a request and return the page that came."""
        self.asked.append(asked)
        fields: dict[str, list[str]] = {}
        for name, value in asked.fields:
            fields.setdefault(_carried(name), []).append(_carried(value))
        address = re.sub(r"[\x00-\x20\x7f]", lambda sign: quote(sign[0]), asked.address)
        began = time.process_time()
        if asked.method == "GET":
            answer = self.client.get(address, params=_short(fields) or None)
        else:
            files = [(_carried(name), (_carried(file[0]), *file[1:])) for name, file in asked.files]
            answer = self.client.post(address, data=fields, files=files or None, headers=asked.headers)
        self.seconds = max(self.seconds, time.process_time() - began)
        self.changed = self.changed or (asked.method == "POST" and answer.status_code < 400)
        if answer.status_code >= 500:
            self.fault = self.fault or f"{answer.status_code}: {answer.text[:300]}"
        page = requests.read_page(requests.as_text(answer.content), answer.url.path)
        self.known.update(name for form in page.forms for name, _ in form.fields)
        return page


def _short(fields: Mapping[str, list[str]]) -> dict[str, list[str]]:
    """Return the fields of a query, which a server takes up to 64 kB."""
    return {name[:500]: [value[:5_500] for value in values[:2]] for name, values in list(fields.items())[:5]}


def _carried(text: str) -> str:
    """Return a text as a request can carry it: half of a pair of surrogates is no UTF-8."""
    return text.encode("utf-8", "surrogatepass").decode("utf-8", "replace")


@contextmanager
def opened(place: Path, folder: Path) -> Iterator[Run]:
    """Yield a desk of a folder and a client that has opened it."""
    day = datetime.date.fromisoformat(TODAY)
    desk = Desk(folder, Keys(PORT), lambda: day, lambda: NOW, Builder(), close=lambda: None)
    if (folder / "shop.toml").is_file():
        desk.open_shop(folder)
    guard: Any = application(desk)
    methods = {
        route.path: "POST" if "POST" in (route.methods or ()) else "GET"
        for route in guard.app.routes
        if isinstance(route, Route)
    }
    given = tuple(sorted((place / "given").iterdir())) + tuple(sorted((place / "shop/sets").rglob("*.jpg")))
    with TestClient(guard, base_url=ORIGIN, raise_server_exceptions=False) as client:
        client.headers["origin"] = ORIGIN
        client.get(desk.keys.address.removeprefix(ORIGIN))
        yield Run(desk, client, given, methods)
    desk.builder.end(30)
    if desk.state is not None:
        desk.state.end()


def play(chance: Random, run: Run) -> None:
    """Walk a few pages, send what was drawn, and go on from what came."""
    page = run.send(Asked("GET", chance.choice(requests.ROOMS) if run.desk.state else "/start"))
    for _ in range(chance.choice((0, 1, 1, 2, 2, 3))):
        if page.links:
            page = run.send(Asked("GET", chance.choice(page.links)))
    token = run.desk.keys.form_token
    for _ in range(_STEPS):
        way = chance.random()
        forms = [form for form in page.forms if form.action not in ("/language", "/close")] or page.forms
        changes = [form for form in forms if form.sends] or forms
        if way < 0.2 or not changes:
            page = run.send(requests.anything(chance, run.methods, run.known, token))
        elif way < 0.3:
            page = run.send(Asked("GET", requests.query(chance, chance.choice(page.links or ["/shelf"]))))
        else:
            page = run.send(requests.changed_form(chance, chance.choice(changes), token, run.given))
        if run.fault:
            return


def hers(shop: Path) -> dict[str, str]:
    """Return the digest of each file of the owner's."""
    files = (path for path in shop.rglob("*") if path.is_file() and not path.is_symlink())
    named = {path.relative_to(shop).as_posix(): path for path in files}
    return {
        name: hashlib.sha256(path.read_bytes()).hexdigest()
        for name, path in named.items()
        if name.split("/")[0] not in _NOT_HERS
    }


def lost(run: Run, shop: Path, before: Mapping[str, str], pristine: Path) -> str:
    """Take all changes back, newest first, and return what of the owner's files cannot be had again."""
    earlier = {change.number for change in past(pristine)}
    changes = [change for change in past(shop) if change.number not in earlier]
    made = [change for change in changes if not change.taken_back and not change.takes_back]
    for change in sorted(made, key=lambda change: -change.number):
        fields = {FORM_TOKEN: run.desk.keys.form_token, "change": str(change.number), "agreed": "yes"}
        if run.client.post("/past/back", data=fields).status_code >= 500:
            return f"change {change.number} ({change.what}) cannot be taken back"
    after = hers(shop)
    first = {file.path: file.before for change in reversed(changes) for file in change.files}
    for name in sorted({*before, *after}):
        if before.get(name, "") == after.get(name, "") or name.startswith(_LEDGER) or name == "ledger":
            continue
        if name in _ADDED_TO and (shop / name).read_bytes().startswith(_content(pristine / name)):
            continue
        if first.get(name) != before.get(name, ""):
            return f"{name} is another one, and the past does not have what it was"
    return ""


def _content(path: Path) -> bytes:
    return path.read_bytes() if path.exists() else b""


def run_case(number: int, place: Path, pristine: Path, watch: Watch) -> Outcome:
    """Run one case and bring the place back."""
    chance = Random(f"{SEED}:{number}")  # the same case for the same number
    shop = place / "shop"
    folder = shop if chance.random() < 0.93 else place / _NEW
    folder.mkdir(exist_ok=True)
    scratch = tuple(os.path.join(tempfile.gettempdir(), name) for name in ("listkit-", "openpyxl.", "tmp"))
    watch.allowed, watch.seen = (str(shop), str(place / _NEW), str(place / "build/.new-shop"), *scratch), []
    before = hers(folder)
    reset_peak()
    outcome = Outcome(number, "", "", -1, 0.0, 0, "")
    try:
        with opened(place, folder) as run:
            watch.on = True
            play(chance, run)
            fault = run.fault or beyond(run.seconds, peak_bytes())
            run.desk.builder.end(30)
            if folder == shop:
                fault = fault or lost(run, folder, before, pristine / "shop")
            last = run.asked[-1]
            before_it = " → ".join(map(str, run.asked[:-1]))
            outcome = Outcome(number, str(last), before_it, int(not run.changed), run.seconds, peak_bytes(), fault)
    except Exception:  # a traceback is what is looked for
        outcome = Outcome(number, "", "", -1, 0.0, 0, traceback.format_exc()[-3_000:])
    finally:
        watch.on = False
    changed = restore(place, pristine)
    strange = "; ".join((*watch.seen[:5], *(path for path in changed if path.startswith(("outside", "given")))))
    return replace(outcome, fault=outcome.fault or strange)


def main() -> None:
    """Answer numbers until stdin ends."""
    sys.dont_write_bytecode = True  # a compiled module is no file of a case
    warnings.simplefilter("ignore")
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8", buffering=1)
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        place, pristine = Path(name, "place"), Path(name, "pristine")
        make_place(place)
        shutil.copytree(place, pristine, symlinks=True)
        watch = Watch(place)
        resource.setrlimit(resource.RLIMIT_AS, (BOUND, resource.RLIM_INFINITY))
        answers.write("ready\n")
        for line in sys.stdin:
            faulthandler.dump_traceback_later(GIVE_UP, exit=True)
            outcome = run_case(int(line), place, pristine, watch)
            faulthandler.cancel_dump_traceback_later()
            answers.write(json.dumps(asdict(outcome)) + "\n")


if __name__ == "__main__":
    main()
