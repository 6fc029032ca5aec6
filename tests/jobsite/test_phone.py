"""What a phone needs besides pages: whose answer it is, small pictures, the worker's script, the manifest, versions."""

import gzip
import hashlib
import json
import re
import shutil
from base64 import b64decode
from io import BytesIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from django.test import override_settings
from PIL import Image

from jobsite.edge import service_id
from jobsite.ledger.files import path_of, read_file
from jobsite.ledger.photographs import small, store_photograph
from jobsite.phone import content_of, shell_files
from jobsite.versions import static_version
from tests import factories as make
from tests.factories import NOON


@pytest.fixture
def stored(db):
    """A photograph as a phone takes it, 2048 by 1536 when cleaned, with something to see in it."""
    image = Image.effect_noise((3000, 2250), 60).convert("RGB")
    out = BytesIO()
    image.save(out, "JPEG", quality=90)
    return store_photograph(out.getvalue(), now=NOON)[0]


def test_every_answer_says_whose_it_is(client, db, office) -> None:
    found = {client.get(where)["X-Service"] for where in ("/", "/accounts/login/", "/nowhere/", "/a%00b/", "/health/")}
    found.add(client.post("/my-day/")["X-Service"])
    client.force_login(office)
    found |= {client.get(where)["X-Service"] for where in ("/", "/my-day/", "/phone/here/")}
    assert found == {service_id()}


def test_the_name_of_the_installation_follows_from_its_secret_and_hides_it() -> None:
    here = service_id()
    assert here == service_id()
    assert len(here) == 24
    assert settings.SECRET_KEY not in here
    with override_settings(SECRET_KEY="another-installation-with-a-secret-of-its-own-0123456789"):
        assert service_id() != here


def test_small_pictures_are_small_upright_and_made_once(stored) -> None:
    data = small(stored)
    with Image.open(BytesIO(data)) as image:
        assert (image.format, image.size) == ("JPEG", (800, 600))
    whole = read_file(stored)
    with Image.open(BytesIO(whole)) as image:
        assert image.size == (2048, 1536)
    kept = default_storage.path(f"small/{path_of(stored.hash)}")
    written = Path(kept).stat().st_mtime_ns
    assert small(stored) == data
    assert Path(kept).stat().st_mtime_ns == written
    assert read_file(stored) == whole


def test_a_small_picture_that_was_altered_or_cut_off_is_made_again(stored) -> None:
    data = small(stored)
    kept = Path(default_storage.path(f"small/{path_of(stored.hash)}"))
    for broken in (kept.read_bytes()[:-40], b"", b"something else that is long enough to hold a digest at its end"):
        kept.write_bytes(broken)
        assert small(stored) == data
    assert list(kept.parent.iterdir()) == [kept]


def test_a_picture_smaller_than_small_does_not_grow(db) -> None:
    stored = store_photograph(make.picture(), now=NOON)[0]
    with Image.open(BytesIO(small(stored))) as image, Image.open(BytesIO(read_file(stored))) as whole:
        assert image.size == whole.size


def test_small_pictures_are_for_those_who_may_see_the_whole(client, stored, engineer) -> None:
    from inspections.models import ObservationPhoto

    seen = make.make_observation(make.make_site("Yard"))
    fields = {"width": 2048, "height": 1536, "added_by": engineer, "added_at": NOON}
    photo = ObservationPhoto.objects.create(observation=seen, file=stored, **fields)
    where = f"/photos/{photo.pk}/"
    assert client.get(f"{where}?small").status_code == 302
    client.force_login(make.make_user("Sid Lent", "engineer", subcontractor=True))
    assert client.get(f"{where}?small").status_code == 404
    client.force_login(engineer)
    answer, whole = client.get(f"{where}?small"), client.get(where)
    assert len(answer.content) < len(whole.content) / 3
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"] == whole["Cache-Control"] == "private, max-age=86400, immutable"


def test_the_worker_stands_at_the_root_and_is_asked_for_anew(client) -> None:
    answer = client.get("/worker.js")
    assert answer["Content-Type"] == "text/javascript; charset=utf-8"
    assert answer["Cache-Control"] == "no-cache"
    assert answer["Service-Worker-Allowed"] == "/"
    assert "worker-src 'self'" in answer["Content-Security-Policy"]
    facts = json.loads(answer.content.decode().partition(".begin(")[2].partition(");")[0])
    assert (facts["service"], facts["version"]) == (service_id(), settings.STATIC_VERSION)
    assert facts["pack"] == "/phone/pack/"
    assert settings.SECRET_KEY not in answer.content.decode()


def test_the_shell_names_each_file_with_the_digest_of_its_content() -> None:
    files = {one["address"].removeprefix(settings.STATIC_URL): one["digest"] for one in shell_files()}
    assert {"jobsite/shell.css", "jobsite/hold.js", "jobsite/device.js", "django_htmx/htmx-2.min.js"} <= set(files)
    for name, digest in files.items():
        assert b64decode(digest.removeprefix("sha256-")) == hashlib.sha256(content_of(name)).digest()


def test_the_shell_holds_nothing_of_customers_pages() -> None:
    """They stand behind private links in nobody's shell; a sheet of theirs there is weight that each phone carries for nothing."""
    top = Path(settings.BASE_DIR)
    pages = [
        page for root in ("jobsite", "inspections", "remedials") for page in (top / root).glob("**/templates/**/*.html")
    ]
    theirs = [text for page in pages if '{% extends "plain.html" %}' in (text := page.read_text())]
    sheets = {name for text in theirs for name in re.findall(r"\{% static '([^']+)' %\}", text)}
    assert {"quotes/customer.css", "status/portfolio.css"} <= sheets
    shell = {one["address"].removeprefix(settings.STATIC_URL) for one in shell_files()}
    assert sheets & shell == set()


def test_the_version_changes_with_any_static_file_and_with_nothing_else(tmp_path) -> None:
    top = tmp_path / "house"
    for root in ("jobsite", "inspections"):
        (top / root / "static" / root).mkdir(parents=True)
        (top / root / "static" / root / "a.js").write_text("one")
    before = static_version(top)
    (top / "jobsite" / "pages.py").write_text("no part of it")
    assert static_version(top) == before
    shutil.copytree(top, tmp_path / "elsewhere")
    assert static_version(tmp_path / "elsewhere") == before
    (top / "jobsite/static/jobsite/a.js").rename(top / "jobsite/static/jobsite/b.js")
    renamed = static_version(top)
    (top / "jobsite/static/jobsite/b.js").write_text("two")
    assert len({before, renamed, static_version(top)}) == 3


def test_static_files_answer_below_the_version(client) -> None:
    assert f"/static/{settings.STATIC_VERSION}/" == settings.STATIC_URL
    page = client.get("/accounts/login/").content.decode()
    assert f'href="/static/{settings.STATIC_VERSION}/jobsite/shell.css"' in page


def test_the_manifest_names_pages_and_icons_that_are_there(client) -> None:
    answer = client.get("/manifest.webmanifest")
    facts = json.loads(answer.content)
    assert answer["Content-Type"] == "application/manifest+json"
    assert (facts["scope"], facts["start_url"], facts["display"]) == ("/", "/my-day/", "standalone")
    sizes = set()
    for icon in facts["icons"]:
        content = content_of(icon["src"].removeprefix(settings.STATIC_URL))
        if icon["type"] == "image/png":
            with Image.open(BytesIO(content)) as image:
                assert icon["sizes"] == f"{image.width}x{image.height}"
        sizes.add(icon["sizes"])
    # W3C, Web Application Manifest, and what Chromium asks of an app that can be installed: 192 and 512 pixels (from memory)
    assert {"192x192", "512x512"} <= sizes


def test_the_page_for_what_is_not_on_the_phone_leads_back_to_the_day(client) -> None:
    page = client.get("/phone/nothing/").content.decode()
    assert "This page is not on the phone" in page
    assert 'href="/my-day/"' in page
    assert "<script" not in page


def test_the_shell_of_a_phone_is_small_over_the_wire(client) -> None:
    """Style, scripts, the worker's own among them, and icons: 100 kB compressed at most."""
    names = [one["address"].removeprefix(settings.STATIC_URL) for one in shell_files()]
    sizes = {name: len(gzip.compress(content_of(name))) for name in [*names, "jobsite/worker.js"]}
    for address in ("/worker.js", "/phone/nothing/", "/manifest.webmanifest"):
        sizes[address] = len(gzip.compress(client.get(address).content))
    assert sum(sizes.values()) <= 100_000, sorted(sizes.items(), key=lambda one: -one[1])
