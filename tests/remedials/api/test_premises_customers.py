"""Sites, parties, units and who answers for them over the API: done as on the pages, refused as on the pages."""

import pytest

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party, PartyAtUnit, Site
from tests.factories import (
    NOON,
    TODAY,
    Told,
    grant_access,
    make_board,
    make_observation,
    make_party,
    make_site,
    make_unit,
    recorded,
    supply_of,
    unit_of,
)
from tests.remedials.test_api_verbs import post, refusal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def verbs(told: list[Told]) -> list[tuple]:
    return [(entry.verb, entry.subject) for entry in told]


NEW_SITE = {
    "name": "Harbour Row 7", "address": "7 Harbour Row", "nation": "england", "kind": "house", "tenure": "private-rented",
    "phases": ["L3", "L1", "L2"], "earthing": "TN-S", "main_fuse_a": 100,
}  # fmt: skip


# --- sites ------------------------------------------------------------------------------------------------------------


def test_open_a_site_once(client, office):
    customer = make_party()
    body = NEW_SITE | {"id": str(new_id()), "customer": str(customer.pk)}
    with recorded() as told:
        answers = [post(client, office, "sites/open", **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    site = Site.objects.get()
    assert (answers[0].json()["id"], answers[0].json()["customer"]) == (str(site.pk), str(customer.pk))
    assert (site.units.get().tenure, site.supplies.get().phases) == ("private-rented", ["L1", "L2", "L3"])
    assert verbs(told) == [("site.opened", site.pk), ("observation.recounted", unit_of(site).pk)]


def test_open_a_site_for_a_new_customer(client, office):
    new = {"id": str(new_id()), "name": "Nell New", "email": "nell@example.com"}
    with recorded() as told:
        answer = post(client, office, "sites/open", **NEW_SITE, id=str(new_id()), new_customer=new)
    assert (answer.status_code, answer.json()["customer"]) == (201, new["id"])
    assert Party.objects.get().email == "nell@example.com"
    assert sorted(entry.verb for entry in told) == ["observation.recounted", "party.added", "site.opened"]


def test_open_a_site_refused(client, office, engineer):
    gone = make_party("Gone", archived_at=NOON)
    body = NEW_SITE | {"id": str(new_id()), "customer": str(gone.pk)}
    assert refusal(post(client, engineer, "sites/open", **body), 403)["title"] == "Not allowed"
    assert "archived" in refusal(post(client, office, "sites/open", **body), 409)["detail"]
    assert refusal(post(client, office, "sites/open", **body | {"customer": None}), 409)["field"] == "customer"
    half = refusal(post(client, office, "sites/open", **body | {"latitude": "51.5"}), 409)
    assert (half["detail"], half["field"]) == ("A place on the map is both: latitude and longitude.", "longitude")
    odd = refusal(
        post(client, office, "sites/open", **body | {"phases": [], "main_fuse_a": 0, "nation": "france"}), 400
    )
    assert sorted(odd["errors"]) == ["main_fuse_a", "nation", "phases"]
    twice = refusal(post(client, office, "sites/open", **body | {"phases": ["L1", "L1", "L2", "L3"]}), 400)
    assert twice["errors"] == {"phases": ["At most 3 phases."]}
    assert Site.objects.count() == 0


def test_edit_a_site_leaves_out_what_stays(client, office, site):
    with recorded() as told:
        answer = post(client, office, f"sites/{site.pk}/edit", version=1, name="Sample Hall")
    shown = answer.json()
    assert (answer.status_code, shown["name"], shown["postcode"], shown["version"]) == (
        200,
        "Sample Hall",
        "QX1 2AB",
        2,
    )
    words = {"name": "Sample Hall", "name_before": "Sample House"}
    assert told == [Told("site.changed", site.pk, {}, words)]


def test_edit_a_site_refused(client, office, engineer, site):
    address = f"sites/{site.pk}/edit"
    refusal(post(client, engineer, address, name="x"), 403)
    assert refusal(post(client, office, address, version=9, name="x"), 412)["version"] == 1
    assert refusal(post(client, office, address, latitude="51.5"), 409)["field"] == "longitude"
    unknown = refusal(post(client, office, address, customer=str(new_id())), 400)
    assert unknown["errors"] == {"customer": ["There is no such row."]}
    client.force_login(office)
    without = client.post(
        f"/api/v1/{address}/", {"name": "x"}, content_type="application/json",
        headers={"Idempotency-Key": f'"{new_id()}"'},
    )  # fmt: skip
    assert "If-Match" in refusal(without, 428)["detail"]
    site.refresh_from_db()
    assert (site.name, site.version) == ("Sample House", 1)


def test_edit_a_plain_site_all_or_nothing(client, office, site):
    address = f"sites/{site.pk}/edit-plain"
    body = {"postcode": "QX9 9QX", "tenure": "social-rented", "main_fuse_a": 60, "unit_version": 1, "supply_version": 1}
    stale = refusal(post(client, office, address, **body | {"supply_version": 8}), 412)
    assert stale["version"] == 1
    site.refresh_from_db()
    assert (site.postcode, unit_of(site).tenure) == ("QX1 2AB", "owner-occupied")
    with recorded() as told:
        answer = post(client, office, address, **body)
    assert (answer.status_code, answer.json()["postcode"]) == (200, "QX9 9QX")
    assert (unit_of(site).tenure, supply_of(site).main_fuse_a) == ("social-rented", 60)
    unit = unit_of(site)
    assert verbs(told) == [
        ("site.changed", site.pk), ("unit.changed", unit.pk), ("observation.recounted", unit.pk),
        ("supply.changed", supply_of(site).pk),
    ]  # fmt: skip
    make_unit(site)
    site.units.update(whole_site=False)
    assert "not plain" in refusal(post(client, office, address, **body), 409)["detail"]


def test_archive_a_site_and_bring_it_back(client, office, engineer, site):
    with recorded() as told:
        gone = post(client, office, f"sites/{site.pk}/archive")
        back = post(client, office, f"sites/{site.pk}/bring-back")
    assert (gone.json()["archived_at"], back.json()["archived_at"]) == ("2026-02-03T12:00:00Z", None)
    assert verbs(told) == [("site.archived", site.pk), ("site.brought-back", site.pk)]
    make_observation(site, code="C1")
    assert refusal(post(client, office, f"sites/{site.pk}/archive"), 409)["detail"] != ""
    refusal(post(client, engineer, f"sites/{site.pk}/bring-back"), 403)


def test_merge_sites(client, office, engineer, site):
    twice = make_site("Sample Hose", customer=site.customer)
    mine, theirs = make_board(twice), make_board(site)
    client.force_login(office)
    over = client.get(f"/api/v1/sites/{twice.pk}/goes-over/?into={site.pk}").json()
    assert over["clashes"] == [{"id": str(mine.pk), "row": "board", "name": "Board 1"}]
    assert over["counts"]["board"] == 1
    address, body = f"sites/{twice.pk}/merge", {"into": str(site.pk), "reason": "One door"}
    refusal(post(client, engineer, address, **body), 403)
    assert refusal(post(client, office, address, **body), 409)["field"] == "designation"
    broken = refusal(post(client, office, address, **body, names={"board": "x"}), 409)
    assert (broken["detail"], broken["field"]) == ("Name the rows by their keys.", "names")
    with recorded() as told:
        answer = post(client, office, address, **body, names={str(mine.pk): "Board 1 (2)"})
    assert (answer.status_code, answer.json()["id"]) == (200, str(site.pk))
    assert sorted(site.boards.values_list("designation", flat=True)) == ["Board 1", "Board 1 (2)"]
    assert sorted(verbs(told), key=str) == sorted(
        [("board.changed", mine.pk), ("site.merged", twice.pk), ("site.took-over", site.pk)], key=str
    )
    assert client.get(f"/api/v1/sites/{twice.pk}/").json()["merged_into"] == str(site.pk)
    assert theirs.site_id == site.pk


@pytest.mark.parametrize("query", ["", "?into=5", "?into={self}", "?from={self}"])
def test_what_goes_over_into_nothing(client, office, site, query):
    client.force_login(office)
    answer = client.get(f"/api/v1/sites/{site.pk}/goes-over/{query.format(self=site.pk)}")
    assert list(refusal(answer, 400)["errors"]) == [query[1:5] or "into"]


def test_hand_a_site_over(client, office, engineer, site):
    to, former = make_party("Nora Next"), site.customer
    role = unit_of(site).parties.create(party=former, role="owner", since=TODAY.replace(year=2020))
    address, body = f"sites/{site.pk}/hand-over", {"to": str(to.pk), "on": "2026-02-03", "roles": ["owner"]}
    refusal(post(client, engineer, address, **body, reason="Sold"), 403)
    late = refusal(post(client, office, address, **body | {"on": "2026-02-04"}, reason="Sold"), 409)
    assert late["field"] == "on"
    with recorded() as told:
        answer = post(client, office, address, version=1, **body, reason="Sold")
    assert (answer.status_code, answer.json()["customer"]) == (200, str(to.pk))
    role.refresh_from_db()
    new = PartyAtUnit.objects.get(party=to)
    assert (role.until, new.role, new.since) == (TODAY.replace(day=2), "owner", TODAY)
    assert verbs(told) == [
        ("role.ended", role.pk), ("role.given", new.pk), ("site.handed-over", site.pk),
    ]  # fmt: skip


# --- parties ----------------------------------------------------------------------------------------------------------


def test_add_and_edit_a_party(client, office, engineer):
    body = {"id": str(new_id()), "name": "Ada Tenant", "email": "ada@example.com"}
    refusal(post(client, engineer, "parties/add", **body), 403)
    assert list(refusal(post(client, office, "parties/add", **body | {"email": "ada"}), 400)["errors"]) == ["email"]
    assert list(refusal(post(client, office, "parties/add", **body | {"name": "x" * 201}), 400)["errors"]) == ["name"]
    with recorded() as told:
        made = [post(client, office, "parties/add", **body) for _ in range(2)]
        edited = post(client, office, f"parties/{body['id']}/edit", version=1, phone="01632 960555")
    assert [answer.status_code for answer in (*made, edited)] == [201, 201, 200]
    shown = {name: edited.json()[name] for name in ("name", "email", "phone", "version")}
    assert shown == {"name": "Ada Tenant", "email": "ada@example.com", "phone": "01632 960555", "version": 2}
    assert [entry.verb for entry in told] == ["party.added", "party.changed"]
    assert refusal(post(client, office, f"parties/{body['id']}/edit", version=1, phone="1"), 412)["version"] == 2


def test_archive_a_party_and_bring_it_back(client, office, engineer, site):
    party = make_party("Nobody's Agent")
    with recorded() as told:
        gone = post(client, office, f"parties/{party.pk}/archive")
        back = post(client, office, f"parties/{party.pk}/bring-back")
    assert (gone.json()["archived_at"], back.json()["archived_at"]) == ("2026-02-03T12:00:00Z", None)
    assert verbs(told) == [("party.archived", party.pk), ("party.brought-back", party.pk)]
    assert "still has a site" in refusal(post(client, office, f"parties/{site.customer_id}/archive"), 409)["detail"]
    refusal(post(client, engineer, f"parties/{party.pk}/archive"), 403)
    refusal(post(client, engineer, f"parties/{party.pk}/bring-back"), 403)


def test_a_subcontractor_keeps_no_customers(client, subcontractor, site):
    grant_access(site, subcontractor)
    refusal(post(client, subcontractor, "parties/add", id=str(new_id()), name="x"), 403)
    refusal(post(client, subcontractor, f"parties/{site.customer_id}/edit", name="x"), 403)


# --- units ------------------------------------------------------------------------------------------------------------


def test_add_and_edit_a_unit(client, office, engineer, site):
    body = {"id": str(new_id()), "name": "Flat 3", "kind": "house", "tenure": "private-rented"}
    refusal(post(client, engineer, f"sites/{site.pk}/add-unit", **body), 403)
    with recorded() as told:
        made = [post(client, office, f"sites/{site.pk}/add-unit", **body) for _ in range(2)]
        edited = post(client, office, f"units/{body['id']}/edit", version=1, tenancy_granted_on="2026-01-15")
    assert [answer.status_code for answer in (*made, edited)] == [201, 201, 200]
    shown = {name: edited.json()[name] for name in ("name", "tenure", "tenancy_granted_on", "whole_site", "version")}
    assert shown == {
        "name": "Flat 3", "tenure": "private-rented", "tenancy_granted_on": "2026-01-15", "whole_site": False, "version": 2,
    }  # fmt: skip
    assert [entry.verb for entry in told] == ["unit.added", "observation.recounted", "unit.changed"]
    again = post(client, office, f"sites/{site.pk}/add-unit", **body | {"id": str(new_id())})
    assert refusal(again, 409)["field"] == "name"
    assert refusal(post(client, office, f"units/{body['id']}/edit", version=1, name="y"), 412)["version"] == 2
    refusal(post(client, engineer, f"units/{body['id']}/edit", name="y"), 403)


def test_retire_a_unit_and_bring_it_back(client, office, engineer, site):
    assert "only one left" in refusal(post(client, office, f"units/{unit_of(site).pk}/retire"), 409)["detail"]
    flat = make_unit(site, "Flat 1")
    with recorded() as told:
        gone = post(client, office, f"units/{flat.pk}/retire")
        back = post(client, office, f"units/{flat.pk}/bring-back")
    assert (gone.json()["retired_at"], back.json()["retired_at"]) == ("2026-02-03T12:00:00Z", None)
    assert verbs(told) == [("unit.retired", flat.pk), ("unit.brought-back", flat.pk)]
    refusal(post(client, engineer, f"units/{flat.pk}/retire"), 403)
    refusal(post(client, engineer, f"units/{flat.pk}/bring-back"), 403)


def test_give_a_part_and_end_it(client, office, engineer, site):
    party, unit = make_party("Al Agent"), unit_of(site)
    body = {
        "id": str(new_id()),
        "party": str(party.pk),
        "role": "approver",
        "since": "2026-01-02",
        "limit_pounds": "250.00",
    }
    refusal(post(client, engineer, f"units/{unit.pk}/give-role", **body), 403)
    with recorded() as told:
        made = [post(client, office, f"units/{unit.pk}/give-role", **body) for _ in range(2)]
        ended = post(client, office, f"unit-parties/{body['id']}/end", until="2026-02-28")
    assert [answer.status_code for answer in (*made, ended)] == [201, 201, 200]
    shown = {name: ended.json()[name] for name in ("unit", "party", "name", "role", "limit_pounds", "since", "until")}
    assert shown == {
        "unit": str(unit.pk), "party": str(party.pk), "name": "Al Agent", "role": "approver", "limit_pounds": "250.00",
        "since": "2026-01-02", "until": "2026-02-28",
    }  # fmt: skip
    assert [entry.verb for entry in told] == ["role.given", "role.ended"]
    early = refusal(post(client, office, f"unit-parties/{body['id']}/end", until="2025-12-31"), 409)
    assert (early["detail"], early["field"]) == ("The last day cannot be before the first.", "until")
    refusal(post(client, engineer, f"unit-parties/{body['id']}/end", until="2026-02-28"), 403)


# --- private links by e-mail ------------------------------------------------------------------------------------------

UNTIL = "2027-02-03T12:00:00Z"


def test_send_a_private_link_to_a_site(client, office, engineer, site, firm):
    party = site.customer
    body = {"id": str(new_id()), "party": str(party.pk), "expires_at": UNTIL, "note": "As we said."}
    refusal(post(client, engineer, f"sites/{site.pk}/send-link", **body), 403)
    with recorded() as told:
        answers = [post(client, office, f"sites/{site.pk}/send-link", **body) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    shown = {name: answers[0].json()[name] for name in ("id", "purpose", "site", "unit", "party", "sent_to")}
    assert shown == {
        "id": body["id"], "purpose": "status", "site": str(site.pk), "unit": None, "party": str(party.pk),
        "sent_to": "petra@example.com",
    }  # fmt: skip
    message, link = Message.objects.get(), PrivateLink.objects.get()
    assert (message.address, message.subject) == ("petra@example.com", "How Sample House stands")
    assert "Dear Petra Landlady,\n\nAs we said." in message.body
    assert [entry.subject for entry in told] == [link.pk]
    assert [entry.verb for entry in told] == ["link.made"]


def test_send_a_private_link_refused(client, office, site, firm):
    stranger, tenant = make_party("Stan Stranger"), make_party("Tina Tenant", email="")
    flat = make_unit(site, "Flat 1")
    site.units.update(whole_site=False)
    flat.parties.create(party=tenant, role="occupier", since=TODAY)
    address, body = f"sites/{site.pk}/send-link", {"id": str(new_id()), "expires_at": UNTIL}

    def refused(**more) -> tuple:
        said = refusal(post(client, office, address, **body | more), 409)
        return said["field"], said["detail"]

    assert refused(party=str(stranger.pk))[0] == "party"
    assert refused(party=str(tenant.pk)) == (
        "all_units",
        "Tina Tenant is on record only as living in Flat 1; this link shows every unit. Name that one, or say all_units.",
    )
    assert refused(party=str(tenant.pk), unit=str(flat.pk))[0] == "email"
    assert refused(party=str(site.customer_id), unit=str(unit_of(make_site("Elsewhere")).pk))[0] == "unit"
    assert refused(party=str(site.customer_id), expires_at="2026-02-03T20:00:00Z")[0] == "expires_at"
    assert PrivateLink.objects.count() == 0
    told = post(client, office, address, **body, party=str(tenant.pk), unit=str(flat.pk), email="tina@example.com")
    assert (told.status_code, told.json()["unit"], told.json()["sent_to"]) == (201, str(flat.pk), "tina@example.com")


def test_send_a_private_link_to_all_sites(client, office, engineer, site, firm):
    party = site.customer
    address, body = f"parties/{party.pk}/send-link", {"id": str(new_id()), "expires_at": UNTIL}
    refusal(post(client, engineer, address, **body), 403)
    with recorded() as told:
        answer = post(client, office, address, **body)
    shown = answer.json()
    assert (answer.status_code, shown["purpose"], shown["site"]) == (201, "portfolio", None)
    assert Message.objects.get().subject == "How your sites stand"
    assert verbs(told) == [("link.made", PrivateLink.objects.get().pk)]
    Party.objects.filter(pk=party.pk).update(email="")
    nowhere = refusal(post(client, office, address, **body | {"id": str(new_id())}), 409)
    assert nowhere["field"] == "email"
