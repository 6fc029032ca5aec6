"""The words of an e-mail that brings a paper."""

from inspections.models import Paper
from inspections.queries.documents import CONFIRMATION, NOTICE, kind_of, place_of
from inspections.queries.occupiers import occupiers_on
from jobsite.firm.queries import the_firm
from jobsite.premises.models import Party
from jobsite.words import day

REASON = "paper-sent"  # the reason of such a message; its document is what the reason refers to
SUBJECTS = {
    CONFIRMATION: "Works on the electrical installation confirmed",
    NOTICE: "Notification of electrical work",
    "": "Report on the electrical installation",
}


def subject_and_body(paper: Paper, name: str, party: Party | None, *, with_file: bool) -> tuple[str, str]:
    """Subject and words of the message that brings `paper` to `name`.

    To the owner or the agent it says what the law asks them to pass on: the duty is theirs. To everybody else it brings the
    paper itself.
    """
    kind, firm = kind_of(paper), the_firm()
    where = place_of(paper.unit)
    what = {CONFIRMATION: "the written confirmation of the works", NOTICE: "a notification of our work"}.get(
        kind, "a copy of the report on the electrical installation"
    )
    attached = "They are attached." if with_file and kind != NOTICE else "It is attached."
    lines = [f"Dear {name},", f"This brings {what} at {where}. {attached}"]
    if not with_file and kind != NOTICE and paper.inspection_id:
        lines.append("The report itself is not attached: you have it, or ask us for it.")
    if party is not None and paper.owed_by == "landlord" and not _lives_there(paper, party):
        lines.append(
            f"The law asks the landlord for it, as we understand it: {paper.basis} The last day is {day(paper.due_on)}. "
            "Please pass it on, and tell us when and to whom, so that we can keep the record. Check the current law."
        )
    else:
        lines.append("Please keep it, and tell us that it reached you: a short answer to this e-mail is enough.")
    lines.append("\n".join(filter(None, [firm.name, firm.phone, firm.email])))
    return f"{SUBJECTS.get(kind, SUBJECTS[''])}: {paper.unit.site.name}", "\n\n".join(lines) + "\n"


def _lives_there(paper: Paper, party: Party) -> bool:
    return party in occupiers_on(paper.unit, paper.event_on or paper.due_on)
