"""What a request carries, as far as it can be believed: a form that came whole, a file's name, a number of a button.

After RFC 7578 (form data): names of files are taken for words alone (4.2), text is UTF-8 (5.1.2). After OWASP's File
Upload Cheat Sheet: a size for each, the kind of a file by what is in it, a name of ours for whatever is kept.
"""

import hashlib
import threading
from collections.abc import AsyncGenerator, AsyncIterator, Callable
from contextlib import aclosing, asynccontextmanager
from typing import Final
from weakref import WeakValueDictionary

from python_multipart.multipart import parse_options_header
from starlette.convertors import Convertor, register_url_convertor
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import FormParser, MultiPartException, MultiPartParser
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import Message, Receive

from listkit import bounds
from listkit.desk.guard import TooLargeError
from listkit.desk.page import as_part, code_of_part, say
from listkit.problem import BlockedError, FieldError
from listkit.read.source import Given

_WITH_FILES: Final = b"multipart/form-data"
_WITHOUT_FILES: Final = b"application/x-www-form-urlencoded"
_UTF_8: Final = (b"utf-8", b"utf8")
_LONGEST_NAME: Final = 120
_TAIL: Final = 1_000  # bytes at the end in which a form says that it is whole


class UnreadableError(Exception):
    """A form did not come whole, or is none that a page of the desk sends."""


class Arriving:
    """The forms that a desk reads or works on just now: how many bytes of theirs are in memory together.

    Each has a little that is always taken, so that whoever fills a page is served whatever else comes meanwhile.
    """

    def __init__(self) -> None:
        self.held = 0

    def hold(self, more: int) -> None:
        """Take so many bytes more, or give as many back.

        Raises:
            BlockedError: others take all that there is.
        """
        if more > 0 and self.held + more > bounds.FORMS_AT_ONCE:
            raise BlockedError(say("refused.crowded"), say("refused.crowded_hint"))
        self.held += more


class _Body:
    """The body of a request as it comes, with its end kept; of a form `without_files` no more than a page sends."""

    def __init__(self, receive: Receive, arriving: Arriving, *, without_files: bool) -> None:
        self._receive, self._arriving, self._without_files = receive, arriving, without_files
        self._in_memory = self._held = 0
        self.tail = b""

    async def receive(self) -> Message:
        """Return the next piece.

        Raises:
            TooLargeError: more comes than is taken.
            BlockedError: forms that came before take all that there is.
        """
        message = await self._receive()
        body = message.get("body", b"")
        if self._without_files:
            self.keep(len(body))
            if self._in_memory > bounds.FORM_BYTES:
                raise TooLargeError(bounds.FORM_BYTES)
        self.tail = (self.tail + body[-_TAIL:])[-_TAIL:]
        return message

    def keep(self, more: int) -> None:
        """Count so many bytes more that stay in memory.

        Raises:
            BlockedError: forms that came before take all that there is.
        """
        self._in_memory += more
        self._hold(max(0, self._in_memory - bounds.FORM_FREE))

    def let_go(self) -> None:
        """Give back what was held."""
        self._hold(0)

    def _hold(self, wanted: int) -> None:
        self._arriving.hold(wanted - self._held)
        self._held = wanted


class _Parts(MultiPartParser):
    """Reads a form with files: little of each file is in memory, and no more text than a form without any holds."""

    spool_max_size = bounds.FORM_FILE_IN_MEMORY
    _text = _of_part = 0
    _is_amid = False

    def __init__(self, reading: Request, stream: AsyncGenerator[bytes, None], body: _Body, **most: int) -> None:
        super().__init__(reading.headers, stream, **most)
        self._body = body

    async def parse(self) -> FormData:
        """Return the form; its files are closed where it does not come whole.

        Raises:
            MultiPartException: it is none, or ends amid a part.
        """
        whole = False
        try:
            form = await super().parse()
            if self._is_amid:
                raise MultiPartException("The form ends amid a part.")
            whole = True
            return form
        finally:
            for file in () if whole else self._files_to_close_on_error:
                file.close()

    def on_part_begin(self) -> None:
        """Begin a part, of which nothing has come yet."""
        super().on_part_begin()
        self._is_amid, self._of_part = True, 0

    def on_part_data(self, data: bytes, start: int, end: int) -> None:
        """Take a piece of a part; raises BlockedError where no memory is left for what of it stays there."""
        super().on_part_data(data, start, end)
        came = self._of_part + end - start
        if self._current_part.file is not None:
            came = min(came, self.spool_max_size)
        self._body.keep(came - self._of_part)
        self._of_part = came

    def on_part_end(self) -> None:
        """Take a part; raises TooLargeError where the text of all is too much."""
        super().on_part_end()
        self._is_amid = False
        name, value = self.items[-1]
        self._text += len(name) + (len(value) if isinstance(value, str) else 0)
        if self._text > bounds.FORM_BYTES:
            raise TooLargeError(bounds.FORM_BYTES)


@asynccontextmanager
async def read_form(request: Request, arriving: Arriving) -> AsyncIterator[FormData]:
    """Read a request's form, whose files are closed afterwards.

    Raises:
        UnreadableError: it is cut off, is no form, has more parts than any page sends, or is not in UTF-8.
        TooLargeError: it is larger than the desk takes.
        BlockedError: forms that came before take all the memory, or there is no room on the disk for its files.
    """
    kind, options = parse_options_header(request.headers.get("content-type"))
    if options.get(b"charset", b"utf-8").lower() not in _UTF_8:
        raise UnreadableError
    body = _Body(request.receive, arriving, without_files=kind != _WITH_FILES)
    try:
        form = await _parsed(Request(request.scope, body.receive), kind, body)
        try:
            if kind == _WITH_FILES and b"--" + options.get(b"boundary", b"") + b"--" not in body.tail:
                raise UnreadableError
            yield form
        finally:
            await form.close()
    finally:
        body.let_go()


async def _parsed(reading: Request, kind: bytes, body: _Body) -> FormData:
    most: Final = {"max_fields": bounds.FORM_FIELDS, "max_part_size": bounds.FIELD_BYTES}
    try:
        async with aclosing(reading.stream()) as stream:
            if kind == _WITH_FILES:
                return await _Parts(reading, stream, body, max_files=bounds.FORM_FILES, **most).parse()
            if kind == _WITHOUT_FILES:
                return await FormParser(reading.headers, stream, **most).parse()
    except FieldError:
        raise
    except (MultiPartException, ValueError) as fault:
        if str(fault).startswith("Too many files"):
            raise FieldError(say("refused.many", most=bounds.FORM_FILES), say("refused.many_hint")) from fault
        if "exceeded maximum size" in str(fault):
            raise TooLargeError(bounds.FIELD_BYTES) from fault
        raise UnreadableError from fault
    except OSError as fault:
        raise BlockedError(say("refused.no_room", why=fault.strerror or fault), say("refused.no_room_hint")) from fault
    return FormData()


def sent_file(form: FormData, name: str) -> Given | None:
    """Return the file that was dropped on a page; None where none was.

    Its name has no folder before it and is not longer than one that can be shown.

    Raises:
        FieldError: it is larger than any table that is taken here.
    """
    sent = form.get(name)
    if not isinstance(sent, UploadFile) or not sent.filename:
        return None
    file, most = sent.filename.replace("\\", "/").rpartition("/")[2][-_LONGEST_NAME:], bounds.DROPPED_BYTES
    if (sent.size or 0) > most:
        raise FieldError(say("refused.large", file=file, most=most // 1_000_000), say("refused.large_hint"))
    return Given(file, sent.file.read())


class _Number(Convertor[int]):
    """A number in an address; one of thousands of digits leads nowhere."""

    regex = f"[0-9]{{1,{bounds.REQUEST_DIGITS}}}"

    def convert(self, value: str) -> int:
        """Return the number."""
        return int(value)

    def to_string(self, value: int) -> str:
        """Return it as an address has it."""
        return str(value)


class _Code(Convertor[str]):
    """A code in an address, as `as_part` writes it: it may hold a stroke."""

    regex = "[^/]+"

    def convert(self, value: str) -> str:
        """Return the code."""
        return code_of_part(value)

    def to_string(self, value: str) -> str:
        """Return it as an address has it."""
        return as_part(value)


register_url_convertor("number", _Number())
register_url_convertor("code", _Code())


def number_in(text: str) -> int:
    """Return the whole number that a part of a request is; -1 where it is none, or longer than any of a page.

    >>> number_in("12"), number_in("-1"), number_in("²"), number_in("9" * 5_000)
    (12, -1, -1, -1)
    """
    is_short = len(text) <= bounds.REQUEST_DIGITS
    return int(text) if is_short and text.isascii() and text.isdecimal() else -1


class Turns:
    """Forms that come to one address are worked on one after the other.

    A button that is clicked twice sends its form again while the first is at work: then it is done once, and both lead
    to the same page. What is sent again after its answer came is meant, and done.
    """

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._turns: WeakValueDictionary[str, _Turn] = WeakValueDictionary()

    def take(self, address: str, form: FormData, work: Callable[[], Response]) -> Response:
        """Return what the work answers, or where the same form just led."""
        with self._guard:
            turn = self._turns.setdefault(address, _Turn())
        done, mark = turn.done, _mark(form)
        with turn.lock:
            at, leads_to = turn.led.get(mark, (0, ""))
            if at > done and leads_to:
                return RedirectResponse(leads_to, 303)
            answer = work()
            turn.done += 1
            turn.led[mark] = turn.done, answer.headers.get("location", "")
            return answer


class _Turn:
    """Who is at work at an address: how many were done; when each form was and where it led, "" for its own page."""

    def __init__(self) -> None:
        self.lock, self.done = threading.Lock(), 0
        self.led: dict[str, tuple[int, str]] = {}  # of those since somebody was last alone at the address


def _mark(form: FormData) -> str:
    """Return a digest of a form and of all that is in its files."""
    mark = hashlib.sha256()
    for name, value in form.multi_items():
        part = (name, value if isinstance(value, str) else _file_mark(value))
        mark.update(repr(part).encode("utf-8", "surrogatepass"))
    return mark.hexdigest()


def _file_mark(sent: UploadFile) -> tuple[str, str]:
    sent.file.seek(0)
    digest = hashlib.file_digest(sent.file, "sha256").hexdigest()  # type: ignore[arg-type]  # it reads into a buffer
    sent.file.seek(0)
    return sent.filename or "", digest
