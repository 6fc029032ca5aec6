"""Which documents of a place there are to be had."""

from django.template.defaultfilters import filesizeformat

from jobsite.ledger.models import Document
from jobsite.words import when
from remedials.status.facts import Scope
from remedials.status.notices import notices_in
from remedials.status.proof.done_rows import any_done
from remedials.status.proof.kinds import OF_A_PLACE, Kind
from remedials.status.proof.shown import DocumentLine

MOST_NOTICES = 20


def documents_for(scope: Scope) -> list[DocumentLine]:
    """The documents of a site or unit, each made when it is opened, and the danger notices given there; addresses are
    relative to the page's. Three statements, whatever the size.
    """
    kept = _latest(scope)
    lines = []
    for kind in OF_A_PLACE:
        if kind == Kind.COMPLETION and not any_done(scope):
            continue
        lines.append(_line(kind.label, kind.says, kept.get((kind, None)), f"documents/{kind}/"))
    for notice in notices_in(scope).order_by("-number")[:MOST_NOTICES]:
        title = f"{Kind.NOTICE.label} {notice.number}"
        found = kept.get((Kind.NOTICE_COPY, notice.pk))
        lines.append(_line(title, Kind.NOTICE_COPY.says, found, f"documents/{Kind.NOTICE}-{notice.number}/"))
    return lines


def _latest(scope: Scope) -> dict[tuple[str, object], Document]:
    """The last document of each kind and subject. One statement."""
    unit = scope.units[0].pk if scope.one_unit else None
    found = Document.objects.filter(site=scope.site.pk, kind__in=[*OF_A_PLACE, Kind.NOTICE_COPY])
    found = found.filter(unit=unit) | found.filter(kind=Kind.NOTICE_COPY)
    latest = found.order_by("kind", "subject", "-made_at").distinct("kind", "subject").select_related("file")
    return {(document.kind, document.subject): document for document in latest}


def _line(title: str, says: str, document: Document | None, address: str) -> DocumentLine:
    made, size = ("", "") if document is None else (when(document.made_at), filesizeformat(document.file.size))
    return DocumentLine(title, says, made, size, address)
