"""Ids, lines of JSON, numbers and slow statements: what the service tells of itself, and to whom."""

import json
import logging
import os
import subprocess
import sys

import pytest
import yaml
from django.db import InterfaceError, OperationalError, connection
from django.urls import reverse
from prometheus_client.parser import text_string_to_metric_families

from jobsite.firm.operations import beat
from jobsite.logs import DOING, JsonLines
from jobsite.messages.models import Message
from jobsite.running.measures import count_task
from jobsite.running.models import SlowStatement
from jobsite.running.operations import FORGOTTEN_AFTER, note_slow_statement, without_values
from jobsite.running.watching import HEADER, Slow, WatchedTask, tell_of_slow
from jobsite.web import main, metrics_part
from tests.factories import NOON, make_link, make_site
from tests.readme import TOP

pytestmark = pytest.mark.django_db
TOKEN = "m3tr1cs-0f-the-quiet-works-9x"


def lines(caplog) -> list[dict]:
    return [json.loads(JsonLines().format(record)) for record in caplog.records]


# --- one id a request -------------------------------------------------------------------------------------------------


def test_every_answer_names_its_request_and_the_log_the_same(client, caplog, settings):
    caplog.set_level(logging.INFO, "jobsite.requests")
    where = ("/accounts/login/", "/nowhere/", "/health/", "/a%00b/", f"{settings.STATIC_URL}no.css")
    names = [client.get(address)[HEADER] for address in where]
    assert len(set(names)) == 5
    told = [line for line in lines(caplog) if line["logger"] == "jobsite.requests"]
    assert [(line["route"], line["status"]) for line in told] == [
        ("accounts/login/", 200), ("none", 404), ("health/", 503), ("none", 400), ("static", 404),
    ]  # fmt: skip


def test_lines_within_a_request_bear_its_id(client, caplog, site, monkeypatch):
    """A table that is not there stands in for whatever may break below the page."""
    _, token = make_link(site)
    client.get(f"/s/{token}/")  # Django keeps the columns' names with the table's: let it do so before that changes
    client.raise_request_exception = False
    seen = []
    handler = logging.Handler()
    handler.emit = lambda record: seen.append(json.loads(JsonLines().format(record)))
    logging.getLogger("django.request").addHandler(handler)
    monkeypatch.setattr("jobsite.firm.models.Firm._meta.db_table", "not_there")
    try:
        answer = client.get(f"/s/{token}/")
    finally:
        logging.getLogger("django.request").removeHandler(handler)
    (line,) = seen
    assert line["request"] == answer[HEADER]
    assert line["level"] == "error"
    assert "not_there" in line["traceback"]
    assert token not in json.dumps(line)


@pytest.mark.parametrize(
    ("proxies", "given", "taken"),
    [
        (1, "0a1b2c3d4e5f60718293a4b5c6d7e8f9", True),
        (1, "0A1B2C3D-4e5f-6071-8293-a4b5c6d7e8f9", True),
        (0, "0a1b2c3d4e5f60718293a4b5c6d7e8f9", False),
        (1, "0a1b2c3d4e5f-60718293a4b5c6d7e8f9", False),
        (1, "words-of-a-stranger", False),
        (1, "short", False),
        (1, 'x" onload=1 aaaaaaaa', False),
        (1, "a" * 65, False),
    ],
)
def test_only_a_proxy_of_ours_names_requests(client, settings, proxies, given, taken):
    settings.TRUSTED_PROXIES = proxies
    assert (client.get("/health/", headers={HEADER: given})[HEADER] == given) is taken


def test_the_line_of_a_request_holds_neither_token_nor_key_nor_address(client, caplog, site, office):
    caplog.set_level(logging.INFO, "jobsite.requests")
    _, token = make_link(site)
    client.get(f"/s/{token}/?q=secret")
    client.force_login(office)
    client.get(reverse("desk:site", args=[site.pk]))
    text = caplog.text + json.dumps(lines(caplog))
    assert token not in text
    assert "secret" not in text
    assert str(site.pk) not in text
    assert "127.0.0.1" not in text
    first, last = (line for line in lines(caplog) if line["logger"] == "jobsite.requests")
    assert first["route"] == "s/<str:token>/"
    assert "person" not in first
    assert last["person"] == str(office.pk)
    assert last["statements"] > 1


# --- lines of JSON ----------------------------------------------------------------------------------------------------


def test_a_line_is_one_line_of_json_without_tokens_whatever_it_holds():
    try:
        raise ValueError('no page at /s/q1W-e2_R3"/\nnext')
    except ValueError:
        raised = sys.exc_info()
    record = logging.LogRecord("a", 40, "f", 1, 'two\nlines "%s"', ("/q/abcdef\\",), raised)
    record.facts = {"where": "/v/abcdef", "ms": 3, "nothing": None}
    text = JsonLines().format(record)
    assert "\n" not in text
    line = json.loads(text)
    assert (line["message"], line["where"], line["ms"], line["nothing"]) == ('two\nlines "/q/…"', "/v/…", 3, None)
    assert "/s/…" in line["traceback"]
    assert line["at"].endswith("+00:00")


def test_settings_write_json_where_the_service_is_open_to_others(settings):
    assert settings.LOGGING["handlers"]["stderr"]["formatter"] == "plain"
    assert settings.LOGGING["formatters"]["json"] == {"()": "jobsite.logs.JsonLines"}


# --- ready ------------------------------------------------------------------------------------------------------------


def test_ready_while_database_cache_and_tables_are_there(client):
    answer = client.get("/ready/")
    assert answer.status_code == 200
    assert answer.json() == {"database": "up", "migrations": "done", "cache": "up"}
    assert answer["Cache-Control"] == "no-store"


def test_not_ready_before_every_migration_has_run(client):
    from jobsite.running.views import _all_done

    _all_done.cache_clear()
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'running'")
    answer = client.get("/ready/")
    assert (answer.status_code, answer.json()["migrations"]) == (503, "to run")


def test_ready_says_nothing_of_the_clockwork(client):
    assert client.get("/health/").status_code == 503
    assert client.get("/ready/").status_code == 200


# --- numbers ----------------------------------------------------------------------------------------------------------


def numbers(answer) -> dict[tuple, float]:
    """Read by the library's own parser of the text format."""
    families = text_string_to_metric_families(answer.content.decode())
    return {(s.name, *sorted(s.labels.items())): s.value for family in families for s in family.samples}


def test_numbers_of_requests_messages_and_ages(client, site):
    key = ("jobsite_requests_total", ("method", "GET"), ("route", "accounts/login/"), ("status", "200"))
    before = numbers(client.get("/metrics/")).get(key, 0)
    client.get("/accounts/login/")
    client.generic("BREW", "/accounts/login/")
    Message.objects.create(
        occasion="late", to_kind="staff", to_id=site.pk, address="a@example.com", subject="s", body="b",
        written_at=NOON, next_try_at=NOON,
    )  # fmt: skip
    beat("sweep", now=NOON)
    answer = client.get("/metrics/")
    assert answer["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    found = numbers(answer)
    assert found[key] == before + 1
    count = ("jobsite_request_seconds_count", ("method", "GET"), ("route", "accounts/login/"))
    assert found[count] >= 1
    assert found[("jobsite_messages", ("state", "waiting"))] == 1
    assert found[("jobsite_messages", ("state", "unknown"))] == 0
    assert found[("jobsite_oldest_message_seconds",)] > 0
    assert found[("jobsite_heartbeat_age_seconds", ("part", "sweep"))] > 0
    assert not [labels for labels in found if ("method", "BREW") in labels]
    assert [labels for labels in found if ("method", "other") in labels]


def test_numbers_cost_the_same_however_many_there_are(client, django_assert_num_queries, site):
    with django_assert_num_queries(4):
        client.get("/metrics/")
    for number in range(5):
        beat(f"part {number}", now=NOON)
    with django_assert_num_queries(4):
        client.get("/metrics/")


@pytest.mark.parametrize(
    ("token", "proxies", "headers", "address", "status"),
    [
        ("", 0, {}, "127.0.0.1", 200),
        ("", 0, {}, "192.0.2.7", 403),
        ("", 0, {"X-Forwarded-For": "127.0.0.1"}, "127.0.0.1", 403),
        ("", 1, {}, "127.0.0.1", 403),
        (TOKEN, 1, {"Authorization": f"Bearer {TOKEN}"}, "192.0.2.7", 200),
        (TOKEN, 1, {"Authorization": f"bearer {TOKEN}"}, "192.0.2.7", 200),
        (TOKEN, 0, {}, "127.0.0.1", 403),
        (TOKEN, 0, {"Authorization": "Bearer "}, "127.0.0.1", 403),
        (TOKEN, 0, {"Authorization": f"Basic {TOKEN}"}, "127.0.0.1", 403),
        (TOKEN, 0, {"Authorization": f"Bearer {TOKEN}x"}, "127.0.0.1", 403),
        (TOKEN, 0, {"Authorization": "Bearer é"}, "127.0.0.1", 403),
    ],
)
def test_numbers_are_for_the_token_or_for_this_machine(client, settings, token, proxies, headers, address, status):
    settings.METRICS_TOKEN, settings.TRUSTED_PROXIES = token, proxies
    answer = client.get("/metrics/", headers=headers, REMOTE_ADDR=address)
    assert answer.status_code == status
    assert ("jobsite_messages" in answer.text) is (status == 200)


# --- slow statements --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sql", "words"),
    [
        ("SELECT a\n  FROM b WHERE c = %s", "SELECT a FROM b WHERE c = %s"),
        ("SELECT 'Mrs O''Hara' FROM b", "SELECT '…' FROM b"),
        ("… IN (%s, %s, %s)", "… IN (%s, …)"),
        ("… IN (%s)", "… IN (%s)"),
        ("x" * 9000, "x" * 4000),
    ],
)
def test_without_values(sql, words):
    assert without_values(sql) == words


def test_slow_statements_of_a_page_are_kept_without_values(client, settings, office, monkeypatch):
    site = make_site("Secret Lodge")
    client.force_login(office)
    settings.SLOW_STATEMENT_MS = 0
    client.get(reverse("desk:site", args=[site.pk]))
    rows = list(SlowStatement.objects.all())
    assert {row.place for row in rows} == {"sites/<uuid:pk>/"}
    assert len(rows) > 3
    text = " ".join(row.words for row in rows)
    assert "Secret Lodge" not in text
    assert str(site.pk) not in text
    assert str(site.pk).replace("-", "") not in text
    client.get(reverse("desk:site", args=[site.pk]))
    assert {row.times for row in SlowStatement.objects.all()} >= {2}


@pytest.mark.parametrize("lost", [OperationalError, InterfaceError])
def test_a_connection_that_was_lost_by_then_costs_no_answer(caplog, lost):
    """InterfaceError, as the driver has it for a connection that is closed, is no DatabaseError."""

    def gone(*_: object) -> None:
        raise lost("the connection is closed")

    with connection.execute_wrapper(gone):
        tell_of_slow(Slow(found=[("SELECT 1", 900.0)]), "somewhere")
    assert "A slow statement of somewhere (900 ms) was not noted." in caplog.text
    assert not SlowStatement.objects.exists()


def test_what_was_not_slow_for_long_is_forgotten():
    for number in range(2):
        note_slow_statement("SELECT 1", place="a", milliseconds=700 + number * 200, now=NOON)
    (row,) = SlowStatement.objects.all()
    assert (row.times, row.total_ms, row.worst_ms) == (2, 1600, 900)
    note_slow_statement("SELECT 2", place="a", milliseconds=700, now=NOON + FORGOTTEN_AFTER * 2)
    assert [row.words for row in SlowStatement.objects.all()] == ["SELECT 2"]


def test_managers_read_them(client, manager, office):
    address = reverse("running:service")
    client.force_login(office)
    assert client.get(address).status_code == 403
    client.force_login(manager)
    empty = client.get(address).text
    assert "None was slow." in empty
    assert "No backup was ever made" in empty
    note_slow_statement("SELECT <b> FROM boards", place="boards/<uuid:pk>/", milliseconds=1234.5, now=NOON)
    text = client.get(address).text
    assert "SELECT &lt;b&gt; FROM boards" in text
    assert "1,234 ms" in text
    assert address in client.get(reverse("people:firm")).text


@pytest.mark.parametrize("rows", [1, 40])
def test_the_page_costs_the_same(client, manager, django_assert_num_queries, rows):
    for number in range(rows):
        note_slow_statement(f"SELECT {number}", place="a", milliseconds=700, now=NOON)
    client.force_login(manager)
    with django_assert_num_queries(5):
        client.get(reverse("running:service"))


# --- tasks ------------------------------------------------------------------------------------------------------------


def test_tasks_are_measured_and_their_lines_bear_their_id(client, settings):
    from jobsite.celery import app

    @app.task(name="tests.quiet", base=WatchedTask)
    def quiet():
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        return dict(DOING.get())

    settings.SLOW_STATEMENT_MS = 0
    doing = quiet.apply(task_id="id-of-it").result
    assert doing == {"task": "id-of-it", "name": "tests.quiet"}
    assert DOING.get() == {}
    assert list(SlowStatement.objects.values_list("place", "words")) == [("tests.quiet", "SELECT 1")]
    found = numbers(client.get("/metrics/"))
    assert found[("jobsite_tasks_total", ("outcome", "done"), ("task", "tests.quiet"))] == 1


def test_numbers_of_a_worker_in_another_container_are_told_too(client, settings):
    """There it has process numbers of its own, and may well have ours."""
    code = (
        "import django; django.setup(); from jobsite.running.measures import count_task; "
        "count_task(task='tests.elsewhere', outcome='done', seconds=1)"
    )
    of_a_service = {
        "DJANGO_SETTINGS_MODULE": "jobsite.settings", "JOBSITE_VAR": str(settings.VAR), "METRICS_PART": "worker",
        "DATABASE_URL": "postgres://nobody@localhost/none", "SECRET_KEY": TOKEN * 3, "ALLOWED_HOSTS": "localhost",
        "EMAIL_URL": "smtp://localhost",
    }  # fmt: skip
    subprocess.run([sys.executable, "-c", code], env={**os.environ, **of_a_service}, cwd=TOP, check=True, timeout=60)
    [counted] = settings.METRICS_FOLDER.glob("worker-*/counter_*.db")
    counted.rename(counted.with_name(f"counter_{os.getpid()}.db"))
    count_task(task="tests.here", outcome="done", seconds=1)
    found = numbers(client.get("/metrics/"))
    for name in ("tests.elsewhere", "tests.here"):
        assert found[("jobsite_tasks_total", ("outcome", "done"), ("task", name))] == 1


def test_each_service_writes_its_numbers_into_a_part_of_the_folder_that_all_share():
    said = yaml.safe_load((TOP / "docker-compose.yml").read_text())
    ours = {name: facts for name, facts in said["services"].items() if "build" in facts}
    assert set(ours) == {"migrate", "web", "worker", "beat", "mail"}
    del ours["mail"]  # it counts nothing
    for name, facts in ours.items():
        assert facts["environment"]["METRICS_PART"] == name
        assert "metrics:/srv/jobsite/var/metrics" in facts["volumes"]
    assert "metrics" in said["volumes"]
    assert [name for name, facts in ours.items() if "jobsite.web --forget" in facts["command"]] == ["worker", "beat"]


def test_a_service_that_starts_forgets_its_own_numbers_and_those_of_containers_that_are_gone(tmp_path, monkeypatch):
    monkeypatch.setenv("JOBSITE_VAR", str(tmp_path))
    monkeypatch.setenv("METRICS_PART", "worker")
    files = {}
    for part in (metrics_part(), "worker-other", "worker-gone"):
        files[part] = tmp_path / "metrics" / part / "counter_7.db"
        files[part].parent.mkdir(parents=True)
        files[part].write_bytes(b"1")
    os.utime(files["worker-gone"], (0, 0))
    assert main(["--forget"]) == 0
    assert [part for part, file in files.items() if file.exists()] == ["worker-other"]


def test_every_task_of_ours_is_watched():
    from jobsite.celery import app

    app.loader.import_default_modules()
    ours = {name: task for name, task in app.tasks.items() if not name.startswith(("celery.", "tests."))}
    assert ours
    assert all(isinstance(task, WatchedTask) for task in ours.values())
