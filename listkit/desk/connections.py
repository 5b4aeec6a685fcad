"""The desk's connections: few, none that waits without end, and nothing of strangers' nonsense on the owner's terminal.

Any program of the machine may connect before it has shown a cookie. A request line has so long to come (RFC 9112, 9.5:
a server ought to have a time limit), and so has what is left of a body that nobody wants to read; each further piece of
a body, many bytes, has so long as well. Where there are more connections than the desk takes, one that has asked for
nothing gives way to the next, the oldest first, then one that stands still; so the owner's browser is answered whoever
else connects.
"""

import asyncio
import errno
import logging
import socket
from typing import Any, Final

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

from listkit import bounds

_AT_ONCE: Final = 32  # connections that are taken at a time, each with a descriptor before anything is known of it
_QUEUE: Final = 1_024  # that wait to be taken in the system, which makes others come again a second later
_NO_ROOM: Final = (errno.EMFILE, errno.ENFILE, errno.ENOBUFS, errno.ENOMEM)


class Connection(H11Protocol):
    """One connection, which has so long for each part of a request and gives way where there are too many."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a request; another one gives way where that makes too many."""
        super().connection_made(transport)
        self._patience: asyncio.TimerHandle | None = None
        self._waits, self._came = True, 0
        self._begun: RequestResponseCycle | None = None
        self._since = self.loop.time()
        self._wait(bounds.HEAD_SECONDS)
        if len(self.connections) > bounds.CONNECTIONS:
            self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing more."""
        self._wait(0)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came. Only what is a whole head, or a piece of a body that is read, gives it more time."""
        super().data_received(data)
        self._came += len(data)
        self._look()

    def on_response_complete(self) -> None:
        """Give the next request its own time, once something of it comes."""
        super().on_response_complete()
        self._look()

    def give_way(self) -> None:
        """End at once."""
        self.connections.discard(self)
        self._wait(0)
        self.transport.abort()

    @property
    def _answers(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    @property
    def _rank(self) -> tuple[int, float]:
        """Who gives way first: asked for nothing, had an answer, stands still, is at work; of these the oldest."""
        if not self._answers:
            return int(self.cycle is not None), self._since
        stands = self.flow.write_paused or self.cycle.more_body
        return (2 if stands else 3), self._since

    def _look(self) -> None:
        """Wait for what is to come next: a head, more of a body, or nothing while an answer is made."""
        if self._answers:
            self._waits = False
            if self.cycle is not self._begun or not self.cycle.more_body or self._came >= bounds.BODY_PIECE:
                self._begun, self._came = self.cycle, 0
                self._wait(bounds.BODY_SECONDS if self.cycle.more_body else 0)
        elif not self._waits:
            self._waits, self._since = True, self.loop.time()
            self._wait(bounds.HEAD_SECONDS)

    def _wait(self, seconds: float) -> None:
        if self._patience is not None:
            self._patience.cancel()
        self._patience = self.loop.call_later(seconds, self.give_way) if seconds else None

    def _make_room(self) -> None:
        others = (each for each in self.connections if isinstance(each, Connection) and each is not self)
        min(others, key=lambda each: each._rank, default=self).give_way()


class Server(uvicorn.Server):
    """A server of an application on sockets that are there; it takes few connections at a time of many that wait."""

    def __init__(self, app: ASGIApp) -> None:
        config = uvicorn.Config(
            app,
            http=Connection,
            backlog=_AT_ONCE,
            log_config=None,
            access_log=False,
            lifespan="off",
            ws="none",
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=1,
        )
        super().__init__(config)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer."""
        _stay_quiet()
        await super().startup(sockets)
        for each in sockets or ():
            each.listen(_QUEUE)


def _stay_quiet() -> None:
    """Let the server's own log go nowhere, in a loop that is running, unless a program wants it.

    A request that is no HTTP, a browser that went away, a system that has no descriptor left for the moment: whoever
    connects could fill the owner's terminal with it. A mistake of ours is told on its page.
    """
    for name in ("uvicorn", "python_multipart"):
        logging.getLogger(name).addHandler(logging.NullHandler())
    asyncio.get_running_loop().set_exception_handler(_heard)


def _heard(loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
    fault = context.get("exception")
    if isinstance(fault, OSError) and fault.errno in _NO_ROOM:  # it is tried again in a second
        return
    loop.default_exception_handler(context)
