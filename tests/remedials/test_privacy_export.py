"""Whoever took a site over is handed their own data: nothing of whoever had it before, nor of people who live there."""

import io
import json
import zipfile
from datetime import date, timedelta

import pytest

from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.ledger.models import Document
from jobsite.premises.operations import hand_over_site
from remedials.status.privacy.operations.exporting import export_of
from remedials.visits.models import Attempt, Confirmation, OccupierNote
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
FORMER, TENANT, NEW = "Xaverine Oldfield", "Tina Tenantry", "Yorick Newhouse"
OTHERS = (
    "oldfield", "12 former lane", "tenantry", "960333", "ventilator", "third stone", "newhouseman", "the former one",
)  # fmt: skip


@pytest.fixture
def former():
    return make.make_party(
        FORMER, email="x.oldfield@example.com", phone="01632 960222", address="12 Former Lane\nOldton"
    )


@pytest.fixture
def new():
    return make.make_party(NEW, email="yorick@example.com", phone="01632 960444")


@pytest.fixture
def site(former, new, office, engineer):
    """A house that went from `former` to `new` at NOON, with what happened there before and after, by name."""
    site = make.make_site("The Gatehouse", customer=former, access_notes=f"key under the third stone, or ask {TENANT}")
    unit = make.unit_of(site)
    visit = make.make_visit(site, engineers=[engineer], start=NOON - 9 * DAY)
    for whom, words, at in (
        (FORMER, "the former one agrees", NOON - 9 * DAY), (TENANT, "my baby sleeps at noon", NOON + HOUR),
        (NEW, "Monday suits me", NOON + HOUR),
    ):  # fmt: skip
        usual = {"site": site, "how": "phone", "by": office, "recorded_at": at, "at": at}
        Attempt.objects.create(whom=whom, said=f"said: {words}", reply=words, replied_on=TODAY, **usual)
        Confirmation.objects.create(
            visit=visit, answered="confirmed", how="phone", whom=whom, words=words, start=visit.start, at=at,
            recorded_by=office,
        )  # fmt: skip
    OccupierNote.objects.create(
        site=site, unit=unit, contact=f"{NEW}man, {TENANT}", phone="01632 960333", mind="ventilator"
    )
    make.make_leaving(
        site, by=office, to_name=FORMER, to_address="12 Former Lane", taken_back_at=NOON - DAY, letter=kept("the letter"),
    )  # fmt: skip
    document(site, "status", "before the handing over: the former one", NOON - DAY)
    document(site, "no-access", "of the former one", NOON + HOUR, party=former.pk)
    document(site, "assessor", "of everybody: the former one", NOON + HOUR)
    document(site, "status", "since then", NOON + HOUR)
    document(site, "no-access", "for the new one", NOON + HOUR, party=new.pk)
    hand_over_site(site, to=new, on=TODAY, reason=f"{FORMER} sold it", version=site.version, by=office, now=NOON)
    site.refresh_from_db()
    return site


def kept(text: str):
    return store_file(text.encode(), media_type="application/pdf", now=NOON)


def document(site, kind: str, text: str, at, **fields) -> None:
    Document.objects.create(
        id=new_id(), kind=kind, title=kind, name=f"{kind}.pdf", site=site.pk, file=kept(text), actor_kind="person",
        actor=new_id(), made_at=at, **fields,
    )  # fmt: skip


def handed_to(party) -> tuple[dict, str, list[str]]:
    """The data, all words of the archive but those that say what is left out, and what its files hold."""
    with export_of(party, page="p", now=NOON + DAY) as file, zipfile.ZipFile(io.BytesIO(file.read())) as archive:
        words = {name: archive.read(name).decode() for name in archive.namelist()}
    return (
        json.loads(words["data.json"]), " ".join([*words, *words.values()]).lower(),
        sorted(text for name, text in words.items() if name.startswith("files/")),
    )  # fmt: skip


def test_whoever_took_a_site_over_reads_nothing_of_who_had_it_nor_of_who_lives_there(site, new, office) -> None:
    data, words, files = handed_to(new)
    assert [needle for needle in OTHERS if needle in words] == []
    assert "my baby" not in words
    assert files == ["for the new one", "since then"]
    # That somebody tried to get in at their site since then is theirs to know; what was said, only where it was with them.
    first, second = data["attempts_to_get_in"]
    assert sorted([len(first), len(second)]) == [4, 7]
    assert [row["reply"] for row in (first, second) if "reply" in row] == ["Monday suits me"]
    assert [row["words"] for row in data["answers_about_visits"]] == ["Monday suits me"]
    assert data["sites"] == [
        {"number": site.number, "name": "The Gatehouse", "address": site.one_line, "access_notes": ""}
    ]
    assert (data["whom_to_ask_to_be_let_in"], data["closing_letters"]) == ([], [])


def test_whoever_had_it_still_reads_what_was_theirs(site, former) -> None:
    data, words, files = handed_to(former)
    assert files == ["of the former one", "the letter"]
    assert [row["reply"] for row in data["attempts_to_get_in"]] == ["the former one agrees"]
    assert [row["words"] for row in data["answers_about_visits"]] == ["the former one agrees"]
    assert [row["address"] for row in data["closing_letters"]] == ["12 Former Lane"]
    assert [row["until"] for row in data["handed_over"]] == [(TODAY - DAY).isoformat()]
    for needle in ("tenantry", "ventilator", "newhouse", "yorick", "monday suits"):
        assert needle not in words


def test_a_landlord_reads_that_somebody_tried_and_a_tenant_what_was_said_with_them(site, new, office) -> None:
    tenant = make.make_party(TENANT, email="tina@example.com", phone="01632 960555")
    unit = make.unit_of(site)
    unit.parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    landlord = make.make_party("Lara Landlady", email="lara@example.com", phone="01632 960666")
    unit.parties.create(party=landlord, role="owner", since=date(2020, 1, 1))
    Attempt.objects.create(
        site=site, unit=unit, how="visit", at=NOON + HOUR, whom=TENANT, said="I am ill", by=office, recorded_at=NOON
    )
    data, words, _ = handed_to(landlord)
    (tried,) = data["attempts_to_get_in"]
    assert sorted(tried) == ["at", "by", "got_in", "how"]
    assert "i am ill" not in words
    assert "tenantry" not in words
    data, words, _ = handed_to(tenant)
    assert [row["said"] for row in data["attempts_to_get_in"]] == ["said: my baby sleeps at noon", "I am ill"]
    assert "oldfield" not in words
    assert "monday suits" not in words
