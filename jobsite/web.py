"""One web server of several behind the proxy: gunicorn, and the proxy knows of it for as long as it takes requests.

``python -m jobsite.web`` starts gunicorn, waits until it answers ``/ready/``, and then keeps a file with its address in the
folder that the proxy reads (WEBS, a volume that both share). Told to stop, it takes the file away first, waits until the
proxy has noticed, and only then lets gunicorn finish what it has: no request is sent to a server that stops listening.

``python -m jobsite.web --ask`` asks the one on this computer whether it is ready, for a health check; ``--forget`` is for the
other services: the metrics of their processes that are gone are forgotten.
"""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from jobsite.serve import die_with_parent

NOTICED_SECONDS = 4.0  # the proxy looks every second, and its former processes may send for a moment more
FRESH_SECONDS = 5.0  # how often the file is touched: the proxy forgets one that is older than 20 s
START_SECONDS = 120.0
FINISH_SECONDS = 30  # for what gunicorn has when it is told to stop
LOOK_SECONDS = 0.2
GONE_SECONDS = 7 * 86_400.0
TOP = Path(__file__).resolve().parent.parent


class Web:
    """gunicorn as a child of this process."""

    def __init__(self) -> None:
        self.port = int(os.environ.get("PORT") or "8000")
        self.bind = os.environ.get("BIND") or "0.0.0.0"  # noqa: S104 - in its container it is reached from the proxy's
        self.known = webs() / f"{socket.gethostname()}-{self.port}"
        self.stop = False
        self.gunicorn: subprocess.Popen[bytes] | None = None

    def run(self) -> int:
        """Until told to stop: 0 then, gunicorn's own code when that ended by itself, 1 when it never became ready."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask_to_stop)
        self.known.unlink(missing_ok=True)
        forget_numbers()
        self.gunicorn = subprocess.Popen(
            [sys.executable, "-m", *self.command()],
            cwd=TOP,
            preexec_fn=die_with_parent,  # noqa: PLW1509 - nothing here has threads
        )
        try:
            if not self._wait_until_ready():
                return self._end() or (0 if self.stop else 1)
            self._serve()
        finally:
            self.known.unlink(missing_ok=True)
        if self.stop:
            time.sleep(NOTICED_SECONDS)
        return self._end()

    def command(self) -> list[str]:
        workers, threads = os.environ.get("WEB_WORKERS") or "2", os.environ.get("WEB_THREADS") or "4"
        return [
            "gunicorn", "jobsite.wsgi", "--bind", f"{self.bind}:{self.port}", "--workers", workers, "--threads", threads,
            "--graceful-timeout", str(FINISH_SECONDS), "--no-control-socket", "--log-level", "warning", "--preload",
            "--config", "python:jobsite.web_threads",
        ]  # fmt: skip

    def _ask_to_stop(self, *_: object) -> None:
        self.stop = True

    def _lives(self) -> bool:
        return self.gunicorn is not None and self.gunicorn.poll() is None

    def _wait_until_ready(self) -> bool:
        until = time.monotonic() + START_SECONDS
        while self._lives() and not self.stop and time.monotonic() < until:
            if ready(self.port):
                return True
            time.sleep(LOOK_SECONDS)
        return False

    def _serve(self) -> None:
        touched = 0.0
        while self._lives() and not self.stop:
            if time.monotonic() > touched + FRESH_SECONDS:
                self._make_known()
                touched = time.monotonic()
            time.sleep(LOOK_SECONDS)

    def _make_known(self) -> None:
        """Write the address where the proxy looks, whole or not at all."""
        try:
            address = own_address()
        except OSError:
            return  # the proxy is not there either
        half = self.known.with_name(f".{self.known.name}")
        half.write_text(f"{address}:{self.port}\n")
        half.replace(self.known)

    def _end(self) -> int:
        """Let gunicorn finish; its code, 0 where it was told to."""
        if self.gunicorn is None:
            return 0
        if self._lives():
            self.gunicorn.terminate()
            try:
                self.gunicorn.wait(FINISH_SECONDS + 5)
            except subprocess.TimeoutExpired:
                self.gunicorn.kill()
        code = self.gunicorn.wait()
        return 0 if self.stop else code


def var() -> Path:
    """Where everything lies that isn't code; the settings read the same variable."""
    return Path(os.environ.get("JOBSITE_VAR") or TOP / "var")


def webs() -> Path:
    """The folder in which each web server names itself."""
    folder = Path(os.environ.get("WEBS") or var() / "webs")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def metrics_part() -> str:
    """The part of the metrics' folder that is this container's own: processes have the same numbers in each of them."""
    part = os.environ.get("METRICS_PART", "")
    return f"{part}-{socket.gethostname()}" if part else ""


def forget_numbers() -> None:
    """Take the numbers of processes that are gone out of this part, and the parts of containers that are gone for long."""
    folder, own = var() / "metrics", metrics_part()
    for part in folder.glob("*-*/") if own else ():
        newest = max((file.stat().st_mtime for file in part.glob("*.db")), default=0.0)
        if part.name == own or newest < time.time() - GONE_SECONDS:
            for file in part.glob("*.db"):
                file.unlink(missing_ok=True)


def own_address() -> str:
    """By which the proxy reaches this computer or container. Raises OSError while the proxy's name stands for nothing.

    WEB_ADDRESS, else that of the way to the host WEB_TOWARDS (a container in two networks has two), else its own name's.
    """
    if given := os.environ.get("WEB_ADDRESS"):
        return given
    if towards := os.environ.get("WEB_TOWARDS"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
            way.connect((towards, 9))  # nothing is sent
            return str(way.getsockname()[0])
    return socket.gethostbyname(socket.gethostname())


def ready(port: int) -> bool:
    """Whether the server at `port` of this computer says that it can answer requests."""
    host = (os.environ.get("ALLOWED_HOSTS") or "localhost").split(",")[0].strip().lstrip(".")
    ask = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        ask.request("GET", "/ready/", headers={"Host": host})
        return ask.getresponse().status == 200
    except OSError:
        return False
    finally:
        ask.close()


def main(words: list[str]) -> int:
    if words == ["--forget"]:
        forget_numbers()
        return 0
    if words == ["--ask"]:
        return 0 if ready(int(os.environ.get("PORT") or "8000")) else 1
    return Web().run()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
