"""All of a customer's units on one page: which they are, in what order, what is said, what stays in the house."""

import re
from datetime import date, timedelta
from html import unescape
from io import BytesIO

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from inspections.models import InspectionDue, Limitation, MadeSafe, ObservationPhoto
from inspections.operations.next_inspections import settle_anew
from jobsite.ledger.photographs import store_photograph
from jobsite.people.models import PrivateLink
from jobsite.premises.models import PartyAtUnit
from remedials.status.portfolio import queries, summary
from remedials.visits.models import VisitLine
from remedials.works.models import Proof
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_attempt,
    make_board,
    make_circuit,
    make_code,
    make_inspection,
    make_observation,
    make_party,
    make_portfolio_link,
    make_remedial,
    make_site,
    make_unit,
    make_user,
    make_visit,
    picture,
    supply_of,
    unit_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


@pytest.fixture
def agent(db):
    return make_party("Tern & Plover Lettings", organisation=True)


def house_of(party, name: str, **fields):
    """A simple site of somebody else, at which `party` is the agent."""
    site = make_site(name, **fields)
    PartyAtUnit.objects.create(unit=unit_of(site), party=party, role="agent", since=date(2020, 1, 1))
    return site


def block_of(party, *names: str, site: str = "Mill Court"):
    """A block with flats of these names, of all of which `party` is the site's customer."""
    block = make_site(site, customer=party)
    block.units.filter(whole_site=True).delete()
    return block, [make_unit(block, name) for name in names]


def text_of(response) -> str:
    body = response.content.decode().split("<main", 1)[1]
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))).replace(" .", ".").replace(" ,", ",")


def names_in(response) -> list[str]:
    """The units in the order in which they stand on the page."""
    return [
        unescape(name)
        for name in re.findall(r'<th scope="row"><a href="units/[^"]+">([^<]+)</a>', response.content.decode())
    ]


def due(unit, on: date):
    InspectionDue.objects.create(unit=unit, due_on=on, basis="A sample rule.", shows_from=TODAY)


def made_safe(observation):
    MadeSafe.objects.create(
        observation=observation, how="covered", what="tape", agreed_with="P", at=NOON, by=anybody(), look_again_on=TODAY
    )


def opened(client, party, query: str = ""):
    _, token = make_portfolio_link(party)
    return client.get(f"/p/{token}/{query}")


# --- which units ------------------------------------------------------------------------------------------------------


def test_units_are_those_that_the_party_answers_for_today(client, agent) -> None:
    kept = {}
    roles = {
        "Owned": ("owner", None, None), "Managed": ("agent", None, None), "Paid": ("payer", None, TODAY),
        "Approved": ("approver", None, None), "Lived in": ("occupier", None, None),
        "Ended yesterday": ("agent", None, TODAY - timedelta(days=1)), "Not yet": ("owner", TODAY + timedelta(days=1), None),
    }  # fmt: skip
    for name, (role, since, until) in roles.items():
        unit = unit_of(make_site(name))
        PartyAtUnit.objects.create(unit=unit, party=agent, role=role, since=since or date(2020, 1, 1), until=until)
        kept[name] = unit
    make_site("Own", customer=agent)
    make_site("Of another")
    assert sorted(names_in(opened(client, agent))) == ["Approved", "Managed", "Own", "Owned", "Paid"]


def test_a_role_held_twice_is_one_line(client, agent) -> None:
    house = make_site("Own", customer=agent)
    for role in ("owner", "payer"):
        PartyAtUnit.objects.create(unit=unit_of(house), party=agent, role=role, since=TODAY)
    assert names_in(opened(client, agent)) == ["Own"]


def test_what_was_archived_retired_or_merged_is_gone_and_what_came_over_is_there(client, agent) -> None:
    from jobsite.premises.operations import merge_sites

    house_of(agent, "Archived", archived_at=NOON)
    block, flats = block_of(agent, "Flat 1", "Flat 2")
    flats[1].retired_at = NOON
    flats[1].save(update_fields=["retired_at"])
    twin, _ = block_of(agent, "Flat 3", site="Mill Ct")
    _, token = make_portfolio_link(agent)
    merge_sites(
        twin,
        into=block,
        names={supply_of(twin).pk: "Intake 2"},
        reason="recorded twice",
        by=anybody("office"),
        now=NOON,
    )
    assert names_in(client.get(f"/p/{token}/")) == ["Flat 1, Mill Court", "Flat 3, Mill Court"]


def test_a_site_handed_over_leaves_the_former_customers_page_and_stands_on_the_new_ones(client, agent) -> None:
    from jobsite.premises.operations import hand_over_site

    house, other = make_site("Quay House", customer=agent), make_party("Nell Newowner")
    (_, old), (_, new) = make_portfolio_link(agent), make_portfolio_link(other)
    assert names_in(client.get(f"/p/{old}/")) == ["Quay House"]
    hand_over_site(house, to=other, on=TODAY, reason="sold", version=house.version, by=anybody("office"), now=NOON)
    assert names_in(client.get(f"/p/{old}/")) == []
    assert "There is no unit for which Tern & Plover Lettings answers today" in text_of(client.get(f"/p/{old}/"))
    assert names_in(client.get(f"/p/{new}/")) == ["Quay House"]


# --- what is said -----------------------------------------------------------------------------------------------------


@pytest.fixture
def mixed(agent):
    """A unit of each level, entered in another order than that of danger."""
    for name in ("Clear", "Improve", "Overdue", "Investigate", "Dangerous", "Made safe", "Uncoded", "Now"):
        make_inspection(house_of(agent, name), outcome="satisfactory")
    never = house_of(agent, "Never")
    at = {unit.site.name: unit.site for unit in _units(agent)}
    assert never == at["Never"]
    make_observation(at["Improve"], "No labels", code="C3")
    due(unit_of(at["Overdue"]), TODAY - timedelta(days=1))
    make_observation(at["Investigate"], "No earth found", code="FI", remedy_by=date(2026, 2, 20))
    make_observation(at["Dangerous"], "Cracked socket", code="C2", remedy_by=date(2026, 1, 31))
    made_safe(make_observation(at["Made safe"], "Bare conductor", code="C1", made_safe=True))
    make_observation(at["Uncoded"], "Buzzing box", code="")
    board = make_board(at["Now"], "Garage board")
    make_observation(at["Now"], "Open joint", code="C1", board=board, circuit=make_circuit(board, 5))
    return at


def _units(party):
    from remedials.status.portfolio.facts import units_of

    return units_of(party, TODAY).select_related("site")


def test_lines_stand_by_danger_and_say_what_is_known(client, agent, mixed) -> None:
    response = opened(client, agent)
    assert names_in(response) == [
        "Now", "Uncoded", "Made safe", "Dangerous", "Investigate", "Never", "Overdue", "Improve", "Clear",
    ]  # fmt: skip
    said = text_of(response)
    for sentence in (
        "Danger now in 1 of 9 units: Now. It is not recorded as made safe: keep everybody away from it.",
        "In 2 more a dangerous item is open, not made safe in 1.",
        "In 2 more something must first be investigated or looked at: nobody can say yet whether it is dangerous.",
        "No dangerous item is recorded open in the other 3, from inspections of 3 February 2026.",
        "1 unit has no inspection on record: nobody can say from here whether it is safe.",
        "The next inspection of 1 unit is overdue.",
        "Do not touch or use what is described as a danger now",
        "Danger now: Open joint (Garage board, way 5L1), not recorded as made safe. Keep away from it.",
        "31 Jan 2026 3 days late",
        "9 units, the most dangerous first.",
        "It is neither a certificate nor a condition report",
    ):
        assert sentence in said


def test_no_alarm_without_a_danger_now(client, agent) -> None:
    make_observation(house_of(agent, "A"), "Cracked socket", code="C2")
    assert "ring 999" not in text_of(opened(client, agent))


def test_of_two_alike_the_earlier_date_comes_first(client, agent) -> None:
    for name, by in (("Later", date(2026, 3, 1)), ("No date", None), ("Sooner", date(2026, 2, 4))):
        make_observation(house_of(agent, name), code="C2", remedy_by=by)
    assert names_in(opened(client, agent)) == ["Sooner", "Later", "No date"]


def test_each_line_says_what_its_units_own_page_says_first(client, agent, mixed) -> None:
    """The line and the page are worked out apart: here they meet, over every kind of unit that there is."""
    block, (one, two, three) = block_of(agent, "Flat 1", "Flat 2", "Flat 3")
    make_inspection(block, units=[one, two], inspected_on=date(2025, 5, 1))
    make_inspection(block, units=[two], kind="survey", inspected_on=date(2026, 1, 5))
    own, others = make_board(block, "Board 1"), make_board(block, "Board 2")
    own.units.add(one)
    others.units.add(two)
    latest = make_inspection(block, units=[one], inspected_on=date(2026, 1, 1), outcome="satisfactory")
    latest.boards.add(own)
    Limitation.objects.create(inspection=latest, what="the loft.", unit=one)
    Limitation.objects.create(inspection=latest, what="the landlord's board", board=others)
    Limitation.objects.create(inspection=latest, what="the cellar")
    due(two, date(2026, 1, 1))
    booked = make_remedial(make_observation(block, "Two", unit=two, code="C1"), stage="booked")
    make_visit(block, booked, start=NOON + timedelta(days=4))
    make_observation(block, "Gone", unit=three, ended="remedied", ended_on=TODAY)
    make_observation(block, "Draft", unit=three, draft=True)
    lines = queries.portfolio(agent, queries.Asked(), now=NOON).lines
    assert len(lines) == 12
    _, token = make_portfolio_link(agent)
    for line in lines:
        page = client.get(f"/p/{token}/units/{line.unit}/").content.decode()
        assert unescape(re.search(r'<p class="say">(.*?)</p>', page)[1]) == line.says


def test_a_visit_in_vain_counts_until_somebody_gets_in(client, agent) -> None:
    again, inside, worked = (house_of(agent, name) for name in ("Shut", "Let in", "Worked"))
    for house in (again, inside, worked):
        make_attempt(house, at=NOON - timedelta(days=9))
        make_attempt(house, at=NOON - timedelta(days=8), unit=unit_of(house))
        make_attempt(house, at=NOON - timedelta(days=7), how="phone")
    make_attempt(inside, got_in=True)
    done = make_remedial(make_observation(worked, ended="remedied", ended_on=TODAY), stage="reviewed")
    Proof.objects.create(remedial=done, done_by=anybody("engineer"), done_at=NOON)
    said = text_of(opened(client, agent))
    assert "not let in, twice 3 attempts on record (PDF) : Shut" in said
    assert "Getting in 4 attempts" not in said
    assert said.count("not let in") == 1 + said.count("not let in when we last came")
    assert "Nobody let us in to 1 unit when we last came." in said


# --- narrowing, pages, files ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ("?danger=now", ["Now"]),
        ("?danger=open", ["Now", "Made safe", "Dangerous"]),
        ("?danger=unknown", ["Uncoded", "Investigate", "Never"]),
        ("?danger=none", ["Overdue", "Improve", "Clear"]),
        ("?dates=late", ["Dangerous", "Overdue"]),
        ("?dates=soon", ["Clear"]),
        ("?access=shut-out", ["Improve"]),
        ("?q=made+SAFE", ["Made safe"]),
        ("?q=nothing", []),
        ("?q=sample+street&danger=now", ["Now"]),
        ("?danger=none&dates=late", ["Overdue"]),
    ],
)
def test_the_list_is_narrowed_by_its_address(client, agent, mixed, query, names) -> None:
    due(unit_of(mixed["Clear"]), TODAY + timedelta(days=90))
    make_attempt(mixed["Improve"])
    response = opened(client, agent, query)
    assert names_in(response) == names
    assert (f"{len(names)} of 9 units fit" if names else "No unit fits what is asked for.") in text_of(response)


def test_what_cannot_be_asked_for_narrows_nothing_and_says_so(client, agent, mixed) -> None:
    response = opened(client, agent, "?danger=everything&page=-1&q=now")
    assert names_in(response) == ["Now"]
    said = text_of(response)
    assert "Choose one of those offered. It narrows nothing." in said
    assert "What the address asks for under “Danger” cannot be read: it narrows nothing. 1 of 9 units" in said
    assert 'href="/p/' in response.content.decode()
    assert not re.search(r'href="[^"]*danger=everything', response.content.decode())
    assert len(names_in(opened(client, agent, "?page=99999999999&dates=%C3%A9"))) == 9


def test_a_flat_is_found_by_its_number_and_no_other(client, agent) -> None:
    block_of(agent, "Flat 7", "Flat 70", "Flat 17")
    assert names_in(opened(client, agent, "?q=flat+7")) == ["Flat 7, Mill Court"]


def test_a_long_list_goes_on_on_pages_that_keep_what_was_asked(client, agent, monkeypatch) -> None:
    monkeypatch.setattr("remedials.status.portfolio.queries.SIZE", 2)
    block_of(agent, *(f"Flat {n}" for n in range(1, 6)))
    _, token = make_portfolio_link(agent)
    first = client.get(f"/p/{token}/?q=mill")
    assert names_in(first) == ["Flat 1, Mill Court", "Flat 2, Mill Court"]
    assert re.findall(r'<a class="at" href="([^"]+)">', first.content.decode())[:2] == [
        "?q=mill&amp;page=2",
        "?q=mill&amp;page=3",
    ]
    assert names_in(client.get(f"/p/{token}/?q=mill&page=3")) == ["Flat 5, Mill Court"]
    assert names_in(client.get(f"/p/{token}/?q=mill&page=9")) == ["Flat 5, Mill Court"]


def test_the_spreadsheet_holds_what_the_page_shows(client, agent, mixed) -> None:
    make_attempt(mixed["Now"])
    response = opened(client, agent, "?danger=open&as=xlsx")
    sheet = load_workbook(BytesIO(response.content)).active
    heads, *rows = sheet.iter_rows(values_only=True)
    assert heads == queries.HEADS
    assert [row[0] for row in rows] == ["Now", "Made safe", "Dangerous"]
    assert rows[0][2:] == (
        "Danger now: Open joint (Garage board, way 5L1), not recorded as made safe. Keep away from it.",
        f"C1 no. {mixed['Now'].observations.get().number} Open joint", 1, 0, 0, 0, 0, None, None, None, 1, NOON.replace(tzinfo=None, hour=0),
    )  # fmt: skip
    assert rows[2][9].date() == date(2026, 1, 31)
    assert response["Cache-Control"] == "no-store"
    assert 'filename="units-tern-plover-lettings.xlsx"' in response["Content-Disposition"]


def test_no_cell_is_a_formula(client, agent) -> None:
    site = house_of(agent, '=HYPERLINK("http://example.com")', address="+44\n@home")
    make_observation(site, "-1+cmd|' /C calc'!A0", code="C1")
    lines = opened(client, agent, "?as=csv").content.decode("utf-8-sig").splitlines()
    assert lines[1].startswith("\"'=HYPERLINK(")
    assert "'+44, @home" in lines[1]
    cell = load_workbook(BytesIO(opened(client, agent, "?as=xlsx").content)).active["A2"]
    assert (cell.data_type, cell.value) == ("s", '=HYPERLINK("http://example.com")')


# --- the unit's page below the link -----------------------------------------------------------------------------------


def test_a_units_page_and_its_pictures_open_below_the_link_and_no_others(client, agent) -> None:
    mine, theirs = house_of(agent, "Mine"), make_site("Theirs")
    photos = []
    for site in (mine, theirs):
        file, cleaned = store_photograph(picture(kind="JPEG"), now=NOON)
        photos.append(
            ObservationPhoto.objects.create(
                observation=make_observation(site, f"Defect of {site}"), file=file, added_by=anybody(), added_at=NOON,
                width=cleaned.width, height=cleaned.height,
            )
        )  # fmt: skip
    _, token = make_portfolio_link(agent)
    own, other = (f"/p/{token}/units/{unit_of(site).pk}/" for site in (mine, theirs))
    page = client.get(own)
    assert "Defect of Mine" in text_of(page)
    assert f"photos/{photos[0].pk}/" in page.content.decode()
    assert 'href="../../"' in page.content.decode()
    assert client.get(f"{own}photos/{photos[0].pk}/")["Content-Type"] == "image/jpeg"
    closed = [other, f"{own}photos/{photos[1].pk}/", f"{other}photos/{photos[1].pk}/", f"{other}no-access/"]
    assert {client.get(path).status_code for path in closed} == {404}


def test_a_flats_page_shows_nothing_of_a_flat_that_another_answers_for(client, agent) -> None:
    block, (one, two) = block_of(make_party("Freeholder"), "Flat 1", "Flat 2")
    PartyAtUnit.objects.create(unit=one, party=agent, role="agent", since=TODAY)
    make_observation(block, "Mine", unit=one)
    make_observation(block, "Somebody else's", unit=two, code="C1")
    _, token = make_portfolio_link(agent)
    assert names_in(client.get(f"/p/{token}/")) == ["Flat 1, Mill Court"]
    whole = "".join(client.get(f"/p/{token}/{path}").content.decode() for path in ("", "summary/", f"units/{one.pk}/"))
    assert "Mine" in whole
    assert "Somebody else" not in whole
    assert "Flat 2" not in whole


# --- the link ---------------------------------------------------------------------------------------------------------


def test_only_opening_the_list_counts(client, agent) -> None:
    site = house_of(agent, "A")
    link, token = make_portfolio_link(agent)
    for path in ("", "summary/", f"units/{unit_of(site).pk}/", "?as=csv"):
        assert client.get(f"/p/{token}/{path}").status_code == 200
    assert client.head(f"/p/{token}/").status_code == 200
    assert client.post(f"/p/{token}/").status_code == 405
    link.refresh_from_db()
    assert (link.uses, link.last_used_at) == (1, NOON)


def test_wrong_expired_withdrawn_and_other_links_open_nothing(client, agent) -> None:
    house_of(agent, "A")
    _, expired = make_portfolio_link(agent, made_at=NOON - timedelta(days=9), expires_at=NOON)
    _, withdrawn = make_portfolio_link(agent, withdrawn_at=NOON)
    _, erased = make_portfolio_link(make_party("Gone", erased_at=NOON))
    link, right = make_portfolio_link(agent)
    paths = [f"/p/{token}/" for token in ("wrong", expired, withdrawn, erased)] + [f"/s/{right}/"]
    answers = [client.get(path) for path in paths]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    PrivateLink.objects.filter(pk=link.pk).update(purpose="portfolio")
    assert client.get(f"/p/{right}/").status_code == 200


def test_headers_and_no_cookie(client, agent) -> None:
    site = house_of(agent, "A")
    client.force_login(anybody())
    _, token = make_portfolio_link(agent)
    for path in (
        "",
        "summary/",
        "summary/document/",
        f"units/{unit_of(site).pk}/",
        f"units/{unit_of(site).pk}/no-access/",
        "?as=csv",
    ):
        answer = client.get(f"/p/{token}/{path}")
        assert answer.status_code == 200
        assert answer["Cache-Control"] == "no-store"
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["X-Robots-Tag"] == "noindex, nofollow, noarchive"
        assert answer.cookies == {}
        assert b"<script" not in answer.content


def test_nothing_private_is_shown(client, agent) -> None:
    site = house_of(agent, "A", access_notes="alarm 4711")
    make_code(site, "9876")
    item = make_observation(site, "Cracked socket", reported_by="Tina Tenant")
    make_observation(site, "Buzzes, says Mr Nib", code="")
    make_remedial(item, see_to_first="asbestos, ask Fred")
    make_attempt(site, said="He has asthma", whom="Tina Tenant", by=make_user("Egon Plugwright", "engineer"))
    _, token = make_portfolio_link(agent)
    told = "".join(client.get(f"/p/{token}/{path}").content.decode() for path in ("", "summary/", "?as=csv"))
    assert told.count("Cracked socket") == 1  # in the file alone: a line says how it stands
    assert "Buzzes, says Mr Nib" not in told  # a caller's words, before anybody competent looked
    for secret in ("4711", "9876", "Tina", "Fred", "asthma", "Egon", "01632 960111", "petra@"):
        assert secret not in told


# --- the office -------------------------------------------------------------------------------------------------------


def test_the_office_reads_the_same(client, agent, mixed) -> None:
    client.force_login(anybody("office"))
    at = reverse("proof:portfolio", args=[agent.pk])
    assert at in client.get(reverse("premises:party", args=[agent.pk])).content.decode()
    office, customer = client.get(at), opened(client, agent)
    assert names_in(office) == names_in(customer)
    assert client.get(f"{at}?as=csv").content == opened(client, agent, "?as=csv").content
    unit = unit_of(mixed["Now"])
    assert "Open joint" in text_of(client.get(f"{at}units/{unit.pk}/"))
    assert "Danger now in 1 of 9 units" in text_of(client.get(f"{at}summary/"))
    other = unit_of(make_site("Of another"))
    missing = [f"{at}units/{other.pk}/", f"{at}units/{other.pk}/no-access/", f"{at}units/{unit.pk}/photos/{unit.pk}/"]
    assert {client.get(path).status_code for path in missing} == {404}
    assert "Choose one of those offered. It narrows nothing." in text_of(client.get(f"{at}?danger=x"))


# --- cost -------------------------------------------------------------------------------------------------------------


def filled(party, flats: int):
    """A block with that many flats: items, an inspection, a limitation, boards, visits and attempts in each."""
    block, units = block_of(party, *(f"Flat {n}" for n in range(1, flats + 1)))
    for unit in units:
        inspection = make_inspection(block, units=[unit])
        Limitation.objects.create(inspection=inspection, what="the loft")
        board = make_board(block, f"Board of {unit}")
        board.units.add(unit)
        inspection.boards.add(board)
        for code in ("C1", "C2", "C3"):
            remedial = make_remedial(
                make_observation(block, unit=unit, code=code, board=board), stage="booked", unit=unit
            )
            make_visit(block, remedial, start=NOON + timedelta(days=1))
        make_observation(block, unit=unit, ended="remedied", ended_on=TODAY)
        visit = make_visit(block)
        VisitLine.objects.create(visit=visit, kind="inspection", unit=unit, active=False)
        make_attempt(block, visit=visit)
        due(unit, TODAY + timedelta(days=30))
    make_attempt(block, said="At the gate")
    return units


@pytest.mark.parametrize("flats", [2, 10])
def test_statements(client, agent, flats, django_assert_num_queries) -> None:
    units = filled(agent, flats)
    _, token = make_portfolio_link(agent)
    with django_assert_num_queries(13):
        assert client.get(f"/p/{token}/").status_code == 200
    with django_assert_num_queries(12):
        assert client.get(f"/p/{token}/?as=csv&danger=now").content.count(b"Mill Court") == flats
    with django_assert_num_queries(14):
        assert client.get(f"/p/{token}/summary/").status_code == 200
    assert len(units) == flats


def test_summary_counts_each_thing_once(agent, mixed) -> None:
    remedial = make_remedial(mixed["Now"].observations.get(), stage="booked")
    make_visit(mixed["Now"], remedial, start=NOON + timedelta(days=1))
    make_remedial(mixed["Dangerous"].observations.get(), stage="quoted")
    make_remedial(mixed["Dangerous"].observations.get(), stage="declined", work="another way")
    make_observation(mixed["Clear"], ended="remedied", ended_on=TODAY - timedelta(days=365))
    make_observation(mixed["Clear"], ended="remedied", ended_on=TODAY - timedelta(days=366))
    make_observation(mixed["Clear"], ended="no-code", ended_on=TODAY)
    told = summary.summary(agent, now=NOON)
    assert dict(told.figures) == {
        "units": 9,
        "with a danger now: a C1 that is not made safe": 1,
        "with an open C1 or C2": 3,
        "with a C1 or C2 that is not made safe": 2,
        "with something to investigate or look at first": 2,
        "without an inspection on record": 1,
        "with their next inspection overdue": 1,
        "with it due within 90 days": 0,
        "where nobody let us in when we last came": 0,
    }
    assert [(c.code, c.open, c.made_safe, c.late, c.closed) for c in told.codes] == [
        ("C1", 2, 1, 0, 0), ("C2", 1, 0, 1, 1), ("FI", 1, 0, 0, 0), ("C3", 1, 0, 0, 0), ("", 1, 0, 0, 0),
    ]  # fmt: skip
    assert told.steps == (("booked", 1), ("waiting for your answer to a quote", 1), ("being decided or priced", 2))
    assert told.inspections == 8
    assert [place.name for place in told.worst] == ["Now", "Uncoded", "Made safe", "Dangerous", "Investigate"]
    assert remedial.stage == "booked"


@pytest.mark.parametrize(
    ("stages", "days", "step"),
    [
        (["booked"], 1, "booked"),
        (["booked"], -1, "booked for a day that is past, with no outcome recorded yet"),
        (["booked", "done"], 1, "booked"),
        (["booked", "declined"], 1, "declined"),
        (["done", "to-price"], 1, "being decided or priced"),
        (["done", "declined"], 1, "declined"),
        (["done", "cancelled"], 1, "done, the proof still to be reviewed"),
        ([], 1, "being decided or priced"),
    ],
)
def test_the_summary_says_of_a_repair_no_more_than_the_page_of_its_unit(agent, stages, days, step) -> None:
    site = make_site("A", customer=agent)
    item = make_observation(site, "Cracked", code="C2")
    works = [make_remedial(item, stage=stage, work=stage) for stage in stages]
    make_visit(site, *(work for work in works if work.stage == "booked"), start=NOON + timedelta(days=days))
    assert summary.summary(agent, now=NOON).steps == ((step, 1),)


def test_who_narrows_the_list_or_takes_it_away_opened_it_once(client, agent) -> None:
    make_site("A", customer=agent)
    link, token = make_portfolio_link(agent)
    for asked in ("", "?danger=now", "?page=2", "?as=csv"):
        assert client.get(f"/p/{token}/{asked}").status_code == 200
    link.refresh_from_db()
    assert link.uses == 1


# --- the next inspection ----------------------------------------------------------------------------------------------


def settled(unit, **fields):
    """The next inspection of `unit` as it is worked out after an inspection of today."""
    make_inspection(unit.site, units=[unit], outcome="satisfactory", **fields)
    settle_anew(unit, by=anybody(), now=NOON)


def test_of_a_home_of_which_no_letting_is_recorded_both_days_are_said(client, agent) -> None:
    owned, let = unit_of(house_of(agent, "Owned")), unit_of(house_of(agent, "Let", tenure="private-rented"))
    named = unit_of(house_of(agent, "Named"))
    settled(owned)
    settled(let)
    settled(named, next_due_on=date(2027, 2, 3))
    _, token = make_portfolio_link(agent)
    response = client.get(f"/p/{token}/")
    said = text_of(response)
    assert "3 Feb 2036 if it is not let; let, by 3 February 2031" in said
    assert "3 Feb 2031 by law" in said
    assert "3 Feb 2027 as the report says" in said
    assert "The next inspection of a home of which no letting is recorded here is due sooner if it is let." in said
    of_owned = text_of(client.get(f"/p/{token}/units/{owned.pk}/"))
    assert (
        "No letting is recorded here. If the home is let, it is due sooner, by 3 February 2031. SI 2020/312" in of_owned
    )
    assert "Check the current law." in of_owned
    for unit in (let, named):
        assert "No letting is recorded" not in text_of(client.get(f"/p/{token}/units/{unit.pk}/"))


def test_of_no_unit_the_summary_counts_no_noughts(client, agent) -> None:
    _, token = make_portfolio_link(agent)
    body = client.get(f"/p/{token}/summary/").content.decode()
    assert "No unit is on record here now" in body
    assert "<table" not in body
