"""The page on which anybody who holds a document has it checked: nothing of the file is kept."""

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from jobsite.people.guard import open_to_all
from jobsite.people.opening import firm_to_ring
from jobsite.throttle import Limit, tried, tries
from remedials.status.proof.checking import KINDS_WORDS, MOST_BYTES, NOT_HERE, Checked, check_document, in_words

# Checking recomputes a part of the ledger, so whoever does nothing else is stopped. Many together shut it for nobody: what
# is looked at is bounded for each file, and in a rush to less. The figures are ours, as those of jobsite.throttle.
CHECKS = Limit("check", each=60, together=None)
RUSH = 1200  # tries of everybody in ten minutes
MOST_ENTRIES, FEW_ENTRIES = 2_000, 100  # on either side of what tells of it, and at the end of the ledger
BESIDES = 64 * 1024  # what a form has around its file
NO_FILE = "Choose the file that you have."
MOST_WORDS = f"{MOST_BYTES // 1024**2} MB"
TOO_LARGE = f"This file is larger than {MOST_WORDS}: ask us to check it."
LATER = "Many files were checked just now. Try this one again in a few minutes."


@csrf_exempt  # it changes nothing, and reads no cookie that another site could borrow
@open_to_all
@require_http_methods(["GET", "HEAD", "POST"])
def check(request: HttpRequest) -> HttpResponse:
    """Whether a file is ours and unaltered, for anybody who holds it."""
    if request.method != "POST":
        return _shown({})
    if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_BYTES + BESIDES:
        return _shown({"wrong": TOO_LARGE}, 413)
    if wait := tried(request, CHECKS):
        return _shown({"wrong": LATER}, 429, {"Retry-After": str(wait)})
    file = request.FILES.get("file")
    if not isinstance(file, UploadedFile) or not file.size:
        return _shown({"wrong": NO_FILE}, 422)
    if file.size > MOST_BYTES:
        return _shown({"wrong": TOO_LARGE}, 413)
    rush = tries(CHECKS, request.now.timestamp()) > RUSH  # type: ignore[attr-defined]
    checked = check_document(file.chunks(), most=FEW_ENTRIES if rush else MOST_ENTRIES)
    said = list(in_words(checked, stranger=True))
    return _shown({"checked": checked, "sentences": said, "tone": _tone(checked)})


def _tone(checked: Checked) -> str:
    """The class of the box that the answer stands in."""
    return "sheet" if checked.ours and checked.holds else "caution"


def _shown(context: dict[str, object], status: int = 200, headers: dict[str, str] | None = None) -> HttpResponse:
    # Rendered without the request: no session is read, so no cookie is set.
    context |= {"firm": firm_to_ring(), "most": MOST_WORDS, "kinds": KINDS_WORDS, "not_here": NOT_HERE}
    page = render_to_string("status/check.html", context)
    return HttpResponse(page, status=status, headers={"Cache-Control": "no-store", **(headers or {})})
