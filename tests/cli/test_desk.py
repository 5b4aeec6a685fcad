"""`listkit desk` as a process: its address, its port, how it ends; and what it costs other commands: nothing."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.shops import clean_shop

_SECONDS = 30


@contextmanager
def running(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Yield the process once it answers, with the address that it printed."""
    command = [sys.executable, "-m", "listkit", "desk", "--no-browser", *arguments]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        try:
            yield process, address
        finally:
            process.kill()


def get(address: str, path: str, **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(urlsplit(address).netloc, timeout=_SECONDS)
    connection.request("GET", path, headers=headers)
    return connection.getresponse()


def enter(address: str) -> str:
    """Open the desk once; return the cookie."""
    parts = urlsplit(address)
    return str(get(address, f"{parts.path}?{parts.query}").getheader("set-cookie")).partition(";")[0]


def test_it_answers_on_loopback_alone_at_the_address_that_it_prints(tmp_path: Path) -> None:
    with running("--shop", str(clean_shop(tmp_path / "shop"))) as (_, address):
        parts = urlsplit(address)
        assert parts.hostname == "127.0.0.1"
        assert re.fullmatch(r"key=[0-9a-f]{64}", parts.query)
        page = get(address, "/today", cookie=enter(address))
        assert page.status == 200
        assert b"Reed &amp; Rushlight" in page.read()
        with socket.socket() as other:  # 127.0.0.2 is another address of the same machine (RFC 1122, 3.2.1.3)
            other.settimeout(2)
            with pytest.raises(OSError, match=r"."):
                other.connect(("127.0.0.2", parts.port))


@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_signal_ends_it_in_one_line_with_the_signals_status(
    tmp_path: Path, number: signal.Signals, status: int
) -> None:
    with running("--shop", str(clean_shop(tmp_path / "shop"))) as (process, address):
        cookie = enter(address)
        events = http.client.HTTPConnection(urlsplit(address).netloc, timeout=_SECONDS)
        events.request("GET", "/build/events", headers={"cookie": cookie})
        began = time.monotonic()
        process.send_signal(number)
        _, talk = process.communicate(timeout=_SECONDS)
        assert process.returncode == status
        assert time.monotonic() - began < 5
        assert "Traceback" not in talk
        assert talk.splitlines()[-1] == "Stopped. What was made before is whole, and the next build goes on from there."


def test_a_port_that_is_taken_is_told_and_another_is_used_where_none_was_asked_for(tmp_path: Path) -> None:
    shop = str(clean_shop(tmp_path / "shop"))
    with running("--shop", shop) as (_, first), running("--shop", shop) as (_, second):
        assert urlsplit(first).port != urlsplit(second).port
        refused = subprocess.run(
            [sys.executable, "-m", "listkit", "desk", "--no-browser", "--port", str(urlsplit(first).port)],
            capture_output=True,
            text=True,
            check=False,
            timeout=_SECONDS,
        )
        assert refused.returncode == 1
        assert f"port {urlsplit(first).port} cannot be had" in refused.stderr
        assert "Traceback" not in refused.stderr


def test_a_port_that_is_none_is_told() -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "listkit", "desk", "--no-browser", "--port", "99999"],
        capture_output=True,
        text=True,
        check=False,
        timeout=_SECONDS,
    )
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr == "99999 is no port. Name one from 1024 to 65535.\n"


@pytest.mark.parametrize("arguments", [["--help"], ["check"], ["check", "--help"]])
def test_other_commands_load_nothing_of_the_desk(tmp_path: Path, arguments: list[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    code = (
        "import sys; from listkit.cli.last import run; run(sys.argv[1:]);"
        "sys.stderr.write(' '.join(name for name in sys.modules if name.partition('.')[0] in "
        "('starlette', 'uvicorn', 'multipart', 'python_multipart', 'tomlkit') or name.startswith('listkit.desk')))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        check=False,
        cwd=shop,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        timeout=_SECONDS,
    )
    assert ended.stdout
    assert ended.stderr == ""
