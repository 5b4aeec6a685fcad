"""Connections of programs that ask for nothing, and of the owner's browser among them. RFC 9112, 9.5 (timeouts), 9.6.

A loop and a transport of the test's own stand in for those of asyncio, so that no clock runs.
"""

import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import h11
import pytest
from uvicorn.server import ServerState

from listkit import bounds
from listkit.desk.connections import Connection, Server

HEAD = b"GET /today HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
BODY = b"POST /today HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 9\r\n\r\n"


class Handle:
    def __init__(self, seconds: float, function: Callable[[], None]) -> None:
        self.seconds, self.function, self.waits = seconds, function, True

    def cancel(self) -> None:
        self.waits = False


class Loop:
    """Notes what is to be called later; begins no task."""

    def __init__(self) -> None:
        self.now, self.handles = 0.0, list[Handle]()

    def time(self) -> float:
        self.now += 1
        return self.now

    def call_later(self, seconds: float, function: Callable[[], None]) -> Handle:
        self.handles.append(Handle(seconds, function))
        return self.handles[-1]

    def create_task(self, task: Coroutine[Any, Any, None], **_: Any) -> "Transport":
        task.close()
        return Transport()

    @property
    def waiting(self) -> list[float]:
        return [each.seconds for each in self.handles if each.waits]


class Transport:
    def __init__(self) -> None:
        self.aborted = False

    def abort(self) -> None:
        self.aborted = True

    def is_closing(self) -> bool:
        return self.aborted

    def get_extra_info(self, name: str) -> None:
        return None

    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *_: None


@pytest.fixture
def loop() -> Loop:
    return Loop()


@pytest.fixture
def connect(loop: Loop) -> Callable[[bytes], Connection]:
    async def app(scope: object, receive: object, send: object) -> None:
        raise AssertionError("no task is begun")

    server, state = Server(app), ServerState()
    server.config.load()

    def connected(data: bytes) -> Connection:
        connection = Connection(server.config, state, {}, loop)  # type: ignore[arg-type]
        connection.connection_made(Transport())  # type: ignore[arg-type]
        if data:
            connection.data_received(data)
        return connection

    return connected


def is_there(connection: Connection) -> bool:
    return not connection.transport.is_closing()


def test_a_request_has_so_long_to_come_however_often_a_byte_comes(
    loop: Loop, connect: Callable[[bytes], Connection]
) -> None:
    connection = connect(b"")
    assert loop.waiting == [bounds.HEAD_SECONDS]
    for byte in (b"G", b"E", b"T", b" /today HTTP/1.1\r\nX: y"):
        connection.data_received(byte)
    assert len(loop.handles) == 1, "a byte gives no more time"
    loop.handles[0].function()
    assert not is_there(connection)


def test_an_answer_has_as_long_as_it_takes_and_a_body_while_more_of_it_comes(
    loop: Loop, connect: Callable[[bytes], Connection]
) -> None:
    connect(HEAD)
    assert loop.waiting == []
    connection = connect(BODY)
    assert loop.waiting == [bounds.BODY_SECONDS]
    connection.data_received(b"name=")
    assert loop.waiting == [bounds.BODY_SECONDS]
    connection.data_received(b"Fair")
    assert loop.waiting == []


def test_a_body_that_drips_has_no_more_time_for_each_drop(
    loop: Loop, connect: Callable[[bytes], Connection], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "BODY_PIECE", 5)
    connection = connect(BODY.replace(b"9", b"90"))
    timer = loop.handles[-1]
    for _ in range(4):
        connection.data_received(b"n")
    assert timer.waits, "a drop gives no more time"
    connection.data_received(b"n")
    assert not timer.waits, "a piece does"
    assert loop.waiting == [bounds.BODY_SECONDS]
    loop.handles[-1].function()
    assert not is_there(connection)


def test_a_body_behind_another_request_has_its_own_time(loop: Loop, connect: Callable[[bytes], Connection]) -> None:
    connection = connect(HEAD + BODY)
    first = connection.cycle
    first.response_complete = True
    connection.conn.send(h11.Response(status_code=204, headers=[]))
    connection.conn.send(h11.EndOfMessage())
    connection.on_response_complete()
    assert connection.cycle is not first
    assert bounds.BODY_SECONDS in loop.waiting


def test_a_body_that_nobody_reads_ends_with_the_time_of_a_head(
    loop: Loop, connect: Callable[[bytes], Connection]
) -> None:
    connection = connect(BODY)
    connection.cycle.response_complete = True
    connection.on_response_complete()
    connection.data_received(b"n")
    timers = [each for each in loop.handles if each.waits and each.seconds == bounds.HEAD_SECONDS]
    assert len(timers) == 1
    timers[0].function()
    assert not is_there(connection)


def test_who_asked_for_nothing_gives_way_first_then_who_had_an_answer_then_who_stands_still(
    connect: Callable[[bytes], Connection], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "CONNECTIONS", 5)
    at_work, answered, sends = connect(HEAD), connect(HEAD), connect(BODY)
    answered.cycle.response_complete = True
    first, second = connect(b""), connect(b"GET /")
    there = [sends, answered, second, first]
    while there:
        last = connect(HEAD)
        last.cycle.response_complete = False
        given_way = there.pop()
        assert not is_there(given_way)
        assert all(map(is_there, (*there, at_work, last)))


def test_nonsense_of_strangers_is_not_on_the_owners_terminal(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "listkit", "desk", "--shop", str(tmp_path), "--no-browser"]
    desk = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ})
    assert desk.stdout is not None
    found = re.search(r"(http://127.0.0.1:(\d+))/open\?key=\w+", desk.stdout.readline().decode())
    assert found
    port = int(found[2])

    def send(content: bytes) -> bytes:
        with socket.create_connection(("127.0.0.1", port), 20) as connection:
            connection.sendall(content)
            answer = connection.recv(100_000)
            while content.startswith(b"GET /open") and b"\r\n\r\n" not in answer:
                answer += connection.recv(100_000)
            return answer

    host = f"Host: 127.0.0.1:{port}\r\n".encode()
    opening = b"GET " + found[0].removeprefix(found[1]).encode() + b" HTTP/1.1\r\n" + host + b"\r\n"
    entry = re.search(rb"listkit-desk-\d+=\w+", send(opening))
    assert entry
    own = host + b"Cookie: " + entry[0] + b"\r\nOrigin: " + found[1].encode() + b"\r\n"
    urlencoded = b"Content-Type: application/x-www-form-urlencoded\r\n"
    assert b" 400 " in send(b"\x16\x03\x01nonsense\r\n\r\n")
    assert b" 403 " in send(b"GET /today HTTP/1.1\r\n" + host + b"Upgrade: websocket\r\nConnection: Upgrade\r\n\r\n")
    chunked = b"POST /language HTTP/1.1\r\n" + own + urlencoded + b"Transfer-Encoding: chunked\r\n\r\n"
    assert b" 400 " in send(chunked + b"5\r\na=b\r\n0\r\n\r\n")
    with_files = b"Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 9\r\n\r\nnonsense\n"
    assert b" 400 " in send(b"POST /language HTTP/1.1\r\n" + own + with_files)
    desk.send_signal(signal.SIGINT)
    said = desk.communicate(timeout=20)[1].decode()
    assert len(said.splitlines()) == 3, said
