"""Who may speak to the desk. OWASP: Cross-Site Request Forgery Prevention, HTTP Headers and Content Security Policy
cheat sheets, Host header injection of the Web Security Testing Guide (read 2026); cookies over ports: RFC 6265, 8.5.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.testclient import TestClient

from listkit import bounds
from listkit.desk.app import application
from listkit.desk.guard import FORM_TOKEN, FileOnDisk, Guard
from listkit.desk.page import Desk
from tests.desk.desks import ORIGIN, PORT, form, new_desk, opened, stranger
from tests.shops import clean_shop


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    desk = new_desk(clean_shop(tmp_path / "shop"))
    yield desk
    assert desk.state is not None
    desk.state.end()


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("attacker.example", 400),
        (f"attacker.example:{PORT}", 400),
        (f"localhost.attacker.example:{PORT}", 400),
        (f"127.0.0.1:{PORT + 1}", 400),
        ("127.0.0.1", 400),
        ("", 400),
        (f"127.0.0.1:{PORT}@attacker.example", 400),
        (f"localhost:{PORT}", 200),
        (f"LOCALHOST:{PORT}", 200),
        (f"127.0.0.1:{PORT}", 200),
        (f"[::1]:{PORT}", 200),
    ],
)
def test_only_the_desks_own_names_with_its_port_are_answered(desk: Desk, host: str, status: int) -> None:
    with stranger(desk) as client:
        assert client.get("/static/desk.css", headers={"host": host}).status_code == status


def test_the_key_opens_once_and_leaves_a_strict_cookie_with_the_port_in_its_name(desk: Desk) -> None:
    address = desk.keys.address.removeprefix(ORIGIN)
    with stranger(desk) as client:
        assert client.get("/today").status_code == 403
        assert client.get("/open?key=guessed").status_code == 403
        answer = client.get(address, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
        cookie = answer.headers["set-cookie"].lower()
        assert cookie.startswith(f"listkit-desk-{PORT}=")
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert client.get("/today").status_code == 200
        assert client.get(address).status_code == 200, "in the same browser it leads to the desk again"
    with stranger(desk) as client:
        assert client.get(address).status_code == 403


def posts(desk: Desk) -> list[str]:
    guard = application(desk)
    assert isinstance(guard, Guard)
    routes = [route for route in guard.app.routes if isinstance(route, Route)]  # type: ignore[attr-defined]
    numbered = [(re.sub(r"\{\w+:number\}", "1", route.path), route) for route in routes]
    return [re.sub(r"\{[^}]*\}", "x", path) for path, route in numbered if "POST" in (route.methods or ())]


def test_no_change_is_made_without_the_forms_token_whatever_the_page(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = {path: path.read_bytes() for path in shop.rglob("*") if path.is_file()}
    with opened(shop) as (client, desk):
        paths = posts(desk)
        assert len(paths) > 6
        for path in paths:
            for fields in ({}, {FORM_TOKEN: ""}, {FORM_TOKEN: "0" * 64}):
                assert client.post(path, data={**fields, "name": "Frost"}).status_code == 403, path
        assert client.post("/sets/new", headers={"x-form-token": "no"}, data={"name": "Frost"}).status_code == 403
    assert {path: path.read_bytes() for path in shop.rglob("*") if path.is_file()} == before


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": "http://attacker.example"}, 403),
        ({"origin": f"http://localhost:{PORT + 1}"}, 403),
        ({"origin": f"https://127.0.0.1:{PORT}"}, 403),
        ({"origin": f"http://127.0.0.1:{PORT}.attacker.example"}, 403),
        ({"origin": f"http://localhost:{PORT}"}, 403),  # another origin than the one that was called
        ({"origin": "null"}, 403),
        ({"origin": "", "referer": ""}, 403),
        ({"origin": "", "referer": "http://attacker.example/?http://127.0.0.1:8765"}, 403),
        ({"origin": "", "referer": f"{ORIGIN}/sets/new"}, 200),
        ({"origin": ORIGIN}, 200),
    ],
)
def test_a_change_comes_from_a_page_of_the_desk(tmp_path: Path, headers: dict[str, str], status: int) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post("/sets/new", data=form(desk, name="Frost on the Panes"), headers=headers)
        assert answer.status_code == status
        assert (tmp_path / "shop/sets/frost-on-the-panes").exists() == (status == 200)


def test_every_answer_has_the_headers_and_only_a_listing_may_be_framed(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, _):
        for path in ("/today", "/nowhere", "/static/desk.css", "/accent.css", "/sets"):
            headers = client.get(path).headers
            policy = headers["content-security-policy"]
            assert policy.startswith("default-src 'none'; ")
            assert "unsafe" not in policy
            for part in ("form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'", "script-src 'self'"):
                assert part in policy, path
            assert headers["x-content-type-options"] == "nosniff"
            assert headers["referrer-policy"] == "same-origin"
            assert "access-control-allow-origin" not in headers
        code = "RRS-1"
        place = re.findall(rf'src="/sets/{code}/listing/([^"]+)"', client.get(f"/sets/{code}").text)[0]
        framed = client.get(f"/sets/{code}/listing/{place}").headers["content-security-policy"]
        assert framed.startswith("frame-ancestors 'self'; sandbox; default-src 'none'")
        assert "script-src" not in framed


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(tmp_path: Path, method: str) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, _):
        assert client.request(method, "/today").status_code == 405


def test_an_upload_that_says_it_is_too_large_is_refused_before_it_is_read(tmp_path: Path) -> None:
    with opened(tmp_path) as (client, desk):
        headers = {"content-length": str(10**9), "content-type": "multipart/form-data; boundary=x"}
        assert client.post("/start/sheet", headers=headers, content=b"--x--\r\n").status_code == 413
        assert desk.sheet is None


def test_an_upload_that_does_not_say_how_large_it_is_is_cut_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "UPLOAD_BYTES", 100_000)
    sent = 0

    def endless() -> Iterator[bytes]:
        nonlocal sent
        yield b'--x\r\ncontent-disposition: form-data; name="sheet"; filename="a.csv"\r\n\r\n'
        for _ in range(50):
            sent += 1
            yield b"1,2,3\r\n" * 1_000

    with opened(tmp_path) as (client, desk):
        headers = {"content-type": "multipart/form-data; boundary=x"}
        assert client.post("/start/sheet", headers=headers, content=endless()).status_code == 413
        assert desk.sheet is None


def test_a_web_socket_is_closed(desk: Desk) -> None:
    answers: list[dict[str, object]] = []

    async def talk() -> None:
        async def receive() -> dict[str, object]:
            return {"type": "websocket.connect"}

        async def send(message: dict[str, object]) -> None:
            answers.append(message)

        await application(desk)({"type": "websocket", "path": "/", "headers": []}, receive, send)  # type: ignore[arg-type]

    with start_blocking_portal() as portal:
        portal.call(talk)
    assert [answer["type"] for answer in answers] == ["websocket.close"]


@pytest.mark.parametrize(
    "path",
    [
        "/static/../words/en.toml",
        "/static/..%2fwords%2fen.toml",
        "/static/%2e%2e/base.html",
        "/made/../shop.toml",
        "/made/..%2fshop.toml",
        "/made//etc/passwd",
        "/made/%2fetc%2fpasswd",
        "/made/..%5cshop.toml",
        "/made/.made.json",
        "/sets/..%2f..%2fshop.toml",
        "/sets/RRS-1/photos/..%2fset.toml",
        "/sets/RRS-1/photos/%00.jpg",
        "/sets/RRS-1/listing/..%2f..%2fshop",
    ],
)
def test_no_path_of_a_request_becomes_one_on_the_disk(tmp_path: Path, path: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    with opened(shop) as (client, _):
        answer = client.get(path)
        assert answer.status_code == 404
        assert "currency" not in answer.text


def test_a_strangers_refusal_holds_nothing_of_the_shop(desk: Desk) -> None:
    assert desk.state is not None
    name = desk.state.look().opened.shop.settings.name
    with stranger(desk) as client:
        for path in (
            "/",
            "/today",
            "/sets",
            "/news",
            "/accent.css",
            "/build/events",
            "/made/manifest.json",
            "/nowhere",
        ):
            answer = client.get(path)
            assert answer.status_code == 403
            assert name not in answer.text


def test_closing_is_a_change_like_any_other(tmp_path: Path) -> None:
    closed: list[bool] = []
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        desk.close = lambda: closed.append(True)
        assert client.get("/close").status_code == 405
        assert client.post("/close", data=form(desk)).status_code == 200


def test_the_test_client_is_the_owners_only_with_the_cookie(desk: Desk) -> None:
    with stranger(desk) as client:
        assert isinstance(client, TestClient)
        client.cookies.set(f"listkit-desk-{PORT}", "0" * 64)
        assert client.get("/today").status_code == 403


@pytest.mark.parametrize("gone", ["deleted", "a folder"])
def test_a_file_that_goes_away_before_it_is_sent_is_no_mistake_of_ours(tmp_path: Path, gone: str) -> None:
    file = tmp_path / "paper.pdf"
    file.write_bytes(b"%PDF")

    async def given(_request: Request) -> Response:
        answer = FileOnDisk(file, media_type="application/pdf", stat_result=file.stat() if gone == "deleted" else None)
        file.unlink()
        if gone == "a folder":
            file.mkdir()
        return answer

    with TestClient(Starlette(routes=[Route("/", given)])) as client:
        answer = client.get("/")
    assert (answer.status_code, answer.text.split(".")[0]) == (404, "This file went away just now")


@pytest.mark.parametrize("other", ['prefs={"a":1}', "a=b c", "naïve", "path=1", 'a="unclosed', '{"a":1}=2', "=", ""])
def test_cookies_of_other_programs_on_this_machine_shut_nobody_out(desk: Desk, other: str) -> None:
    """RFC 6265, 5.4 and 8.5: a browser sends the cookies of all ports of a host, by their age."""
    with stranger(desk) as client:
        answer = client.get(desk.keys.address.removeprefix(ORIGIN), follow_redirects=False)
        own = answer.headers["set-cookie"].partition(";")[0]
        client.cookies.clear()
        sent = f"{other}; {own}; listkit-desk-language=fr; {other}".encode()
        page = client.get("/today", headers={b"cookie": sent})
        assert page.status_code == 200
        assert '<html lang="fr"' in page.text
