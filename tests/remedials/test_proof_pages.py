"""Documents behind a customer's link and at the office: what is listed, handed out, refused."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import DangerNotice, MadeSafe, Observation
from inspections.operations import answer_notice, give_danger_notice
from inspections.queries.notices import notice_document
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Document, Entry
from jobsite.premises.models import Party, PartyAtUnit, Site
from jobsite.premises.operations import hand_over_site
from remedials.status.facts import scope_at
from remedials.status.notices import notices_in
from remedials.status.proof.one_maker import KEY
from remedials.status.proof.queries import documents_for
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_link,
    make_observation,
    make_party,
    make_portfolio_link,
    make_site,
    make_unit,
    make_user,
    unit_of,
)
from tests.remedials.proven import text_of, whole_site

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


def test_a_site_lists_what_there_is_to_be_had():
    site = whole_site()
    lines = documents_for(scope_at(site.pk))
    assert [(line.title, line.made, line.address) for line in lines] == [
        ("How it stands", "", "documents/status/"),
        ("Schedule of outstanding works", "", "documents/outstanding/"),
        ("Completion record", "", "documents/completion/"),
        ("Danger notice 31", "", "documents/danger-notice-31/"),
    ]


def test_a_house_where_nothing_was_done_has_no_completion_record(site):
    assert [line.title for line in documents_for(scope_at(site.pk))] == [
        "How it stands", "Schedule of outstanding works"
    ]  # fmt: skip


def test_a_link_hands_out_each_of_them_to_keep(client):
    site = whole_site()
    link, token = make_link(site)
    for line in documents_for(scope_at(site.pk)):
        response = client.get(f"/s/{token}/{line.address}")
        assert response.status_code == 200, line
        assert response["Content-Type"] == "application/pdf"
        assert response["Content-Disposition"].startswith("attachment; filename=")
        assert response["Cache-Control"] == "no-store"
        assert response["Referrer-Policy"] == "no-referrer"
        assert "noindex" in response["X-Robots-Tag"]
        assert response.cookies == {}
        assert client.get(f"/s/{token}/{line.address}").content == response.content
    assert Document.objects.count() == 4
    assert set(Document.objects.values_list("actor_kind", "actor")) == {("link", link.pk)}
    assert [line.made for line in documents_for(scope_at(site.pk))] == ["3 Feb 2026, 12:00"] * 4


def test_listing_takes_three_statements():
    site = whole_site()
    scope = scope_at(site.pk)
    with CaptureQueriesContext(connection) as told:
        documents_for(scope)
    assert len(told) == 3


def test_a_mail_scanners_head_makes_nothing(client):
    _, token = make_link(whole_site())
    response = client.head(f"/s/{token}/documents/completion/")
    assert (response.status_code, response.content) == (200, b"")
    assert not Document.objects.exists()
    assert not Entry.objects.filter(verb="document.made").exists()


@pytest.mark.parametrize("which", ["invoice", "danger-notice-32", "danger-notice-", "year"])
def test_what_there_is_not_opens_like_a_wrong_link(client, which):
    _, token = make_link(whole_site())
    response = client.get(f"/s/{token}/documents/{which}/")
    assert response.status_code == 404
    assert "This link does not open" in response.content.decode()


def test_what_was_not_done_yet_is_said_in_one_plain_page(client, site):
    _, token = make_link(site)
    response = client.get(f"/s/{token}/documents/completion/")
    assert response.status_code == 404
    assert "Nothing is recorded as put right here yet" in response.content.decode()
    assert "01632 960123" in response.content.decode()


def test_a_wrong_link_opens_none(client):
    whole_site()
    response = client.get("/s/" + "A" * 43 + "/documents/status/")
    assert response.status_code == 404
    assert "This link does not open" in response.content.decode()


def test_a_units_link_gives_no_notice_about_anothers(client):
    site = whole_site()
    flat = make_unit(site, "Flat 1")
    make_observation(site, "Mine", unit=flat)
    _, token = make_link(site, unit=flat)
    assert client.get(f"/s/{token}/documents/danger-notice-31/").status_code == 404
    said = text_of(client.get(f"/s/{token}/documents/status/").content)
    assert "Flat 1, Heron Wharf" in said
    assert "Mine" in said
    for word in ("Socket", "Bare", "Blank", "gas pipe"):
        assert word not in said


@pytest.mark.django_db(transaction=True)
def test_while_others_are_made_it_says_to_come_again(client, monkeypatch):
    """Another session of the database holds the maker's lock, as another process would."""
    from django.db import connections

    monkeypatch.setattr("remedials.status.proof.one_maker.TRIES", 2)
    Firm.objects.get_or_create(name="Sample Sparks", phone="01632 960123")
    _, token = make_link(whole_site())
    other = connections.create_connection("default")
    try:
        with other.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [KEY])
        response = client.get(f"/s/{token}/documents/status/")
        assert response.status_code == 503
        assert response["Retry-After"] == "30"
        assert "Other documents are being made just now." in response.content.decode()
    finally:
        other.close()
    assert client.get(f"/s/{token}/documents/status/").status_code == 200


def test_a_notice_that_is_kept_waits_for_nobody_and_is_not_set_again(client, monkeypatch):
    """200 phones open it after an e-mail: only the first has it made."""
    from django.db import connections

    from jobsite import documents

    monkeypatch.setattr("remedials.status.proof.one_maker.TRIES", 1)
    _, token = make_link(whole_site())
    where = f"/s/{token}/documents/danger-notice-31/"
    first = client.get(where)
    monkeypatch.setattr(documents, "SECONDS", 0.001)  # whatever is set now is given up
    other = connections.create_connection("default")
    try:
        with other.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [KEY])
        second = client.get(where)
    finally:
        other.close()
    assert (second.status_code, second.content) == (200, first.content)


def test_a_notice_that_was_answered_since_is_set_anew(client):
    _, token = make_link(whole_site())
    where = f"/s/{token}/documents/danger-notice-31/"
    first = client.get(where)
    answer_notice(
        DangerNotice.objects.get(), answer="refused", answered_by="Petra", by=make_user("Olive", "office"), now=NOON
    )
    said = text_of(client.get(where).content)
    assert "Refused, 3 Feb 2026, 12:00" in said
    assert "Petra" not in said
    assert "Refused," not in text_of(first.content)


def test_the_office_has_them_too(client):
    site = whole_site()
    client.force_login(make_user("Olive Deskworth", "office"))
    body = client.get(f"/sites/{site.pk}/proof/").content.decode()
    assert f'href="/sites/{site.pk}/proof/documents/completion/"' in body
    assert "Made when you open it." in body
    response = client.get(f"/sites/{site.pk}/proof/documents/completion/")
    assert response.content == read_file(Document.objects.get().file)
    assert "Last made 3 Feb 2026, 12:00" in client.get(f"/sites/{site.pk}/proof/").content.decode()
    refused = client.get(f"/sites/{site.pk}/proof/documents/invoice/")
    assert (refused.status_code, "There is no such document." in refused.content.decode()) == (422, True)


def test_the_office_has_those_of_a_unit(client):
    site = whole_site()
    flat = make_unit(site, "Flat 1")
    client.force_login(make_user("Olive Deskworth", "office"))
    assert f'href="?unit={flat.pk}"' in client.get(f"/sites/{site.pk}/proof/").content.decode()
    body = client.get(f"/sites/{site.pk}/proof/?unit={flat.pk}").content.decode()
    assert f"documents/outstanding/?unit={flat.pk}" in body
    said = text_of(client.get(f"/sites/{site.pk}/proof/documents/outstanding/?unit={flat.pk}").content)
    assert "Flat 1, Heron Wharf" in said
    assert client.get(f"/sites/{site.pk}/proof/documents/outstanding/?unit=x").status_code == 404


def test_a_notice_at_the_office_is_the_same_file_and_kept_and_a_customers_copy_another(client):
    site = whole_site()
    notice = site.danger_notices.get()
    client.force_login(make_user("Olive Deskworth", "office"))
    first = client.get(f"/notices/{notice.pk}/document/").content
    assert client.get(f"/notices/{notice.pk}/document/").content == first
    assert read_file(Document.objects.get().file) == first
    assert Entry.objects.get(verb="document.made").facts["kind"] == "danger-notice"
    copy = client.get(f"/sites/{site.pk}/proof/documents/danger-notice-31/").content
    assert client.get(f"/s/{make_link(site)[1]}/documents/danger-notice-31/").content == copy
    assert Entry.objects.get(verb="document.made", facts__kind="danger-notice-copy")
    lines = {line.title: line.made for line in documents_for(scope_at(site.pk))}
    assert lines["Danger notice 31"] == "3 Feb 2026, 12:00"


def test_whoever_has_the_link_reads_in_a_notice_no_name_of_others_no_lock_and_no_key(client):
    """JOB.md: nothing of access on a customer's page; point 7: no access notes. The paper itself has them, for whom it is."""
    site, by = whole_site(), make_user("Dirk Wirepull", "engineer")
    item = make_observation(site, "Live parts at the hoist", code="C1", made_safe=True)
    MadeSafe.objects.create(
        observation=item, how="locked", what="isolator of the hoist", agreed_with="Ansel Reach", lock="14",
        key_holder="Dirk Wirepull", at=NOON, by=by, look_again_on=TODAY,
    )  # fmt: skip
    notice = give_danger_notice(
        [item], id=new_id(), why="Anybody can touch them.", advised="Do not use the hoist.",
        given_to="Ansel Reach, harbour master", how="hand", by=by, now=NOON,
    )  # fmt: skip
    answer_notice(notice, answer="refused", answered_by="Ansel Reach", answer_note="Ansel says no", by=by, now=NOON)
    where = f"/s/{make_link(site)[1]}/documents/danger-notice-{notice.number}/"
    said, whole = text_of(client.get(where).content), text_of(notice_document(notice).pdf)
    for words in ("Ansel", "harbour master", "lock 14", "key held", "isolator of the hoist"):
        assert words in whole
        assert words not in said
    for words in ("Live parts at the hoist", "Anybody can touch them.", "Do not use the hoist.", "By Dirk, Sample Sparks",
                  "Made safe for now. Isolated and locked.", "Refused, 3 Feb 2026, 12:00", "A copy without the names"):  # fmt: skip
        assert words in said


# --- danger notices of whom the site was -------------------------------------------------------------------------------


def notice_at(site, number: int, to: str, *, days: int = 0, unit=None):
    """A danger notice to `to`, given `days` after noon."""
    notice = DangerNotice.objects.create(
        number=number, site=site, why="bare", advised="keep away", given_to=to, how="hand",
        given_at=NOON + timedelta(days=days), given_by=anybody(),
    )  # fmt: skip
    notice.observations.add(make_observation(site, f"Bare conductor {number}", code="C1", unit=unit))
    return notice


def notices_for(client, address: str) -> list[int]:
    """The numbers of the danger notices that a page offers, and that open below it; all others must not open."""
    page = client.get(address).content.decode()
    offered = [n for n in range(1, 9) if f"documents/danger-notice-{n}/" in page]
    for number in range(1, 9):
        opened = client.get(f"{address}documents/danger-notice-{number}/").status_code
        assert opened == (200 if number in offered else 404), number
    return offered


@pytest.fixture
def handed_over():
    """A house that Xavier handed over to Yvonne on day 10, recorded on day 12, where Tess is the tenant all the while."""
    site = make_site("Kiln Cottage", customer=make_party("Xavier Former"))
    tess, yvonne = make_party("Tess Tenant"), make_party("Yvonne New")
    PartyAtUnit.objects.create(unit=unit_of(site), party=tess, role="occupier", since=TODAY)
    notice_at(site, 1, "Xavier Former")
    notice_at(site, 2, "Tess Tenant, flat", days=1)
    notice_at(site, 3, "Xavier Former", days=11)
    notice_at(site, 4, "Yvonne New (owner)", days=11)
    hand_over_site(
        site, to=yvonne, on=TODAY + timedelta(days=10), reason="Sold", version=1, by=make_user("Olive", "office"),
        now=NOON + timedelta(days=12),
    )  # fmt: skip
    notice_at(site, 5, "Yvonne New", days=13)
    return site


def test_of_a_site_handed_over_the_new_customer_gets_no_notice_given_to_the_former_one(client, handed_over):
    yvonne = Party.objects.get(name="Yvonne New")
    for named in ({"party": yvonne.pk}, {}):
        _, token = make_link(handed_over, **named)
        assert notices_for(client, f"/s/{token}/") == [4, 5]
    _, token = make_portfolio_link(yvonne)
    assert notices_for(client, f"/p/{token}/units/{unit_of(handed_over).pk}/") == [4, 5]
    client.force_login(make_user("Della", "office"))
    listed = client.get(f"/sites/{handed_over.pk}/proof/").content.decode()
    assert "Danger notice 5" in listed
    assert "Danger notice 1" not in listed


def test_who_was_there_before_and_after_keeps_the_notice_that_was_given_to_them(client, handed_over):
    _, token = make_link(handed_over, party=Party.objects.get(name="Tess Tenant").pk)
    assert notices_for(client, f"/s/{token}/") == [2, 5]


def test_what_was_advised_is_said_to_the_new_customer_too_and_no_notice_is_named_that_does_not_open(
    client, handed_over
):
    _, token = make_link(handed_over, party=Party.objects.get(name="Yvonne New").pk)
    page = client.get(f"/s/{token}/").content.decode()
    assert page.count("keep away") == 5
    assert [n for n in range(1, 9) if f"Danger notice {n}" in page] == [4, 5]
    said = text_of(client.get(f"/s/{token}/documents/status/").content)
    assert [n for n in range(1, 9) if f"anger notice {n} " in said] == [4, 5]
    for name in ("Xavier", "Tess"):
        assert name not in page + said


def test_a_name_that_only_begins_alike_is_somebody_elses(handed_over):
    notice_at(handed_over, 6, "Yvonne Newton")
    assert 6 not in notices_in(scope_at(handed_over.pk)).values_list("number", flat=True)


def test_what_was_given_before_a_merged_record_was_handed_over_stays_with_whom_it_was_given_to(handed_over):
    into = make_site("Kiln Cottage again", customer=Party.objects.get(name="Yvonne New"))
    Site.objects.filter(pk=handed_over.pk).update(merged_into=into.pk, archived_at=NOON)
    DangerNotice.objects.update(site=into.pk)
    Observation.objects.update(site=into.pk, unit=unit_of(into).pk)
    assert set(notices_in(scope_at(into.pk)).values_list("number", flat=True)) == {4, 5}
