"""What may speak to the desk: the owner's own browser, at the desk's address, with what it was given at the opening.

Pure ASGI around everything else. After OWASP's cheat sheets on request forgery, headers and content security policy
(read in 2026): only names of this machine with the desk's own port are answered, which ends DNS rebinding; a key opens
the desk once and leaves a cookie; a change must come from a page of the desk, by its Origin and by the form's token.
Whatever is refused is told in plain words, and nothing of the shop is in them.
"""

import hashlib
import hmac
import os
from collections.abc import Iterator, Mapping
from typing import Final
from urllib.parse import parse_qs, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import FileResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from listkit import bounds

LOOPBACK: Final = "127.0.0.1"
ENTRY: Final = "/open"
FORM_TOKEN: Final = "form_token"  # noqa: S105 - a name
"""The name of the hidden field of every form."""
TOKEN_HEADER: Final = "x-form-token"  # noqa: S105 - a name
OPEN_TO_ALL: Final = "/static/"
"""What needs no cookie, since it holds nothing of the shop: a sandboxed frame sends none for its stylesheet."""

PAGE_POLICY: Final = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-src 'self'; frame-ancestors 'none'"
)
FRAME_POLICY: Final = (
    "frame-ancestors 'self'; sandbox; default-src 'none'; img-src data:; style-src 'self'; base-uri 'none'; "
    "form-action 'none'"
)
"""Of a listing as a place shows it: no script, no address of the desk but its stylesheet, pictures within it."""
FILE_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; sandbox allow-same-origin; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
"""Of a file that a build made and the browser may show: its own style, pictures within and beside it, no script.

Without `allow-same-origin` a browser would send no cookie for the pictures beside it; without scripts it opens nothing.
"""
_HEADERS: Final[Mapping[str, str]] = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with no-referrer a browser sends a form's Origin as null (Fetch, 3.1)
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}
_LENGTH_DIGITS: Final = 16
_LONGEST_ADDRESS: Final = 8_000  # that every browser and server takes (RFC 9110, 4.1); of a longer one the page is left
_NO_ENTRY: Final = (
    "This desk is open in another browser, or its address was used already.\n"
    "Close it where listkit desk was started (Ctrl-C), start listkit desk again, and use the address that it shows.\n"
)


def new_key() -> str:
    """Return 256 bits that nobody can guess, as text."""
    return os.urandom(32).hex()


def same(given: str, secret: str) -> bool:
    """Whether a text is the secret one; takes as long for any text."""
    return hmac.compare_digest(given.encode("utf-8", "surrogateescape"), secret.encode())


def cookie_values(cookies: str, name: str) -> Iterator[str]:
    """Yield what a Cookie header has under a name, whatever else is in it (RFC 6265, 5.4).

    Other programs of the machine leave their cookies with the same host, and not all of them keep to the grammar.

    >>> [*cookie_values('prefs={"a":1}; desk=12; b c', "desk")]
    ['12']
    """
    for part in cookies.split(";"):
        called, _, value = part.partition("=")
        if called.strip() == name:
            yield value.strip().strip('"')


class TooLargeError(Exception):
    """A request sends more than the desk takes, which is `most` bytes."""

    def __init__(self, most: int) -> None:
        super().__init__(most)
        self.most = most


class Keys:
    """What the browser was given: the key of the address, which opens once; the cookie; the token of forms."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookie_name = f"listkit-desk-{port}"  # cookies are shared by all ports of a host
        self.form_token = new_key()
        self._cookie = new_key()
        self._entry = new_key()

    @property
    def address(self) -> str:
        """The address that opens the desk, once."""
        return f"{self.origin}{ENTRY}?key={self._entry}"

    @property
    def origin(self) -> str:
        """The desk's own address."""
        return f"http://{LOOPBACK}:{self.port}"

    def enter(self, key: str) -> str:
        """Return the cookie for the key that opens, "" for another; the key is then used up."""
        if not self._entry or not same(key, self._entry):
            return ""
        self._entry = ""
        return self._cookie

    def knows(self, cookies: str) -> bool:
        """Whether a Cookie header has the cookie."""
        return any(same(value, self._cookie) for value in cookie_values(cookies, self.cookie_name))

    def is_host(self, host: str) -> bool:
        """Whether a Host header names the desk: this machine by one of its own names, and its port."""
        return host.lower() in {f"{name}:{self.port}" for name in (LOOPBACK, "localhost", "[::1]")}

    def is_origin(self, origin: str, host: str) -> bool:
        """Whether an Origin, or the beginning of a Referer, is the desk at the name it was called by."""
        try:
            parts = urlsplit(origin)
        except ValueError:  # brackets that are no address
            return False
        return parts.scheme == "http" and parts.netloc.lower() == host.lower()


class Guard:
    """The ASGI application around the desk."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self.app, self.keys = app, keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # web sockets: there are none
            await send({"type": "websocket.close", "code": 1008})
            return
        refusal = _two_lengths(Headers(scope=scope)) or self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, _guarded(send))
            return
        anybody = scope["path"].startswith(OPEN_TO_ALL)
        await self.app(scope, _bounded(receive), _guarded(send, shared=anybody))

    def _refusal(self, scope: Scope) -> Response | None:
        """Return the answer to what may not pass, None for what may."""
        headers, method, path = Headers(scope=scope), scope["method"], scope["path"]
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self.keys.is_host(hosts[0]):
            return PlainTextResponse("The desk is not at this address.\n", 400)
        if method not in ("GET", "HEAD", "POST"):
            return PlainTextResponse("The desk does not do this.\n", 405, {"allow": "GET, HEAD, POST"})
        if path == ENTRY and method == "GET":
            return self._entered(scope)
        if path.startswith(OPEN_TO_ALL) and method != "POST":
            return None
        if not self.keys.knows(headers.get("cookie", "")):
            return PlainTextResponse(_NO_ENTRY, 403)
        return self._change_refused(headers) if method == "POST" else None

    def _change_refused(self, headers: Headers) -> Response | None:
        origin = headers.get("origin") or headers.get("referer", "")
        if not self.keys.is_origin(origin, headers["host"]):
            return PlainTextResponse("This does not come from a page of the desk, so nothing was done.\n", 403)
        length = headers.get("content-length", "0")
        fits = length.isdecimal() and len(length) < _LENGTH_DIGITS and int(length) <= bounds.UPLOAD_BYTES
        return None if fits else too_large()

    def _entered(self, scope: Scope) -> Response:
        keys = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])
        cookie = self.keys.enter(keys[0])
        if not cookie:
            if self.keys.knows(Headers(scope=scope).get("cookie", "")):
                return RedirectResponse("/", 303)
            return PlainTextResponse(_NO_ENTRY, 403)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(self.keys.cookie_name, cookie, httponly=True, samesite="strict", path="/")
        return answer


def _two_lengths(headers: Headers) -> Response | None:
    """Return the answer to a body that ends at two places, after which nothing is read (RFC 9112, 6.1)."""
    if "transfer-encoding" in headers and "content-length" in headers:
        return PlainTextResponse("This request ends at two places.\n", 400, {"connection": "close"})
    return None


def unreadable() -> Response:
    """Return the refusal of a form that did not come whole, or is none of a page of the desk."""
    text = "This form did not come whole, so nothing was done. Go back, load the page again, and send it once more.\n"
    return PlainTextResponse(text, 400)


class FileOnDisk(FileResponse):
    """A file as it lies on the disk: a paper, a feed, whatever a build made.

    Another program may take it away, or put another in its place, between the look at it and its sending: then it is
    not there, or what is sent breaks off. So nothing is sent before the file is open.
    """

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send the file, or that it is not there."""
        kept: list[Message] = []
        began = False

        async def opened_first(message: Message) -> None:
            nonlocal began
            if message["type"] == "http.response.start":
                kept.append(message)
                return
            began = True
            for first in kept:
                await send(first)
            kept.clear()
            await send(message)

        try:
            await super().__call__(scope, receive, opened_first)
        except (OSError, RuntimeError):
            if not began:
                text = "This file went away just now. Go back, load the page again, and look again.\n"
                await PlainTextResponse(text, 404)(scope, receive, send)


def too_large(most: int = bounds.UPLOAD_BYTES) -> Response:
    """Return the refusal of what is larger than the desk takes, which is so many bytes."""
    told = f"This is more than {most // 1_000_000} MB at once. Send fewer or smaller files, or less text.\n"
    return PlainTextResponse(told, 413)


def _bounded(receive: Receive) -> Receive:
    """Return `receive` that ends where more comes than the desk takes, whatever length was announced."""
    left = bounds.UPLOAD_BYTES

    async def bounded() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise TooLargeError(bounds.UPLOAD_BYTES)
        return message

    return bounded


def _guarded(send: Send, *, shared: bool = False) -> Send:
    """Return `send` that gives every answer the headers of a page, where it does not state its own.

    What is `shared` may be used by a sandboxed frame, whose origin is none.
    """

    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers.setdefault("content-security-policy", PAGE_POLICY)
            headers.setdefault("cache-control", "no-store")
            if len(way := headers.get("location", "")) > _LONGEST_ADDRESS:
                page = way.partition("#")[0].partition("?")[0]
                headers["location"] = page if len(page) <= _LONGEST_ADDRESS else "/"
            framed = "frame-ancestors 'self'" in headers["content-security-policy"]
            for name, value in _HEADERS.items():
                headers[name] = "SAMEORIGIN" if framed and name == "x-frame-options" else value
            if shared:
                headers["cross-origin-resource-policy"] = "cross-origin"
        await send(message)

    return guarded


def seal_of(shown: object) -> str:
    """Return a digest of what a page has shown, for its form: what is agreed to is that, and nothing else."""
    return hashlib.sha256(repr(shown).encode("utf-8", "backslashreplace")).hexdigest()
