"""One row of every kind that an address can name, and every address of the service with such a row in it."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from inspections import models as found
from jobsite.firm.models import Policy, Progress
from jobsite.firm.operations import beat
from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.ledger.photographs import store_photograph
from jobsite.messages.models import Message
from jobsite.people.links import token_hash
from jobsite.people.models import WorkingWeek
from jobsite.premises.models import PartyAtUnit
from remedials.due.operations.stopping import token_of
from remedials.status.models import Erasure
from remedials.visits.models import Attendance, Feed, Visit, VisitLine
from remedials.works import models as works
from tests.factories import (
    NOON,
    TODAY,
    make_access_time,
    make_answered,
    make_attempt,
    make_board,
    make_board_document,
    make_bundle,
    make_check,
    make_check_in,
    make_circuit,
    make_closed_days,
    make_code,
    make_comparison,
    make_competence,
    make_copy_link,
    make_correction,
    make_costing,
    make_diary_terms,
    make_fault,
    make_hold,
    make_inspection,
    make_inspection_due,
    make_instrument,
    make_job,
    make_key,
    make_leave,
    make_leaving,
    make_link,
    make_link_of_circuits,
    make_observation,
    make_occupancy_change,
    make_occupier,
    make_offer,
    make_paper,
    make_paper_request,
    make_plan,
    make_portfolio_link,
    make_printed_attempts,
    make_proposal,
    make_quote_link,
    make_reading,
    make_remedial,
    make_reminder,
    make_report_copy,
    make_second_source,
    make_see_to,
    make_sent_offer,
    make_site,
    make_skill,
    make_switching_test,
    make_take_out,
    make_terms,
    make_times_link,
    make_times_offer,
    make_token,
    make_told,
    make_undertaking,
    make_unit,
    make_verification,
    make_visit_link,
    supply_of,
    unit_of,
)
from tests.remedials.work import photo_bytes

CALENDAR = "C" * 43  # the token of somebody's calendar address
ROUTE_PART = re.compile(r"<(?:(\w+):)?(\w+)>")


def everything(by) -> dict[str, Any]:
    """The key of a row by the word before it in an address ("sites", "boards" …); `by` is somebody who may do anything."""
    site = make_site(phases=("L1", "L2", "L3"))
    unit, board = unit_of(site), make_board(site)
    circuit, other = make_circuit(board), make_circuit(board)
    draft = make_inspection(site, issued=False, by=by)
    file = store_file(b"%PDF-1.7", media_type="application/pdf", now=NOON)
    issued = make_inspection(site, by=by, file=file, file_name="report.pdf")
    noted = make_observation(site, "Noted", inspection=draft, draft=True)
    observation = make_observation(site, "Seen", code="C1", inspection=issued, board=board, circuit=circuit)
    remedial = make_remedial(observation, stage="approved")
    by_kind = {
        "sites": site,
        "units": make_unit(site),
        "supplies": supply_of(site),
        "boards": board,
        "circuits": circuit,
        "feeds": board.feeds.get(),
        "circuit-links": make_link_of_circuits(circuit, other),
        "sources": (source := make_second_source(board)),
        "second-sources": source,
        "parties": site.customer,
        "switching-tests": make_switching_test(circuit, alive=[board], by=by),
        "papers": make_paper(site),
        "verifications": make_verification(circuit),
        "board-documents": make_board_document(board),
        "customers": site.customer,
        "unit-parties": PartyAtUnit.objects.create(unit=unit, party=site.customer, role="owner", since=TODAY),
        "people": by,
        "tokens": make_token(by),
        "sessions": 1,
        "instruments": make_instrument(),
        "competences": make_competence(by),
        "skills": make_skill(by),
        "away": make_leave(by),
        "working-weeks": WorkingWeek.objects.create(user=by, holds_from=TODAY, recorded_by=by),
        "policies": Policy.objects.create(holds_from=TODAY),
        "private-links": make_link(site)[0],
        "archives": make_bundle(site, by=by),
        "take-out": make_take_out(by=by),
        "report-copies": (copy := make_report_copy(make_inspection(site), by=by)),
        "holds": make_hold(site),
        "erasures": Erasure.objects.create(
            party=site.customer, asked_on=TODAY, erased={"why": "asked", "rows": {}}, kept=[], by=by, at=NOON
        ),
        "calendar-addresses": Feed.objects.create(user=by, token_hash=token_hash(CALENDAR), made_by=by, made_at=NOON),
        "inspections": draft,
        "limitations": found.Limitation.objects.create(inspection=draft, what="the loft"),
        "draft-observations": noted,
        "code-reviews": found.Review.objects.create(
            observation=observation, decision="recode", code="C1", reason="r", by=by, at=NOON
        ),
        "inspections-due": make_inspection_due(unit),
        "occupancy-changes": make_occupancy_change(unit, by=by),
        "paper-requests": make_paper_request(issued, by=by),
        "meter-comparisons": make_comparison(make_observation(site, "To find out", code="FI"), by=by),
        "fact-corrections": make_correction(by=by),
        "observations": observation,
        "remedials": remedial,
        "price-book": make_job(),
        "terms": make_terms(holds_from=date(2020, 1, 1)),
        "costings": make_costing(remedial),
        "quotes": (offer := make_offer(sites=[site], prices=[{"words": "Make good"}], by=by)).quote,
        "offers": offer,
        "quote-lines": offer.lines.get(),
        "quote-links": make_quote_link(offer)[0],
    }
    rows = (
        by_kind
        | _of_observations(site, observation, by)
        | _of_works(site, remedial, circuit, by)
        | _of_others(site, by, file)
    )
    for part in ("sweep", "sending"):
        beat(part, now=NOON)
    work = make_remedial(make_observation(site, "To plan"), stage="approved")
    rows["proposals"] = make_proposal(make_plan(by=by, engineers=[by]), work, engineers=[by])
    rows["plans"] = rows["proposals"].plan
    held = rows["made-safe"].observation_id
    quoted = make_answered(make_sent_offer(make_remedial(make_observation(site, code="C2")), by=by))
    rows |= {word: row for word, row in quoted.items() if word != "q"}
    named = {
        "q": quoted["q"],
        "calendar": CALENDAR,
        "copy": make_copy_link(copy)[1],
        "v": make_visit_link(rows["visits"], by=by)[1],
        "t": make_times_link(rows["times-offers"])[1],
        "p": make_portfolio_link(site.customer)[1],
        "documents": "outstanding",
        "stop": token_of(make_reminder(site)),
    }
    loose = make_observation(site, "Nobody's yet", owner=None)
    make_undertaking("decide", loose.pk, by=by)
    named["loose"] = loose.pk
    named["export"] = new_id()
    return (
        named
        | {word: getattr(row, "pk", row) for word, row in rows.items()}
        | {"noted": noted.pk, "issued": issued.pk, "held": held}
    )


def _of_observations(site, observation, by) -> dict[str, Any]:
    file, picture = store_photograph(photo_bytes(), now=NOON)
    size = {"width": picture.width, "height": picture.height}
    notice = found.DangerNotice.objects.create(
        number=1, site=site, why="bare", advised="keep away", given_to="P", how="hand", given_at=NOON, given_by=by
    )
    notice.observations.add(observation)
    held = make_observation(site, "Held", code="C1", made_safe=True)
    return {
        "notices": notice,
        "photos": found.ObservationPhoto.objects.create(
            observation=observation, file=file, added_by=by, added_at=NOON, **size
        ),
        "made-safe": found.MadeSafe.objects.create(
            observation=held,
            how="covered",
            what="tape",
            agreed_with="P",
            at=NOON,
            by=by,
            look_again_on=TODAY,
            photo=file,
        ),
    }


def _of_works(site, remedial, circuit, by) -> dict[str, Any]:
    file, picture = store_photograph(photo_bytes(), now=NOON)
    certificate = store_file(b"%PDF-1.7 certificate", media_type="application/pdf", now=NOON)
    waiting = {"on_whom": "N", "for_what": "f", "asked_on": TODAY, "chase_on": TODAY, "recorded_by": by}
    booked = make_remedial(make_observation(site, "Booked"), stage="booked")
    visit = Visit.objects.create(
        number=1, site=site, start=NOON, end=NOON + timedelta(hours=2), booked_by=by, booked_at=NOON
    )
    Attendance.objects.create(visit=visit, engineer=by, start=visit.start, end=visit.end)
    VisitLine.objects.create(visit=visit, remedial=booked)
    read = make_reading(circuit, by=by)
    return {
        "readings": read,
        "instrument-checks": make_check(read.instrument, file=certificate),
        "recalls": make_fault(read.instrument),
        "required-readings": works.RequiredReading.objects.create(remedial=remedial, circuit=circuit),
        "waiting": works.Waiting.objects.create(site=site, remedial=remedial, **waiting),
        "proofs": works.Proof.objects.create(
            remedial=booked, done_by=by, done_at=NOON, state="reopened", certificate_file=certificate
        ),
        "proof-photos": works.ProofPhoto.objects.create(
            remedial=remedial, file=file, width=picture.width, height=picture.height, added_by=by, added_at=NOON
        ),
        "visits": visit,
        "attempts": make_attempt(site, visit=visit, by=by, photo=file, letter=certificate),
        "printed-attempts": make_printed_attempts(site, by=by),
        "access-times": make_access_time(site),
        "closed-days": make_closed_days(site),
        "keys": make_key(site),
        "alarm-codes": make_code(site),
        "to-see-to": make_see_to(site, owner=by),
        "check-ins": make_check_in(visit, by),
        "times-offers": make_times_offer(site, by=by),
        "occupiers": make_occupier(unit_of(site)),
        "diary-terms": make_diary_terms(),
        **make_told(remedial, visit, by=by),
    }


def _of_others(site, by, file) -> dict[str, Any]:
    progress = Progress.objects.create(what="reading", changed_at=NOON)
    intake = found.Intake.objects.create(
        id=new_id(), site=site, unit=unit_of(site), kind="boards", file=file, file_name="boards.xlsx", progress=progress,
        uploaded_by=by, uploaded_at=NOON,
    )  # fmt: skip
    message = Message.objects.create(
        occasion="test", to_kind="staff", to_id=by.pk, address="someone@example.com", subject="s", body="b",
        state="failed", written_at=NOON, next_try_at=NOON, settled_at=NOON, site=site.pk,
    )  # fmt: skip
    letter = make_leaving(site, by=by, letter=file, proof=file, taken_back_at=NOON)
    paper = make_paper(site, "what was made and handed over")
    document = paper.documents.create(file=file, name="covering-letter.pdf", made_by=by, made_at=NOON)
    supply = paper.supplies.create(
        form=new_id(), to="A", came="given", how="hand", on=TODAY, document=document, file=file, file_name="receipt.pdf",
        recorded_by=by, recorded_at=NOON,
    )  # fmt: skip
    handed = {"paper-documents": document, "paper-supplies": supply}
    return handed | {"intake": intake, "intakes": intake, "messages": message, "closing-letters": letter}


@dataclass(frozen=True)
class Route:
    """One address: `where` as the URL configuration has it, `path` with rows in it, `view` the function behind it."""

    where: str
    path: str
    view: Any


def all_routes(keys: dict[str, Any], token: str) -> list[Route]:
    """Every address of the service. Fails for a row that this module does not know."""
    routes = []
    for where, pattern in _patterns(get_resolver()):
        routes.append(Route(where, "/" + _filled(where, keys, token), pattern.callback))
    return routes


def _patterns(resolver: URLResolver, before: str = ""):
    for entry in resolver.url_patterns:
        where = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _patterns(entry, where)
        elif isinstance(entry, URLPattern):
            yield where, entry


# Addresses of the sign-in library that are regular expressions.
BY_EXPRESSION = {
    "accounts/^confirm-email/(?P<key>[-:\\w]+)/$": "accounts/confirm-email/x/",
    "accounts/^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$": "accounts/password/reset/key/1-x/",
}
FIXED = {"which": "outstanding", "kind": "boards", "data": "messages", "key": "insulation.to-500-v"}


# One row cannot be in every state: these ask for another than the word before them names.
OF_ANOTHER = {
    "inspections/<uuid:pk>/file/": "issued",
    "inspections/<uuid:pk>/codes/": "issued",
    "observations/<uuid:pk>/change/": "noted",
    "observations/<uuid:pk>/drop/": "noted",
    "observations/<uuid:pk>/look-again/": "held",
    "observations/<uuid:pk>/reconnect/": "held",
}


def _filled(where: str, keys: dict[str, Any], token: str) -> str:
    if where in BY_EXPRESSION:
        return BY_EXPRESSION[where]
    if where in OF_ANOTHER:
        return ROUTE_PART.sub(str(keys[OF_ANOTHER[where]]), where)
    if "due/<slug:kind>/" in where:
        where = where.replace("<slug:kind>", "decide").replace("<uuid:ref>", str(keys["loose"]))
    parts = where.split("/")
    for at, part in enumerate(parts):
        if match := ROUTE_PART.search(part):
            parts[at] = part.replace(match[0], _value(match, parts[at - 1], keys, token))
    return "/".join(parts)


def _value(match: re.Match[str], word: str, keys: dict[str, Any], token: str) -> str:
    if match[2] == "token":
        return str(keys.get(word, token))
    if match[1] == "int":
        return "2026" if match[2] == "year" else "1"
    return FIXED.get(match[2]) or str(keys[word])
