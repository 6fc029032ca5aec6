"""docker-compose.yml, as far as it can be tried without an engine: it is read, and held against what the stack really runs."""

import re
import shlex
from typing import Any

import pytest
import yaml

from jobsite.stack.__main__ import BEAT, WORKER
from tests.readme import TOP

TEXT = (TOP / "docker-compose.yml").read_text()
COMPOSE = yaml.safe_load(TEXT)
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
ONCE = {"migrate"}
OURS = [name for name, service in SERVICES.items() if service.get("image") == "jobsite"]


def test_every_part_of_a_service_open_to_others_is_there() -> None:
    assert set(SERVICES) == {"proxy", "web", "worker", "beat", "migrate", "database", "redis", "mail"}


@pytest.mark.parametrize("name", SERVICES)
def test_each_is_hardened(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert name in OURS or service["user"] not in {"", "root", "0", "0:0"}, "ours name theirs in the Dockerfile"


def test_our_image_runs_as_an_ordinary_user() -> None:
    words = [line.split()[1] for line in (TOP / "Dockerfile").read_text().splitlines() if line.startswith("USER")]
    assert words == ["jobsite"]


@pytest.mark.parametrize("name", sorted(set(SERVICES) - ONCE))
def test_each_is_looked_after(name: str) -> None:
    """A health check, and it comes back after a crash."""
    service = SERVICES[name]
    assert (service["restart"], bool(service["healthcheck"]["test"])) == ("unless-stopped", True)


def test_only_the_proxy_is_reached_from_outside() -> None:
    assert {name: s["ports"] for name, s in SERVICES.items() if "ports" in s} == {"proxy": ["80:8080", "443:8443"]}
    assert COMPOSE["networks"]["data"] == {"internal": True}
    assert {name for name, s in SERVICES.items() if s["networks"] == ["data"]} == {"database", "redis"}


def test_they_run_what_the_stack_runs() -> None:
    forget = "sh -c 'python -m jobsite.web --forget; exec {}'"
    assert SERVICES["worker"]["command"] == forget.format(WORKER.format(name="worker"))
    assert SERVICES["beat"]["command"] == forget.format(BEAT.format(memory="/run/beat"))
    assert SERVICES["web"]["command"] == "python -m jobsite.web"
    assert SERVICES["proxy"]["entrypoint"][1] == "/srv/proxy/run.sh"
    assert 'redis-server --save "" --appendonly no --requirepass' in SERVICES["redis"]["command"]
    assert all("\n" not in shlex.join(shlex.split(s["command"])) for s in SERVICES.values() if "command" in s)


def test_the_database_sorts_as_the_embedded_one_does() -> None:
    made = (TOP / "jobsite" / "stack" / "servers.py").read_text() + (TOP / "jobsite" / "embedded.py").read_text()
    for option in SERVICES["database"]["environment"]["POSTGRES_INITDB_ARGS"].split():
        assert made.count(f'"{option}"') == 2, option


@pytest.mark.parametrize("name", ["proxy", *OURS])
def test_every_variable_is_read_by_somebody(name: str) -> None:
    """A misspelt one would be passed over in silence."""
    readers = ["jobsite/settings.py", "jobsite/web.py", "jobsite/stack/proxy/run.sh", "jobsite/running/sealed.py"]
    code = "\n".join((TOP / file).read_text() for file in readers)
    foreign = {"REMAP_SIGTERM", "TMPDIR"}  # celery's, Python's
    unread = [v for v in SERVICES[name].get("environment", {}) if v not in foreign and not re.search(rf"\b{v}\b", code)]
    assert unread == []


def test_its_head_names_every_variable_that_it_asks_for() -> None:
    head = TEXT.partition("x-hardened")[0]
    assert [name for name in re.findall(r"\$\{(\w+)", TEXT) if name not in head] == []


@pytest.mark.parametrize("name", SERVICES)
def test_every_volume_is_one_of_its_own_or_a_folder_beside_it(name: str) -> None:
    for volume in SERVICES[name].get("volumes", []):
        source = volume.split(":")[0]
        assert source in COMPOSE["volumes"] or source.startswith("./"), volume


def test_redis_answers_nobody_without_the_password() -> None:
    services = yaml.safe_load((TOP / "docker-compose.yml").read_text())["services"]
    assert services["web"]["environment"]["REDIS_URL"].startswith("redis://:${REDIS_PASSWORD:?")
    assert '--requirepass "$$REDISCLI_AUTH"' in str(services["redis"]["command"])
    assert services["redis"]["environment"] == {"REDISCLI_AUTH": "${REDIS_PASSWORD:?set it in .env}"}


def test_one_clockwork_only() -> None:
    assert "deploy" not in SERVICES["beat"]
    assert "--scale beat" not in TEXT
