"""What the service needs beside itself: database, broker, certificate. Each lies in a folder of its own and is made once."""

import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from jobsite import embedded
from jobsite.serve import die_with_parent

START_SECONDS = 60.0
NAME = "jobsite"


class CannotStart(RuntimeError):
    """Something that is needed is missing or does not start; the text says what a person can do about it."""


@dataclass
class Server:
    """A process of the stack, and how it is told to end."""

    name: str
    process: subprocess.Popen[bytes]

    def ended(self) -> bool:
        return self.process.poll() is not None


def begin(name: str, command: Sequence[str], log: Path, **options: Any) -> Server:
    """Start a process in a group of its own; what it says goes to `log`."""
    with log.open("ab") as out:
        process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=out, stderr=out, start_new_session=True,
            preexec_fn=die_with_parent,  # noqa: PLW1509 - nothing here has threads
            **options,
        )  # fmt: skip
    return Server(name, process)


def wait_until(happened: Callable[[], bool], server: Server, log: Path) -> None:
    """Raises CannotStart with the end of its log where `server` ends or takes too long."""
    until = time.monotonic() + START_SECONDS
    while not happened():
        if server.ended() or time.monotonic() > until:
            tail = "\n".join(log.read_text(errors="replace").splitlines()[-8:])
            raise CannotStart(f"{server.name} did not start; the end of {log} says:\n{tail}")
        time.sleep(0.05)


def listens(port: int) -> bool:
    """Whether something listens on this port of this computer."""
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def program(name: str, what: str) -> str:
    """Where it is. Raises CannotStart."""
    found = shutil.which(name) or shutil.which(name, path="/usr/sbin:/usr/local/sbin")
    if found is None:
        raise CannotStart(f"{what} is not on this computer; on Debian: apt-get install {name}")
    return found


# --- PostgreSQL -------------------------------------------------------------------------------------------------------


def start_database(folder: Path, port: int, password: str) -> Server:
    """PostgreSQL on 127.0.0.1, for whoever knows the password (SCRAM); the firm's data stay in `folder`."""
    data, log = folder / "postgres", folder / "postgres.log"
    if not (data / "PG_VERSION").exists():
        _make_cluster(folder, data, password)
    server = begin(
        "PostgreSQL",
        [str(embedded.programs() / "postgres"), "-D", str(data), "-h", "127.0.0.1", "-p", str(port), "-k", "",
         "-c", "max_connections=200"],
        log,
        **servant(),
        cwd="/",
    )  # fmt: skip
    wait_until(lambda: answers(port), server, log)
    make_database(port, password)
    return server


def servant() -> dict[str, Any]:
    """As root, the server runs as another user: it refuses root."""
    if os.geteuid() != 0:
        return {}
    return {"user": embedded.SERVANT, "group": embedded.servants_group(), "extra_groups": []}


def answers(port: int) -> bool:
    return embedded.run("pg_isready", "-q", "-h", "127.0.0.1", "-p", str(port)).returncode == 0


def _make_cluster(folder: Path, data: Path, password: str) -> None:
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    given = folder / "password"
    given.write_text(password)
    for path in (data, given):
        if os.geteuid() == 0:
            shutil.chown(path, embedded.SERVANT, embedded.servants_group())
    options = ["--locale=C", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--encoding=UTF8"]
    made = embedded.run(
        "initdb", "-D", str(data), "-U", NAME, "--auth=scram-sha-256", "--pwfile", str(given), "--no-sync", *options
    )
    given.unlink()
    if made.returncode:
        raise CannotStart(f"The database could not be made in {data}:\n{made.stdout}")


def make_database(port: int, password: str) -> None:
    """The database itself, unless it is there."""
    import psycopg

    where = {"host": "127.0.0.1", "port": port, "user": NAME, "password": password}
    with psycopg.connect(dbname="postgres", autocommit=True, **where) as maintenance:  # type: ignore[arg-type]
        if not maintenance.execute("SELECT 1 FROM pg_database WHERE datname = %s", [NAME]).fetchone():
            maintenance.execute(f"CREATE DATABASE {NAME}")


# --- Redis ------------------------------------------------------------------------------------------------------------


def start_broker(folder: Path, port: int, password: str) -> Server:
    """Redis on 127.0.0.1, for whoever knows the password. It keeps nothing on disk: what it loses the sweep finds again."""
    log = folder / "redis.log"
    command = [program("redis-server", "Redis"), "--port", str(port), "--bind", "127.0.0.1", "--save", ""]
    server = begin("Redis", [*command, "--appendonly", "no", "--requirepass", password], log, cwd=folder)
    wait_until(lambda: listens(port), server, log)
    return server


# --- the proxy --------------------------------------------------------------------------------------------------------

PROXY = Path(__file__).resolve().parent / "proxy" / "run.sh"


def start_proxy(folder: Path, environment: dict[str, str], port: int) -> Server:
    """nginx, kept by the same script as in its container."""
    program("nginx", "nginx")
    log = folder / "proxy.log"
    path = f"{environment.get('PATH', '/usr/bin:/bin')}:/usr/sbin:/usr/local/sbin"
    server = begin("The proxy", ["sh", str(PROXY)], log, env=environment | {"PATH": path}, cwd=folder)
    wait_until(lambda: listens(port), server, log)
    return server


def make_certificate(folder: Path, names: Sequence[str]) -> None:
    """A certificate of our own making for this computer, which no browser knows; made anew before it ends."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    folder.mkdir(parents=True, exist_ok=True)
    kept, now = folder / "fullchain.pem", datetime.now(UTC)
    if kept.exists():
        old = x509.load_pem_x509_certificate(kept.read_bytes())
        if old.not_valid_after_utc > now + timedelta(days=7) and _names_in(old) == list(names):
            return
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0])])
    built = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1)).not_valid_after(now + timedelta(days=90))
        .add_extension(x509.SubjectAlternativeName([_named(one) for one in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    )  # fmt: skip
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    with open(os.open(folder / "privkey.pem", os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(private)
    kept.write_bytes(built.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))


def _named(name: str) -> Any:
    from cryptography import x509

    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _names_in(certificate: Any) -> list[str]:
    from cryptography import x509

    found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return [str(one.value) for one in found]


# --- the rest ---------------------------------------------------------------------------------------------------------


def start_mail_catcher(folder: Path, port: int, top: Path) -> Server:
    """A mail server that keeps each mail as a file and passes none on."""
    log = folder / "mail.log"
    command = [sys.executable, "-m", "tests.smtp_server", str(port), "--keep", str(folder / "mail")]
    server = begin("The mail catcher", command, log, cwd=top)
    wait_until(lambda: listens(port), server, log)
    return server


def kept_password(path: Path) -> str:
    """The password in `path`, made on the first start and readable by its owner only."""
    if not path.exists():
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(24))
    return path.read_text().strip()
