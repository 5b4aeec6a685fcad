"""What a request carries and nobody may believe. RFC 9112 (messages), RFC 7578 (form data), OWASP's File Upload Cheat
Sheet (read 2026): sizes for each part, names of files as words alone."""

import hashlib
import io
import threading
from collections.abc import Awaitable, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import SpooledTemporaryFile
from typing import Any

import pytest
from anyio.from_thread import start_blocking_portal
from PIL import Image
from starlette import formparsers
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit import bounds
from listkit.desk import photos, sent
from listkit.desk.app import application
from listkit.desk.guard import FORM_TOKEN
from listkit.desk.sent import Arriving, Turns, _Parts, _Turn, read_form
from listkit.desk.set_files import add_photos
from listkit.desk.shops import Dropped
from listkit.problem import BlockedError
from listkit.read.source import Given
from tests.desk.desks import ORIGIN, PORT, form, opened, text
from tests.disks import files_end_at
from tests.shops import clean_shop

LONG = "9" * 5_000
WITH_FILES = "multipart/form-data; boundary=x"


def part(name: str, content: str) -> str:
    return f'--x\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{content}\r\n'


def files_of(shop: Path) -> dict[str, str]:
    files = (path for path in shop.rglob("*") if path.is_file() and ".listkit" not in path.parts)
    return {str(path): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.mark.parametrize("origin", ["http://[attacker", "http://]", "http://[::1", "http://a]b:8765"])
def test_an_origin_that_is_no_address_is_not_the_desks(tmp_path: Path, origin: str) -> None:
    with opened(tmp_path) as (client, desk):
        assert client.post("/language", data=form(desk), headers={"origin": origin}).status_code == 403


def test_a_request_with_two_lengths_is_refused_and_the_connection_closed(tmp_path: Path) -> None:
    """RFC 9112, 6.1: the server must close the connection after it."""

    def body() -> Iterator[bytes]:
        yield b"0\r\n\r\n"

    with opened(tmp_path) as (client, _):
        headers = {"transfer-encoding": "chunked", "content-length": "5"}
        answer = client.post("/language", headers=headers, content=body())
        assert (answer.status_code, answer.headers["connection"]) == (400, "close")


@pytest.mark.parametrize("charset", ["utf-16", "punycode", "undefined", "unicode_escape", "utf-7", "zip", "a b"])
def test_a_form_in_another_encoding_is_refused(tmp_path: Path, charset: str) -> None:
    """RFC 7578, 5.1.2: forms are in UTF-8; Python knows encodings that make half signs, or fail."""
    with opened(tmp_path) as (client, desk):
        body = part(FORM_TOKEN, desk.keys.form_token) + part("language", "\\ud800") + "--x--\r\n"
        headers = {"content-type": f"{WITH_FILES}; charset={charset}"}
        assert client.post("/language", headers=headers, content=body.encode()).status_code == 400


def test_a_form_that_ends_before_its_last_boundary_does_nothing(tmp_path: Path) -> None:
    """RFC 2046, 5.1.1: the last boundary ends it; what was cut off could be any of its fields."""
    shop = clean_shop(tmp_path / "shop")
    before = files_of(shop)
    with opened(shop) as (client, desk):
        whole = part(FORM_TOKEN, desk.keys.form_token) + part("name", "Frost") + part("currency", "EUR") + "--x--\r\n"
        for cut in (2, 5, 30, len(part("currency", "EUR")) + 6):
            answer = client.post("/sets/new", headers={"content-type": WITH_FILES}, content=whole[:-cut].encode())
            assert answer.status_code == (200 if cut == 2 else 400), cut
            assert (files_of(shop) == before) == (cut != 2), cut
            before = files_of(shop)


def test_a_browser_that_goes_away_amid_a_form_is_no_mistake_of_ours(tmp_path: Path) -> None:
    with opened(tmp_path) as (client, desk):
        cookie = f"{desk.keys.cookie_name}={client.cookies[desk.keys.cookie_name]}"
        asked = {"host": f"127.0.0.1:{PORT}", "origin": ORIGIN, "cookie": cookie, "content-type": WITH_FILES}
        scope: dict[str, Any] = {
            "type": "http", "method": "POST", "path": "/language", "raw_path": b"/language", "query_string": b"",
            "headers": [(name.encode(), value.encode()) for name, value in asked.items()], "http_version": "1.1",
            "scheme": "http", "server": ("127.0.0.1", PORT), "client": None, "root_path": "", "state": {},
        }  # fmt: skip
        begun: dict[str, object] = {"type": "http.request", "body": b"--x\r\nConte", "more_body": True}
        gone: dict[str, object] = {"type": "http.disconnect"}
        coming = iter((begun, gone))
        statuses: list[object] = []

        async def talk() -> None:
            async def receive() -> dict[str, object]:
                return next(coming)

            async def send(message: dict[str, object]) -> None:
                statuses.append(message.get("status"))

            await application(desk)(scope, receive, send)  # type: ignore[arg-type]

        with start_blocking_portal() as portal:
            portal.call(talk)
        assert statuses[0] == 400


def test_no_answer_leads_to_an_address_that_is_too_long(tmp_path: Path) -> None:
    """RFC 9110, 4.1: 8,000 octets are what every sender and recipient should take."""
    with opened(tmp_path) as (client, desk):
        for here, leads in (
            (f"/sets?find={'a' * 100_000}", "/sets"),
            (f"/sets#{'a' * 100_000}", "/sets"),
            (f"/{'a' * 100_000}", "/"),
            ("/sets?find=a#b", "/sets?find=a#b"),
        ):
            answer = client.post("/language", data=form(desk, language="en", here=here), follow_redirects=False)
            assert answer.headers["location"] == leads


def test_a_number_of_thousands_of_digits_leads_nowhere(tmp_path: Path) -> None:
    """Python refuses to read more than 4,300 digits (int, "Integer string conversion length limitation")."""
    shop = clean_shop(tmp_path / "shop")
    before = files_of(shop)
    with opened(shop) as (client, desk):
        for path in (f"/shops/orders/{LONG}", f"/sets/RRS-1/photos/x.jpg/crops/{LONG}", f"/shops/terms/a/{LONG}.png"):
            assert client.get(path).status_code == 404
        assert client.post(f"/shops/orders/{LONG}", data=form(desk)).status_code == 404
        assert client.get("/sets/RRS-1/photos", params={"at": f"photos/{LONG}"}).status_code < 500
        assert client.get("/shop", params={"at": f"season/{LONG}"}).status_code < 500
        for path, fields in (
            ("/past/back", {"change": LONG}),
            ("/sets/RRS-1/photos/order", {"name": "open-box.jpg", "to": LONG}),
            ("/sets/RRS-1/change", {"do": f"take contents/{LONG}"}),
            ("/sets/RRS-1/change", {"do": f"move contents {LONG} {LONG}"}),
            ("/sets/RRS-1/change", {"do": f"add contents {LONG}"}),
            ("/shop", {"do": f"take season/{LONG}"}),
            ("/shop/table/stockists", {"do": f"take {LONG}"}),
            ("/shelf/table/items", {"do": f"take {LONG}", "page": LONG}),
            ("/shelf/boxes", {"do": f"take box/{LONG}"}),
        ):
            answer = client.post(path, data=form(desk, **fields))
            assert answer.status_code < 500, (path, fields, answer.text[:200])
    assert files_of(shop) == before


def test_a_form_without_files_is_not_read_beyond_what_any_page_sends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "FORM_BYTES", 1_000)
    with opened(tmp_path) as (client, desk):
        fields = form(desk, language="en")
        assert client.post("/language", data=fields).status_code == 200
        answer = client.post("/language", data={**fields, "more": "&" * 1_000})
        assert answer.status_code == 413


def test_the_text_of_a_form_with_files_is_not_read_beyond_that_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "FORM_BYTES", 1_000)
    with opened(tmp_path) as (client, desk):
        sheet = {"sheet": ("a.csv", b"code\n" * 1_000)}
        assert client.post("/language", data=form(desk, language="en"), files=sheet).status_code == 200
        many = form(desk, **{f"more{number}": "a" * 300 for number in range(4)})
        answer = client.post("/language", data=many, files=sheet)
        assert answer.status_code == 413
        assert answer.text.startswith("This is more than")


@pytest.mark.parametrize("kind", [WITH_FILES, "application/x-www-form-urlencoded"])
def test_of_all_forms_that_come_at_once_no_more_is_in_memory_than_is_allowed_for(
    monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Whoever is sent away gave nothing up: what others hold is still theirs, and what ends makes room again."""
    monkeypatch.setattr(bounds, "FORM_FREE", 300)
    monkeypatch.setattr(bounds, "FORMS_AT_ONCE", 1_000)
    arriving = Arriving()
    head = "" if kind != WITH_FILES else '--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n'

    async def read(size: int, meanwhile: Callable[[], Awaitable[object]]) -> int:
        body = (head or "a=") + "b" * size
        begun, ended = body.encode(), b"\r\n--x--\r\n" if head else b""
        coming = iter([{"type": "http.request", "body": begun, "more_body": True}])

        async def receive() -> Any:
            for message in coming:
                return message
            await meanwhile()
            return {"type": "http.request", "body": ended, "more_body": False}

        request = Request({"type": "http", "headers": [(b"content-type", kind.encode())]}, receive)
        async with read_form(request, arriving) as fields:
            assert len(str(fields["a"])) == size
            return arriving.held

    async def nothing() -> None:
        return None

    async def crowded() -> None:
        held = arriving.held
        assert 500 < held <= 1_000
        assert await read(200, nothing) == held, "a short form always passes"
        with pytest.raises(BlockedError, match="More is being sent"):
            await read(900, nothing)
        assert arriving.held == held

    with start_blocking_portal() as portal:
        portal.call(read, 900, crowded)
        assert arriving.held == 0
        portal.call(read, 900, crowded)


def test_files_that_are_on_the_disk_keep_no_other_upload_away(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a file a little stays in memory while the form is read, however long it is."""
    monkeypatch.setattr(bounds, "FORM_FREE", 300)
    monkeypatch.setattr(bounds, "FORMS_AT_ONCE", 1_000)
    monkeypatch.setattr(_Parts, "spool_max_size", 600)
    arriving = Arriving()
    head = '--x\r\nContent-Disposition: form-data; name="a"; filename="a.jpg"\r\n\r\n'
    body = f"{head}{'b' * 5_000}\r\n{head}{'b' * 200}\r\n--x--\r\n".encode()

    async def read(meanwhile: Callable[[], Awaitable[int]]) -> int:
        async def receive() -> Any:
            return {"type": "http.request", "body": body, "more_body": False}

        request = Request({"type": "http", "headers": [(b"content-type", WITH_FILES.encode())]}, receive)
        async with read_form(request, arriving) as fields:
            assert len(fields.getlist("a")) == 2
            return await meanwhile()

    async def held() -> int:
        return arriving.held

    async def another() -> int:
        return await read(held)

    with start_blocking_portal() as portal:
        assert portal.call(read, another) == 2 * (600 + 200 - 300)
    assert arriving.held == 0


@pytest.mark.parametrize("end", ["", "\r\n--x\r\n", '\r\n--x\r\nContent-Disposition: form-data; name="b"\r\n\r\n'])
@pytest.mark.filterwarnings("error")
def test_files_of_a_form_that_is_cut_off_are_closed_at_once(tmp_path: Path, end: str) -> None:
    head = 'Content-Disposition: form-data; name="a"; filename="a.jpg"\r\n\r\n'
    body = f"--x\r\n{head}{'b' * 100_000}\r\n--x\r\n{head}{'b' * 100_000}{end}".encode()
    made: list[Any] = []
    with opened(tmp_path) as (client, _), pytest.MonkeyPatch.context() as patched:

        class Noted(SpooledTemporaryFile[bytes]):
            def __init__(self, max_size: int) -> None:
                super().__init__(max_size)
                made.append(self)

        patched.setattr(formparsers, "SpooledTemporaryFile", Noted)
        assert client.post("/language", headers={"content-type": WITH_FILES}, content=body).status_code == 400
    assert [file.closed for file in made] == [True, True]


@pytest.mark.parametrize(("figure", "status"), [("FORM_FILES", 409), ("FIELD_BYTES", 413), ("FORM_FIELDS", 400)])
def test_more_than_a_form_may_hold_is_told_as_what_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, figure: str, status: int
) -> None:
    monkeypatch.setattr(bounds, figure, 2)
    with opened(tmp_path) as (client, desk):
        files = [("sheet", (f"{number}.jpg", b"x")) for number in range(3)]
        answer = client.post("/start/sheet", data=form(desk, name="Reed", currency="EUR"), files=files)
    assert answer.status_code == status
    told = {409: "More than 2 files were sent at once", 413: "This is more than", 400: "This form did not come whole"}
    assert told[status] in text(answer.text)


def test_a_file_that_has_no_room_on_the_disk_is_told(tmp_path: Path) -> None:
    """Simulated by the size that a file may have (setrlimit(2), RLIMIT_FSIZE): writing beyond it fails."""
    with opened(tmp_path) as (client, desk):
        sheet = {"sheet": ("a.csv", b"code\n" * 100_000)}
        with files_end_at(100_000):
            answer = client.post("/start/sheet", data=form(desk), files=sheet)
        assert answer.status_code == 409
        assert "has no room on the disk (File too large)" in text(answer.text)
        assert client.post("/start/sheet", data=form(desk), files=sheet).status_code < 500


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/start/sheet", "sheet"),
        ("/places/new/sample", "sample"),
        ("/shelf/stock/add", "sheet"),
        ("/shops/order", "form"),
        ("/print/post", "orders"),
        ("/place/web_shop/compare", "export"),
    ],
)
def test_a_table_that_is_too_large_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str, field: str
) -> None:
    monkeypatch.setattr(bounds, "DROPPED_BYTES", 1_000_000)
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post(path, data=form(desk, name="Fair"), files={field: ("a.csv", b"code\n" * 200_001)})
        assert "a.csv has more than 1 MB" in text(answer.text)


def test_forms_that_wait_to_be_looked_at_take_no_more_together_than_one_may(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "WAITING_BYTES", 1_000)
    kept = Dropped()
    keys = [kept.keep(Given(f"{number}.csv", b"x" * 400)) for number in range(3)]
    assert [kept.get(key) is not None for key in keys] == [False, True, True]
    last = kept.keep(Given("large.csv", b"x" * 2_000))
    assert kept.get(last) is not None, "the one that was dropped last can always be looked at"


def test_names_of_files_are_words_alone(tmp_path: Path) -> None:
    """RFC 7578, 4.2: no path that a file's name states is followed, whatever separates it."""
    shop = clean_shop(tmp_path / "shop")
    outside = files_of(tmp_path)
    names = ("../../x.jpg", "..\\..\\x.jpg", "a\nb.jpg", "x" * 3_000 + ".jpg", "CON", "con.jpg", "/etc/x.jpg",
             ".hidden.jpg", "..", "Group.JPG", "group.jpg")  # fmt: skip
    drawn = io.BytesIO()
    Image.new("RGB", (200, 200), (90, 120, 60)).save(drawn, "png")
    picture = drawn.getvalue()
    with opened(shop) as (client, desk):
        sent = [("pictures", (name, picture)) for name in names]
        client.post("/sets/RRS-1/photos/add", data=form(desk), files=sent)
    new = [Path(path) for path in files_of(tmp_path) if path not in outside]
    assert new
    assert {path.parent.name for path in new} == {"photos"}
    plain = [path.name for path in new]
    assert len({name.casefold() for name in plain}) == len(plain)
    assert "con.png" not in plain, "no system of hers may refuse it (Windows: Naming Files, Paths, and Namespaces)"
    assert all(name.isascii() and len(name) < 80 and name[0] != "." for name in plain)


class Watched(FormData):
    """A form that says when it is looked at."""

    def __init__(self, *fields: tuple[str, str | UploadFile]) -> None:
        super().__init__(dict(fields))
        self.looked_at = threading.Event()

    def multi_items(self) -> list[tuple[str, UploadFile | str]]:
        self.looked_at.set()
        return super().multi_items()


def test_a_form_that_is_sent_again_before_its_answer_came_is_worked_on_once() -> None:
    turns, at_work, go, done = Turns(), threading.Event(), threading.Event(), list[str]()

    def work(name: str) -> Response:
        done.append(name)
        at_work.set()
        go.wait(10)
        return RedirectResponse(f"/past?note={len(done)}", 303)

    forms = [Watched(("name", "Moon")), Watched(("name", "Moon")), Watched(("name", "Sun"))]
    with ThreadPoolExecutor(3) as pool:
        first = pool.submit(turns.take, "/sets/new", forms[0], lambda: work("first"))
        assert at_work.wait(10)
        second = pool.submit(turns.take, "/sets/new", forms[1], lambda: work("second"))
        assert forms[1].looked_at.wait(10)
        go.set()
        assert [each.result(10).headers["location"] for each in (first, second)] == ["/past?note=1"] * 2
        assert done == ["first"]
        other = turns.take("/sets/new", forms[2], lambda: work("other"))
        again = turns.take("/sets/new", forms[2], lambda: work("again"))  # after its answer: it is meant
    assert done == ["first", "other", "again"]
    assert (other.headers["location"], again.headers["location"]) == ("/past?note=2", "/past?note=3")


class InOrder:
    """A lock that is given to those who wait in an order that is stated, whoever came first."""

    def __init__(self, order: list[str]) -> None:
        self.order, self.turn = order, threading.Condition()

    def __enter__(self) -> None:
        with self.turn:
            assert self.turn.wait_for(lambda: self.order[0] == threading.current_thread().name, 10)

    def __exit__(self, *_: object) -> None:
        with self.turn:
            self.order.pop(0)
            self.turn.notify_all()


def test_a_form_sent_twice_is_worked_on_once_though_another_comes_between(monkeypatch: pytest.MonkeyPatch) -> None:
    turns, done, leads_to = Turns(), list[str](), dict[str, str]()
    in_order = InOrder(["first", "other", "again"])
    turn = turns._turns.setdefault("/sets/new", _Turn())
    monkeypatch.setattr(turn, "lock", in_order)
    all_there = threading.Barrier(3)

    class Asked(Watched):
        def multi_items(self) -> list[tuple[str, UploadFile | str]]:
            all_there.wait(10)  # each has come before any is worked on
            return super().multi_items()

    def send(name: str) -> None:
        def work() -> Response:
            done.append(threading.current_thread().name)
            return RedirectResponse(f"/past?note={len(done)}", 303)

        leads_to[threading.current_thread().name] = turns.take("/sets/new", Asked(("name", name)), work).headers[
            "location"
        ]

    named = {"first": "Moon", "other": "Sun", "again": "Moon"}
    threads = [threading.Thread(target=send, args=(form,), name=name) for name, form in named.items()]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert done == ["first", "other"]
    assert leads_to["again"] == leads_to["first"] == "/past?note=1"


@pytest.mark.parametrize(("second", "done"), [(b"count,3", 1), (b"count,4", 2)])
def test_a_file_of_the_same_name_and_length_is_another_where_its_bytes_are(second: bytes, done: int) -> None:
    turns, at_work, go, worked = Turns(), threading.Event(), threading.Event(), list[bytes]()
    files = [UploadFile(io.BytesIO(content), filename="sold.csv", size=7) for content in (b"count,3", second)]
    forms = [Watched(("file", file)) for file in files]

    def work(file: UploadFile) -> Response:
        worked.append(file.file.read())
        at_work.set()
        go.wait(10)
        return RedirectResponse("/shelf/stock", 303)

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(turns.take, "/shelf/stock/add", forms[0], lambda: work(files[0]))
        assert at_work.wait(10)
        again = pool.submit(turns.take, "/shelf/stock/add", forms[1], lambda: work(files[1]))
        assert forms[1].looked_at.wait(10)
        go.set()
        assert [each.result(10).status_code for each in (first, again)] == [303, 303]
    assert worked == [b"count,3", second][:done]


def test_pictures_whose_button_is_clicked_twice_are_added_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop, both = clean_shop(tmp_path / "shop"), threading.Event()
    marks, seen = sent._mark, list[str]()

    def mark(form: FormData) -> str:
        seen.append(marks(form))
        if len(seen) == 2:
            both.set()
        return seen[-1]

    def add(*given: Any) -> Any:
        assert both.wait(10)
        return add_photos(*given)

    monkeypatch.setattr(sent, "_mark", mark)
    monkeypatch.setattr(photos, "add_photos", add)
    picture = io.BytesIO()
    Image.new("RGB", (900, 600), (180, 160, 120)).save(picture, "PNG")
    before = set((shop / "sets/dawn/photos").glob("*"))
    with opened(shop) as (client, desk), ThreadPoolExecutor(2) as pool:
        files = {"pictures": ("new.png", picture.getvalue())}
        clicks = [
            pool.submit(client.post, "/sets/RRS-1/photos/add", data=form(desk), files=files, follow_redirects=False)
            for _ in range(2)
        ]
        leads = [each.result(30).headers.get("location") for each in clicks]
    assert leads[0] == leads[1] is not None
    assert [path.name for path in (shop / "sets/dawn/photos").glob("*") if path not in before] == ["new.png"]
