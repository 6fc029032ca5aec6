"""One observation, as the forms about it show it above what is asked."""

from datetime import date
from typing import Any

from django.db.models import Q

from inspections.models import DangerNotice, MadeSafe, Observation
from inspections.policy import competence_caution
from inspections.queries import shown
from jobsite import words
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.sorting import sort_key

MOST_SITES = 20
# Common practice: what whoever answers the telephone may say. More than that is for competent people.
IN_DANGER = (
    "Say to whoever is there: keep away and keep others away; switch off only what can be reached without going near it; "
    "do not touch anybody who is being shocked before the power is off. Fire, or somebody hurt: 999. A damaged, hot or wet "
    "meter, main fuse, service cable or overhead line: the network operator's emergency number. Then ask a competent "
    "person to speak to them at once."
)


def observation_facts(observation: Observation, today: date) -> dict[str, Any]:
    """What stands above every form about an observation (read with its site, unit, board and circuit). One statement."""
    recorded = f"Recorded {words.day(observation.recorded_on)}"
    if observation.first_recorded_on != observation.recorded_on:
        recorded = f"First recorded {words.day(observation.first_recorded_on)}"
    return {
        "number": str(observation.number),
        "href": back_of(observation),
        "site": observation.site.name,
        "where": shown.where(observation, with_unit=not observation.unit.whole_site),
        "text": observation.text,
        "mark": shown.mark(observation),
        "written": shown.written(observation),
        "age": f"{recorded} · {words.since(observation.first_recorded_on, today)}",
        "reported_by": observation.reported_by,
        "photos": photo_rows(observation),
        **shown.dues(observation, today),
    }


def back_of(observation: Observation) -> str:
    """The page that an observation belongs to: its report while that is a draft, else its own."""
    if observation.draft:
        return address("inspections:inspection", observation.inspection_id)
    return address("desk:observation", observation.pk)


def photo_rows(observation: Observation) -> list[dict[str, Any]]:
    """The photos of the defect as found, oldest first."""
    return [
        {
            "src": address("inspections:photo", photo.pk),
            "width": str(photo.width),
            "height": str(photo.height),
            "alt": photo.caption or f"Photo of observation {observation.number}",
        }
        for photo in observation.photos.order_by("added_at", "pk")
    ]


def review_history(observation: Observation) -> list[dict[str, str]]:
    """Every decision on the code, newest first: who, when, what, why. One statement."""
    return [
        {
            "when": words.when(row.at),
            "by": row.by.name,
            "what": f"{row.get_decision_display()}: {row.code or 'no code'} (was {row.code_before or 'not coded'})",
            "why": row.reason,
        }
        for row in observation.reviews.select_related("by").order_by("-at", "-pk")
    ]


def standing_made_safe(observation: Observation) -> MadeSafe | None:
    """What was made safe on it and still stands."""
    return observation.made_safes.select_related("by", "looker").filter(ended="").first()


def made_safe_facts(made: MadeSafe) -> list[tuple[str, str]]:
    """What was made safe, as pairs of a head and its words, empty ones left out. One statement."""
    pairs = [
        ("Made safe", f"{words.when(made.at)} by {made.by.name}"),
        ("How", made.get_how_display()),
        ("What", made.what),
        ("Agreed with", made.agreed_with),
        ("Lock", made.lock),
        ("Key held by", made.key_holder),
        ("No photo", made.no_photo),
        ("Look again", words.day(made.look_again_on)),
        ("Caution", competence_caution(made)),
    ]
    return [(head, said) for head, said in pairs if said]


def notices_of(observation: Observation) -> list[dict[str, str]]:
    """The danger notices that were given about it, newest first. One statement."""
    return [notice_row(row) for row in observation.danger_notices.select_related("given_by").order_by("-given_at")]


def notice_row(row: DangerNotice) -> dict[str, str]:
    """A danger notice in words; `answer_at` is the form for its answer where there is none yet."""
    return {
        "number": str(row.number),
        "given": f"{words.when(row.given_at)} by {row.given_by.name}, {row.get_how_display()}",
        "to": row.given_to,
        "why": row.why,
        "advised": row.advised,
        "answer": answer_words(row),
        "pdf": address("inspections:notice_document", row.pk),
        "answer_at": "" if row.answer else address("inspections:notice_answer", row.pk),
    }


def answer_words(row: DangerNotice) -> str:
    """What was answered, when and by whom; "" for no answer yet."""
    if not row.answer:
        return ""
    by = f"by {row.answered_by}" if row.answered_by else ""
    return words.joined(f"{row.get_answer_display()} {words.when(row.answered_at)}", by, row.answer_note)


def sites_for_call(user: User, text: str) -> list[dict[str, str]]:
    """The first sites whose name, address or post code holds what was typed. One statement; none for no words."""
    text = " ".join(text.split())
    if not text:
        return []
    rows = Site.objects.visible_to(user).current()
    for word in text.split()[:6]:
        rows = rows.filter(_holds(word))
    return [
        {"key": str(row.pk), "name": row.name, "address": row.one_line}
        for row in rows.order_by("sort", "pk")[:MOST_SITES]
    ]


def _holds(word: str) -> Any:
    return Q(sort__contains=sort_key(word)) | Q(address__icontains=word) | Q(postcode__icontains=word)


def open_dangers_near(observation: Observation) -> Any:
    """The open observations of its site that a danger notice could be about: not C3."""
    rows = Observation.objects.filter(site=observation.site_id, ended="").exclude(code="C3")
    return rows.order_by("number")
