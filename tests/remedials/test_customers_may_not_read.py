"""What is planted in the record and may reach no customer, looked for in everything that a customer can open or is given."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from inspections.models import DangerNotice, MadeSafe
from inspections.queries.documents import covering_letter
from jobsite.documents import PDF
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.premises.models import Site
from remedials.due.operations.leaving import letter_document
from remedials.due.queries.leaving import on_record
from remedials.status.copies.operations import make_copy, state_of
from remedials.status.copies.queries import said_of
from remedials.visits.models import AlarmCode, Attempt, OccupierNote, SiteKey
from remedials.works.models import Approval, Proof, Waiting
from remedials.works.queries.confirming import confirmation_document
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.faults.world import all_routes, everything
from tests.jobsite.papers import words_of
from tests.remedials.proven import whole_site

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
PRICE = Decimal("7654.32")
PLANTED = {
    "surname": "Zqsurname", "staff e-mail": "zqmail", "staff telephone": "01632 960666", "access note": "Zqaccess",
    "alarm": "Zqalarm", "what to mind": "Zqmind", "key": "Zqkey", "proof note": "Zqproof", "whom it waits on": "Zqwaits",
    "another's price": "7,654.32", "lone worker": "Zqalone", "made safe by whose key": "Zqholder",
}  # fmt: skip
DOCUMENTS = ("status", "outstanding", "completion", "danger-notice-31", "danger-notice-32")


def plant() -> None:
    """Rename all of the firm's people, and write into every row what customers may not read."""
    for number, user in enumerate(User.objects.order_by("pk"), 1):
        user.name, user.email = f"{user.name.split()[0]} {PLANTED['surname']}{number}", f"zqmail{number}@example.com"
        user.save()
    Site.objects.update(access_notes=PLANTED["access note"])
    AlarmCode.objects.update(place=PLANTED["alarm"], sealed=PLANTED["alarm"].encode())
    SiteKey.objects.update(held_for=PLANTED["key"], place=PLANTED["key"])
    Proof.objects.update(note=PLANTED["proof note"])
    Waiting.objects.update(on_whom=PLANTED["whom it waits on"])
    MadeSafe.objects.update(key_holder=PLANTED["made safe by whose key"])
    for unit in {unit.pk: unit for site in Site.objects.all() for unit in site.units.all()}.values():
        OccupierNote.objects.update_or_create(
            unit=unit,
            defaults={"site_id": unit.site_id, "mind": PLANTED["what to mind"], "phone": PLANTED["staff telephone"]},
        )


@pytest.fixture
def world(db, engineer, qualified, office):
    """A site with everything, one with works that are proven, and the tokens that open them."""
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="hello@example.com")
    by = make.make_user("Wilma Elsewhere", "office", "engineer", "manager")
    rows = everything(by)
    site, proven = Site.objects.get(pk=rows["sites"]), whole_site()
    DangerNotice.objects.create(
        number=32, site=proven, why="live", advised="keep away", given_to="Petra", how="hand", given_at=NOON, given_by=engineer
    ).observations.add(proven.observations.order_by("pk")[0])  # fmt: skip
    AlarmCode.objects.create(site=proven, place="hall", sealed=b"x")
    make.make_key(proven, "K77")
    Attempt.objects.create(
        site=site,
        unit=site.units.order_by("pk")[0],
        how="visit",
        at=NOON,
        by=engineer,
        whom="Tina",
        said="rang",
        recorded_at=NOON,
    )
    work = make.make_remedial(make.make_observation(proven, "Dear one", code="C3"), stage="to-price")
    make.make_sent_offer(work, party=make.make_party("Stella Stranger"), prices=[{"price": PRICE}], by=office)
    Approval.objects.create(
        remedial=work,
        given_by="Stella",
        how="phone",
        given_on=TODAY,
        pounds=PRICE,
        recorded_by=office,
        recorded_at=NOON,
    )
    plant()
    report = proven.inspections.get()
    copy = make_copy(
        report, id=new_id(), unit=None, texts={}, seen=state_of(said_of(report, None)), by=office, now=NOON
    )
    tokens = {
        "s": make.make_link(site)[1],
        "p": make.make_portfolio_link(site.customer)[1],
        "proven": make.make_link(proven)[1],
        "copied": make.make_link(proven, purpose="copy", thing=copy.pk)[1],
        "all": make.make_portfolio_link(proven.customer)[1],
    }
    return rows | tokens | {"proven unit": make.unit_of(proven), "proven site": proven.pk}


def words(response) -> str:
    body = response.content if not response.streaming else b"".join(response.streaming_content)
    if response["Content-Type"] == PDF and body.startswith(b"%PDF-1.7\n%"):  # and not the bare bytes of a made-up row
        return words_of(body) + repr(dict(response.headers))
    return body.decode(errors="replace") + repr(dict(response.headers))


def opened(client, world) -> dict[str, str]:
    """What each address of a customer's answers, by address."""
    found = {}
    for route in all_routes(world, "A" * 43):
        if getattr(route.view, "needs", "") in ("private-link", "nobody"):
            got = client.get(route.path)
            if got.status_code == 200:
                found[route.where] = words(got)
    pages = [reverse("status:site", args=[world["proven"]]), reverse("status:copy", args=[world["copied"]]),
             reverse("status:copy_file", args=[world["copied"]]), reverse("status:portfolio", args=[world["all"]])]  # fmt: skip
    pages += [reverse("status:document", args=[world["proven"], which]) for which in DOCUMENTS]
    unit = world["proven unit"]
    pages += [
        reverse("status:portfolio_unit", args=[world["all"], unit.pk]),
        reverse("status:portfolio_no_access", args=[world["all"], unit.pk]),
    ]
    pages += [f"{pages[0]}?{query}" for query in ("drawing", "open=1", "closed=1", "reports")]
    for page in pages:
        got = client.get(page)
        assert got.status_code == 200, page
        found[page] = words(got)
    return found


def test_nothing_planted_reaches_a_customers_page_or_document(client, world) -> None:
    found = opened(client, world)
    assert len(found) > 25
    told = {
        (where, what) for where, text in found.items() for what, planted in PLANTED.items()
        if planted.lower() in text.lower().replace("\u202f", " ")
    }  # fmt: skip
    assert told == {
        (where, what) for where, what in told if where.startswith("calendar/")
    }  # an engineer's own calendar


def test_the_firm_that_chooses_surnames_shows_them_and_nothing_else(client, world) -> None:
    Firm.objects.update(surnames=True)
    found = opened(client, world)
    told = {
        what for where, text in found.items() if not where.startswith("calendar/")
        for what, planted in PLANTED.items() if planted.lower() in text.lower()
    }  # fmt: skip
    assert told == {"surname"}


def test_the_letters_and_documents_that_the_office_makes_for_customers_tell_nothing_planted(
    client, world, office
) -> None:
    client.force_login(User.objects.get(pk=office.pk))
    site = world["sites"]
    evidence = reverse("visits:evidence", args=[world["sites"]])
    no_access = client.post(evidence, {"first": TODAY - timedelta(days=9), "last": TODAY})
    assert no_access.status_code == 200
    site = Site.objects.get(pk=world["proven site"])
    paper = make.make_paper(site, "a copy of the report")
    paper.inspection = site.inspections.get()
    said = {
        "no access": words(no_access),
        "covering letter": words_of(covering_letter(paper, now=NOON).pdf),
        "confirmation": words_of(confirmation_document(paper, now=NOON).pdf),
        "closing letter": words_of(
            letter_document(site, on_record(site), why="left", to_name="Petra", to_address="", now=NOON).pdf
        ),
    }
    assert "Done by Dorrit, " in said["confirmation"]
    for message in Message.objects.filter(to_kind="customer"):
        said[message.occasion] = f"{message.subject} {message.body}"
    assert len(said) >= 5
    told = {
        (where, what)
        for where, text in said.items()
        for what, planted in PLANTED.items()
        if planted.lower() in text.lower()
    }
    assert told == set()
