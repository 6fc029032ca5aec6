"""The two brokers that the program knows, as a test may break them: a folder of files, and Redis."""

import shutil
import socket
import subprocess
import time
from pathlib import Path

from celery import Celery
from redis import Redis
from redis.exceptions import RedisError

from tests.faults.nursery import die_with_parent

REDIS = shutil.which("redis-server")
SOON = 20.0


class FolderBroker:
    """Files below the program's own folder of data."""

    url = ""  # REDIS_URL of the processes

    def __init__(self, var: Path) -> None:
        self.folder = var / "broker" / "messages"
        control = var / "broker" / "control"
        for folder in (self.folder, control):
            folder.mkdir(parents=True, exist_ok=True)
        options = {
            "data_folder_in": str(self.folder),
            "data_folder_out": str(self.folder),
            "control_folder": str(control),
            "store_processed": False,
        }
        self.app = Celery("ticks", broker="filesystem://localhost//", set_as_current=False)
        self.app.conf.update(broker_transport_options=options, task_ignore_result=True)

    def waiting(self) -> int:
        """How many tasks nobody has taken yet."""
        return sum(1 for _ in self.folder.glob("*.msg"))

    def empty(self) -> None:
        """Everything that waits in it is lost."""
        for file in self.folder.glob("*.msg"):
            file.unlink(missing_ok=True)

    def hears(self) -> bool:
        return self.folder.exists()

    def stop(self) -> None:
        """The folder is not there any more: a disk that fell off."""
        self.folder.rename(self.folder.with_name("away"))

    def start(self) -> None:
        self.folder.with_name("away").rename(self.folder)

    def close(self) -> None:
        self.app.close()


class RedisBroker:
    """A Redis of its own on a free port, which keeps nothing on disk."""

    def __init__(self, var: Path) -> None:
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.var = var
        self.start()
        self.app = Celery("ticks", broker=self.url, set_as_current=False)
        self.app.conf.update(task_ignore_result=True)

    def start(self) -> None:
        command = [REDIS or "redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--save", ""]
        with open(self.var / "redis.log", "ab") as log:
            self.server = subprocess.Popen(
                [*command, "--appendonly", "no"],
                cwd=self.var,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
                preexec_fn=die_with_parent,  # noqa: PLW1509
            )
        until = time.monotonic() + SOON
        while not self._answers():
            if time.monotonic() > until:
                raise RuntimeError("Redis did not start")
            time.sleep(0.02)

    def _answers(self) -> bool:
        try:
            with Redis(port=self.port) as redis:
                return bool(redis.ping())
        except RedisError:
            return False

    def hears(self) -> bool:
        """Whether it is there; whoever asks it for something finds out only after six seconds."""
        return self.server.poll() is None

    def stop(self) -> None:
        """Killed, with all that it held."""
        self.server.kill()
        self.server.wait()

    def waiting(self) -> int:
        with Redis(port=self.port) as redis:
            return int(redis.llen("celery"))  # type: ignore[arg-type]

    def empty(self) -> None:
        with Redis(port=self.port) as redis:
            redis.flushall()

    def close(self) -> None:
        self.app.close()
        self.stop()


Broker = FolderBroker | RedisBroker
KINDS: dict[str, type[FolderBroker] | type[RedisBroker]] = {"folder": FolderBroker, "redis": RedisBroker}
