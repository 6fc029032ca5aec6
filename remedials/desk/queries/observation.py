"""One observation: what was written, what was decided, what was done, and what comes next."""

from datetime import date, datetime
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.db.models.functions import TruncDate

from inspections.choices import Decision, Ended, MadeSafeEnd, MadeSafeHow, MetersFound, NoticeAnswer, NoticeHow
from inspections.models import DangerNotice, MadeSafe, MeterComparison, Observation, ObservationPhoto, Review
from inspections.policy import no_competence
from inspections.queries.not_seen import not_confirmed, not_confirmed_words
from inspections.queries.observations import IN_DANGER
from jobsite import clock
from jobsite.addresses import address
from jobsite.kept_plans import plan_kept
from jobsite.marks import age_line_svg, code_mark, common_axis, mark_parts
from jobsite.people.models import Competence, User
from jobsite.people.rights import Right
from jobsite.words import LONDON, day, late, london, near_day, since, when
from remedials.desk.queries.columns import day_of, joined, listed, moment_of
from remedials.desk.queries.open_items import where
from remedials.due.queries import as_dicts, rows_to_read
from remedials.quotes.queries.around import lines_column
from remedials.works.models import ProofPhoto, Remedies, Waiting
from remedials.works.states import WORDS, Stage


def with_columns(observations: QuerySet[Observation]) -> QuerySet[Observation]:
    """`observations` with all that their page shows but the due rows. No statement of their own."""
    own = {"observation": OuterRef("pk")}
    return observations.select_related(
        "site", "unit", "board", "circuit__board", "inspection", "missed_in", "owner", "recorded_by", "continues"
    ).annotate(
        decisions=_decisions(own),
        held_rows=_made_safes(own),
        notices=_notices(),
        before=listed(ObservationPhoto.objects.filter(**own).order_by("added_at"), **PHOTO, caption="caption"),
        after=listed(ProofPhoto.objects.filter(**own, proof__state="stands").order_by("added_at"), **PHOTO),
        work=_work(own),
        quote_rows=lines_column(remedial__remedies__observation=OuterRef("pk")),
        waiting_rows=_waitings(own),
        meter_rows=_meters(own),
        unseen=listed(
            not_confirmed(),
            number="inspection__number",
            on="inspection__inspected_on",
            answer="answer",
            report="inspection_id",
        ),
        later=listed(_later(), id="id", number="number", code="code", text="text", on="recorded_on", ended="ended"),
    )


PHOTO = {"id": "id", "width": "width", "height": "height", "taken": "taken", "added_at": "added_at"}


def _decisions(own: dict[str, Any]) -> Any:
    rows = Review.objects.filter(**own).order_by("at", "id")
    return listed(
        rows, decision="decision", before="code_before", code="code", reason="reason", who="by__name", at="at"
    )


def _made_safes(own: dict[str, Any]) -> Any:
    rows = MadeSafe.objects.filter(**own).annotate(day=TruncDate("at", tzinfo=LONDON))
    competent = Competence.objects.on(OuterRef("day")).filter(user=OuterRef("by"))  # type: ignore[arg-type]
    return listed(
        rows.annotate(competent=Exists(competent)).order_by("-at"),
        id="id", how="how", what="what", agreed_with="agreed_with", lock="lock", key_holder="key_holder", at="at",
        who="by__name", look_again_on="look_again_on", looker="looker__name", ended="ended", ended_at="ended_at",
        photo="photo_id", no_photo="no_photo", competent="competent",
    )  # fmt: skip


def _notices() -> Any:
    return listed(
        DangerNotice.objects.filter(observations=OuterRef("pk")).order_by("-given_at"),
        id="id", number="number", why="why", advised="advised", given_to="given_to", how="how", at="given_at",
        who="given_by__name", answer="answer", answered_at="answered_at", answered_by="answered_by", note="answer_note",
    )  # fmt: skip


def _work(own: dict[str, Any]) -> Any:
    return listed(
        Remedies.objects.filter(**own).order_by("remedial__number"),
        id="remedial_id", number="remedial__number", work="remedial__work", stage="remedial__stage",
        owner="remedial__owner__name", by="remedial__step_by",
    )  # fmt: skip


def _waitings(own: dict[str, Any]) -> Any:
    return listed(
        Waiting.objects.filter(**own).order_by("-ended_at", "chase_on", "id"),
        id="id", on_whom="on_whom", for_what="for_what", reference="reference", asked="asked_on", chase="chase_on",
        promised="promised_for", owner="owner__name", ended_at="ended_at", ended_how="ended_how",
    )  # fmt: skip


def _meters(own: dict[str, Any]) -> Any:
    return listed(
        MeterComparison.objects.filter(**own, answered_by=None).order_by("-taken_at", "-id"),
        found="found", sentence="sentence", at="taken_at", who="taken_by__name",
    )  # fmt: skip


def _later() -> QuerySet[Observation]:
    return Observation.objects.filter(continues=OuterRef("pk"), draft=False).order_by("recorded_on", "number")


def observation_context(row: Any, user: User, *, now: datetime) -> dict[str, Any]:
    """What the page of `row` (read by `with_columns`) shows. One statement: its rows of the due list."""
    today = clock.local_day(now)
    # The site is named too: by it the view reaches its indexes.
    due = rows_to_read(user, today=today).filter(site=row.site_id, observation=row.pk)
    with plan_kept():
        rows = list(due.order_by("due", "kind"))
    steps = [_step(step, row, user) for step in as_dicts(rows, today=today, user=user)]
    axis = common_axis([(row.first_recorded_on, row.remedy_by)], today)
    return {
        "row": row,
        "mark": mark_parts(row.code, row.made_safe, row.ended == "remedied", row.needs_code),
        "where": where(row),
        "where_href": address("premises:board", row.board_id) if row.board_id else "",
        "site_href": address("desk:site", row.site_id),
        "state": _state(row),
        "age": age_line_svg(row.code, row.first_recorded_on, row.remedy_by, today, axis) if not row.ended else "",
        "since": since(row.first_recorded_on, today),
        "clocks": clocks(row, today),
        "origin": origin(row),
        "decisions": [_decision(decision) for decision in row.decisions],
        "held": [held_row(held, today) for held in row.held_rows],
        "notices": [_notice(notice) for notice in row.notices],
        "before": [photo_row("inspections:photo", photo, "As found") for photo in row.before],
        "after": [photo_row("works:photo", photo, "After the work") for photo in row.after],
        "work": [_remedial(work, today) for work in row.work],
        "waitings": [waiting_row(waiting, today) for waiting in row.waiting_rows],
        "meters": [_compared(meters) for meters in row.meter_rows],
        "meters_href": address("inspections:meters", row.pk),
        "earlier": _other(row.continues) if row.continues else None,
        "later": [_other_of_json(later) for later in row.later],
        "unseen": [] if row.ended else [_unseen(unseen) for unseen in row.unseen],
        "steps": steps,
        "alarm": IN_DANGER,
        "loose": any(step["loose"] for step in steps),
    }


def _step(step: dict[str, Any], row: Observation, user: User) -> dict[str, Any]:
    """A due row of this page: never a link to the page itself, but to the form that takes the step, where one may."""
    here = address("desk:observation", row.pk)
    if step["href"] != here:
        return step
    if step["kind"] == "decide" and user.may(Right.PLAN_WORK):
        return step | {"href": address("works:make", row.site_id, observation=row.pk)}
    return step | {"href": step["take_on"] if user.may(Right.INSPECT) else ""}


def _state(row: Observation) -> str:
    if row.draft:
        return "In a report that is still being written: it counts once the report is issued."
    if not row.ended:
        return ""
    return joined(f"{row.get_ended_display().capitalize()} on {day(row.ended_on)}", row.ended_reason, by=": ")


def origin(row: Observation) -> dict[str, str]:
    """Where it comes from: the report it stands in, or who told of it."""
    report = row.inspection
    if row.missed_in:
        return {
            "words": f"Added by {row.recorded_by} on the review of another firm's report: it had missed it",
            "href": address("inspections:codes", row.missed_in_id),
            "item": "",
        }
    if report is None:
        told = row.reported_by and f"told by {row.reported_by}, "
        return {"words": f"Reported without an inspection: {told}taken in by {row.recorded_by}", "href": "", "item": ""}
    firm = joined(report.firm_name if report.other_firm else "", report.inspector_name)
    return {
        "words": joined(f"{report.get_kind_display().capitalize()} of {day(report.inspected_on)}", firm),
        "href": address("inspections:inspection", report.pk),
        "item": f"item {row.item}" if row.item else "",
    }


def clocks(row: Observation, today: date) -> list[dict[str, str]]:
    """The dates that run for an open observation, kept apart, each with its rule."""
    if row.ended or row.draft:
        return []
    make_safe = None if row.made_safe else row.make_safe_by
    dates = [
        ("Make safe by", make_safe, "danger present: at once"),
        (
            "Remedy by",
            row.remedy_by,
            joined(row.remedy_basis.rstrip("."), "Check the current law." if row.remedy_by_law else "", by=". "),
        ),
    ]
    return [
        {"name": name, "by": near_day(by, today), "late": late(by, today), "basis": basis}
        for name, by, basis in dates
        if by
    ]


def _decision(decision: dict[str, Any]) -> dict[str, Any]:
    kind = Decision(decision["decision"])
    return {
        "who": decision["who"],
        "when": when(moment_of(decision["at"])),
        "words": kind.label,
        "before": code_mark(decision["before"]) if kind != Decision.AGREE else "",
        "after": code_mark(decision["code"]) if kind != Decision.NO_CODE else "",
        "reason": decision["reason"],
    }


def held_row(held: dict[str, Any], today: date) -> dict[str, Any]:
    """One temporary action: what was done, agreed with whom, who holds the key, when to look again, how it ended."""
    facts = [
        ("Done", joined(held["what"], f"{held['who']}, {when(moment_of(held['at']))}", by="; ")),
        ("Agreed with", held["agreed_with"]),
        ("Lock", held["lock"]),
        ("Key", held["key_holder"]),
        ("No photo", held["no_photo"]),
        ("Look again", "" if held["ended"] else joined(near_day(day_of(held["look_again_on"]), today), held["looker"])),
        ("Caution", "" if held["competent"] else no_competence(held["who"], _day_of_moment(held["at"]))),
    ]
    ended = f"{MadeSafeEnd(held['ended']).label} {when(moment_of(held['ended_at']))}" if held["ended"] else ""
    return {
        "photo": address("inspections:made_safe_photo", held["id"]) if held["photo"] else "",
        "how": MadeSafeHow(held["how"]).label.capitalize(),
        "ended": ended,
        "late": "" if held["ended"] else late(day_of(held["look_again_on"]), today),
        "facts": [(name, text) for name, text in facts if text],
    }


def _day_of_moment(text: str) -> str:
    moment = moment_of(text)
    return day(london(moment).date()) if moment else ""


def _notice(notice: dict[str, Any]) -> dict[str, Any]:
    answer = NoticeAnswer(notice["answer"]).label
    answered = moment_of(notice["answered_at"])
    return {
        "head": f"Danger notice {notice['number']}, given to {notice['given_to']}",
        "how": joined(NoticeHow(notice["how"]).label, when(moment_of(notice["at"])), f"by {notice['who']}"),
        "facts": [
            (name, text)
            for name, text in (("Why", notice["why"]), ("Advised", notice["advised"]), ("They said", notice["note"]))
            if text
        ],
        "answer": joined(answer.capitalize(), when(answered), notice["answered_by"] and f"by {notice['answered_by']}"),
        "pdf": address("inspections:notice_document", notice["id"]),
        "answer_href": "" if notice["answer"] else address("inspections:notice_answer", notice["id"]),
    }


def photo_row(page: str, photo: dict[str, Any], what: str) -> dict[str, Any]:
    """A photograph ready for `_photos.html`: its address, size and words."""
    caption = photo.get("caption") or ""
    taken = photo["taken"] or when(moment_of(photo["added_at"]))
    return {
        "src": address(page, photo["id"]),
        "width": str(photo["width"]),
        "height": str(photo["height"]),
        "alt": joined(what, caption, by=": "),
        "words": joined(caption, taken),
    }


def _compared(meters: dict[str, Any]) -> dict[str, str]:
    return {
        "found": MetersFound(meters["found"]).label.capitalize(),
        "sentence": meters["sentence"],
        "kept": joined(meters["who"], when(moment_of(meters["at"]))),
    }


def _remedial(work: dict[str, Any], today: date) -> dict[str, str]:
    by = near_day(day_of(work["by"]), today)
    return {
        "href": address("desk:remedial", work["id"]),
        "name": f"{work['number']}: {work['work']}",
        "stage": WORDS[Stage(work["stage"])],
        "who": joined(work["owner"], by and f"by {by}"),
    }


def waiting_row(waiting: dict[str, Any], today: date) -> dict[str, Any]:
    """Whom it waits on, for what, since when, what was promised, and who chases."""
    ended = moment_of(waiting["ended_at"])
    promised, asked = near_day(day_of(waiting["promised"]), today), day(day_of(waiting["asked"]))
    chase = near_day(day_of(waiting["chase"]), today)
    return {
        "on": waiting["on_whom"],
        "for": waiting["for_what"],
        "asked": joined(f"asked {asked}", promised and f"promised for {promised}", waiting["reference"]),
        "chase": "" if ended else f"{waiting['owner'] or 'nobody'} chases {chase}",
        "late": "" if ended else late(day_of(waiting["chase"]), today),
        "ended": f"ended {when(ended)}: {waiting['ended_how']}" if ended else "",
        "chase_href": "" if ended else address("works:chase", waiting["id"]),
        "end_href": "" if ended else address("works:end_waiting", waiting["id"]),
    }


def _unseen(row: dict[str, Any]) -> dict[str, str]:
    return {
        "href": address("inspections:earlier", row["report"]),
        "words": not_confirmed_words(row["number"], day_of(row["on"]), row["answer"]),
    }


def _other(row: Observation) -> dict[str, Any]:
    return {
        "href": address("desk:observation", row.pk),
        "code": code_mark(row.code, needed=row.needs_code),
        "words": f"observation {row.number} of {day(row.recorded_on)}: {row.text}",
    }


def _other_of_json(row: dict[str, Any]) -> dict[str, Any]:
    return {
        "href": address("desk:observation", row["id"]),
        "code": code_mark(row["code"], needed=row["ended"] != Ended.NO_CODE),
        "words": f"observation {row['number']} of {day(day_of(row['on']))}: {row['text']}",
    }
