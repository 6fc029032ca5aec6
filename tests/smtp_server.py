"""A mail server on this machine that tests tell how to behave: real SMTP (RFC 5321) over a real socket.

In a test, and for a worker process beside it::

    with SmtpServer() as server:
        environment["EMAIL_URL"] = server.url          # smtp://127.0.0.1:PORT
        settings.EMAIL_BACKEND, settings.EMAIL_PORT = SMTP, server.port    # or the fixture `smtp` of tests/conftest.py
        server.manner = Manner.DIE_AFTER_TAKING
        ...
        assert [taken.message_id for taken in server.taken] == [...]

It runs in a thread of its own. `manner`, `slow_ms`, `of_address`, `then` and `held` may be changed at any time from any thread; a
connection that stands heeds the change with its next command. `stop()` and `start()` keep the port: in between nobody
listens there. By hand: `python -m tests.smtp_server 2525 --keep FOLDER`.
"""

import asyncio
import base64
import contextlib
import email.policy
import socket
import ssl
import sys
import threading
import time
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from email.message import EmailMessage
from enum import StrEnum
from pathlib import Path
from types import TracebackType
from typing import Self

SMTP = "django.core.mail.backends.smtp.EmailBackend"
LONGEST_LINE = 1_000_000


class Manner(StrEnum):
    """How the server behaves. Only TAKE, HANG_AFTER_TAKING and DIE_AFTER_TAKING keep the mail."""

    TAKE = "takes it, after slow_ms"
    REFUSE_AT_CONNECT = "greets with 554"
    BUSY_AT_CONNECT = "greets with 421 and closes"
    REFUSE_SENDER = "answers MAIL with 550"
    REFUSE_ADDRESS = "answers RCPT with 550"
    LATER = "answers RCPT with 450, as for an address it does not know yet"
    BUSY = "answers MAIL with 451"
    REFUSE_CONTENT = "answers the mail with 554"
    BUSY_AFTER_DATA = "answers the mail with 451"
    HANG_AT_CONNECT = "accepts the connection and never greets"
    HANG_BEFORE_DATA = "never answers MAIL"
    HANG_AFTER_TAKING = "takes the mail and never answers"
    DIE_AT_CONNECT = "closes before it greets"
    DIE_BEFORE_DATA = "closes at RCPT"
    DIE_IN_DATA = "closes while the mail arrives, and loses it"
    DIE_AFTER_TAKING = "takes the mail and closes before it answers"


KEEPING = {Manner.TAKE, Manner.HANG_AFTER_TAKING, Manner.DIE_AFTER_TAKING}
AT_CONNECT = {
    Manner.REFUSE_AT_CONNECT: b"554 no mail from you here\r\n",
    Manner.BUSY_AT_CONNECT: b"421 too busy, come again\r\n",
    Manner.DIE_AT_CONNECT: b"",
}


@dataclass(frozen=True)
class Taken:
    """One mail that the server keeps."""

    message_id: str
    sender: str
    to: tuple[str, ...]
    raw: bytes = field(repr=False)
    connection: int  # which connection brought it, counted from 1
    at: float  # time.monotonic()

    @property
    def mail(self) -> EmailMessage:
        """The mail, parsed anew each time."""
        parsed = email.message_from_bytes(self.raw, policy=email.policy.default)
        assert isinstance(parsed, EmailMessage)
        return parsed

    @property
    def text(self) -> str:
        """Its plain text."""
        part = self.mail.get_body(("plain",))
        return "" if part is None else str(part.get_content())


class SmtpServer:
    """A mail server on 127.0.0.1 in a thread of its own; used with `with`.

    `user` and `password`: who must sign in (AUTH PLAIN, RFC 4954). `tls`: offers STARTTLS (RFC 3207), or speaks TLS from
    the first byte with `tls_at_once`.
    """

    def __init__(
        self,
        *,
        port: int = 0,
        slow_ms: float = 0,
        manner: Manner = Manner.TAKE,
        user: str = "",
        password: str = "",
        tls: ssl.SSLContext | None = None,
        tls_at_once: bool = False,
        host: str = "127.0.0.1",
    ) -> None:
        self.host, self.port = host, port
        self.slow_ms = slow_ms
        self.manner = manner
        self.of_address: dict[str, Manner] = {}
        self.then: deque[Manner] = deque()
        self.held = False  # while it is, a mail that was taken waits for its answer
        self.user, self.password, self.tls, self.tls_at_once = user, password, tls, tls_at_once
        self.taken: list[Taken] = []
        self.connections = 0
        self.commands: list[str] = []
        self._loop: asyncio.AbstractEventLoop | None = None
        self._thread: threading.Thread | None = None
        self._server: asyncio.Server | None = None
        self._open: set[asyncio.Task[None]] = set()

    @property
    def url(self) -> str:
        """What EMAIL_URL of another process is set to."""
        return f"smtp://127.0.0.1:{self.port}"

    def next(self, manners: Iterable[Manner]) -> None:
        """Behave like each of `manners` for one mail, in turn; then like `manner` again."""
        self.then.extend(manners)

    def ids(self) -> list[str]:
        """The Message-ID of every mail that was taken, in order."""
        return [taken.message_id for taken in list(self.taken)]

    def wait_for(self, count: int, *, seconds: float = 10) -> list[Taken]:
        """Wait until `count` mails were taken, at most `seconds`; all that were taken by then."""
        until = time.monotonic() + seconds
        while len(self.taken) < count and time.monotonic() < until:
            time.sleep(0.01)
        return list(self.taken)

    def start(self) -> Self:
        """Listen; on the same port as before where it ran before."""
        started = threading.Event()
        self._loop = asyncio.new_event_loop()
        listening = socket.create_server((self.host, self.port))
        self.port = listening.getsockname()[1]
        self._thread = threading.Thread(target=self._run, args=(self._loop, listening, started), daemon=True)
        self._thread.start()
        started.wait(10)
        return self

    def stop(self) -> None:
        """Stop listening and break every connection: nobody answers at this port until `start`."""
        loop, thread = self._loop, self._thread
        if loop is None or thread is None:
            return
        self._loop = self._thread = None
        with contextlib.suppress(RuntimeError):
            loop.call_soon_threadsafe(loop.stop)
        thread.join(10)

    def __enter__(self) -> Self:
        return self.start()

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.stop()

    def _run(self, loop: asyncio.AbstractEventLoop, listening: socket.socket, started: threading.Event) -> None:
        asyncio.set_event_loop(loop)
        at_once = self.tls if self.tls_at_once else None
        server = loop.run_until_complete(
            asyncio.start_server(self._meet, sock=listening, limit=LONGEST_LINE, ssl=at_once)
        )
        started.set()
        try:
            loop.run_forever()
        finally:
            server.close()
            for task in list(self._open):
                task.cancel()
            if self._open:
                loop.run_until_complete(asyncio.gather(*self._open, return_exceptions=True))
            loop.run_until_complete(loop.shutdown_asyncgens())
            loop.close()

    async def _meet(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.connections += 1
        task = asyncio.current_task()
        assert task is not None
        self._open.add(task)
        try:
            await _Talk(self, reader, writer, self.connections).hold()
        except (OSError, EOFError, asyncio.CancelledError):
            pass  # the other side went away, or the server stops
        finally:
            self._open.discard(task)
            if not writer.transport.is_closing():
                writer.transport.abort()


class _Closed(Exception):
    """The server ends this connection now."""


class _Talk:
    """One connection, from greeting to end."""

    def __init__(
        self, server: SmtpServer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, number: int
    ) -> None:
        self.server, self.reader, self.writer, self.number = server, reader, writer, number
        self.sender, self.to = "", list[str]()
        self.manner = Manner.TAKE
        self.known = not server.user

    async def hold(self) -> None:
        manner = self.server.manner
        if manner is Manner.HANG_AT_CONNECT:
            await self.reader.read()  # until the other side gives up
            return None
        if manner in AT_CONNECT:
            await self.say(AT_CONNECT[manner])
            return await self.leave()
        await self.say(b"220 loopback mail for tests\r\n")
        try:
            while line := await self.reader.readline():
                command, _, rest = line.decode("latin-1").strip().partition(" ")
                self.server.commands.append(command.upper())
                await self.answer(command.upper(), rest)
        except _Closed:
            await self.leave()
        return None

    async def leave(self) -> None:
        with contextlib.suppress(OSError):
            self.writer.close()
            await self.writer.wait_closed()

    async def say(self, words: bytes) -> None:
        if words:
            self.writer.write(words)
            await self.writer.drain()

    async def answer(self, command: str, rest: str) -> None:
        if command == "EHLO":
            await self.greet()
        elif command == "STARTTLS" and self.server.tls:
            await self.say(b"220 go on\r\n")
            await self.writer.start_tls(self.server.tls)
        elif command == "AUTH":
            await self.sign_in(rest)
        elif command == "RSET":
            self.sender, self.to = "", []
            await self.say(b"250 forgotten\r\n")
        elif command == "QUIT":
            await self.say(b"221 bye\r\n")
            raise _Closed
        else:
            await self.take(command, rest)

    async def greet(self) -> None:
        more = b"250-STARTTLS\r\n" if self.server.tls and not self._secret() else b""
        more += b"250-AUTH PLAIN\r\n" if self.server.user else b""
        await self.say(b"250-loopback\r\n250-8BITMIME\r\n" + more + b"250 SIZE 33554432\r\n")

    async def take(self, command: str, rest: str) -> None:
        if not self.known:
            await self.say(b"530 sign in first\r\n")
        elif command == "MAIL":
            await self.mail_from(_path(rest))
        elif command == "RCPT" and self.sender:
            await self.rcpt_to(_path(rest))
        elif command == "DATA" and self.to:
            await self.data()
        else:
            await self.say(b"503 not now\r\n")

    def _secret(self) -> bool:
        return self.writer.get_extra_info("ssl_object") is not None

    async def sign_in(self, rest: str) -> None:
        kind, _, given = rest.partition(" ")
        if kind.upper() != "PLAIN":
            return await self.say(b"504 only PLAIN\r\n")
        _, user, password = base64.b64decode(given).decode().split("\0")
        self.known = (user, password) == (self.server.user, self.server.password)
        return await self.say(b"235 welcome\r\n" if self.known else b"535 wrong name or password\r\n")

    async def mail_from(self, sender: str) -> None:
        self.to = []
        self.manner = self.server.then.popleft() if self.server.then else self.server.manner
        if self.manner in AT_CONNECT or self.manner is Manner.HANG_AT_CONNECT:
            self.manner = Manner.TAKE  # this connection stood before
        if self.manner is Manner.HANG_BEFORE_DATA:
            await self.reader.read()
            raise _Closed
        if self.manner is Manner.BUSY:
            return await self.say(b"451 busy, try later\r\n")
        if self.manner is Manner.REFUSE_SENDER:
            return await self.say(b"550 not from you\r\n")
        self.sender = sender
        return await self.say(b"250 yes\r\n")

    async def rcpt_to(self, address: str) -> None:
        self.manner = self.server.of_address.get(address, self.manner)
        if self.manner is Manner.DIE_BEFORE_DATA:
            raise _Closed
        if self.manner is Manner.REFUSE_ADDRESS:
            return await self.say(b"550 5.1.1 nobody of that name here\r\n")
        if self.manner is Manner.LATER:
            return await self.say(b"450 4.2.0 not known yet, come again\r\n")
        self.to.append(address)
        return await self.say(b"250 yes\r\n")

    async def data(self) -> None:
        await self.say(b"354 go on, end with a dot\r\n")
        if self.manner is Manner.DIE_IN_DATA:
            raise _Closed
        lines: list[bytes] = []
        while (line := await self.reader.readline()) != b".\r\n":
            if not line:
                raise _Closed
            lines.append(line[1:] if line.startswith(b".") else line)
        raw, manner = b"".join(lines), self.manner
        if manner in KEEPING:
            mail = email.message_from_bytes(raw, policy=email.policy.compat32)
            self.server.taken.append(
                Taken(str(mail["Message-ID"]), self.sender, tuple(self.to), raw, self.number, time.monotonic())
            )
        self.sender, self.to = "", []
        await self.after_data(manner)

    async def after_data(self, manner: Manner) -> None:
        if manner is Manner.DIE_AFTER_TAKING:
            raise _Closed
        if manner is Manner.HANG_AFTER_TAKING:
            await self.reader.read()
            raise _Closed
        if manner is Manner.REFUSE_CONTENT:
            return await self.say(b"554 5.7.1 not wanted here\r\n")
        if manner is Manner.BUSY_AFTER_DATA:
            return await self.say(b"451 no room now\r\n")
        if self.server.slow_ms:
            await asyncio.sleep(self.server.slow_ms / 1000)
        while self.server.held:  # noqa: ASYNC110 - set from another thread
            await asyncio.sleep(0.005)
        return await self.say(b"250 taken\r\n")


def _path(rest: str) -> str:
    """The address of `FROM:<petra@example.com> SIZE=12`."""
    return rest.partition("<")[2].partition(">")[0] or "<>"


def main(words: list[str]) -> None:
    """Listen until killed: `python -m tests.smtp_server [PORT] [--keep FOLDER] [--everywhere]`. Says which mails it took."""
    folder = Path(words[words.index("--keep") + 1]) if "--keep" in words else None
    if folder:
        folder.mkdir(parents=True, exist_ok=True)
    host = "" if "--everywhere" in words else "127.0.0.1"  # other containers reach it then
    with SmtpServer(port=int(words[0]) if words else 2525, host=host) as running:
        sys.stdout.write(f"EMAIL_URL={running.url}\n")
        shown = 0
        while True:
            sys.stdout.flush()
            time.sleep(0.2)
            for mail in running.taken[shown:]:
                shown += 1
                sys.stdout.write(f"{mail.message_id} to {', '.join(mail.to)}: {mail.mail['Subject']}\n")
                if folder:
                    kept = folder / f"{time.time_ns()}.eml"
                    kept.with_suffix(".half").write_bytes(mail.raw)
                    kept.with_suffix(".half").replace(kept)


if __name__ == "__main__":
    main(sys.argv[1:])
