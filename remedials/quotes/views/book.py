"""The price book: its list, its jobs, its way out to a spreadsheet and back. Rates and terms."""

import re
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections.intake.reading import read_workbook
from jobsite import clock
from jobsite.downloads import XLSX
from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.pages import act, bound, go, page, pager, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, Refused
from jobsite.words import many
from remedials.quotes.book.read import Read, read_book
from remedials.quotes.book.written import written
from remedials.quotes.forms import prices as forms
from remedials.quotes.forms.rows import ANOTHER, Rows, be_quiet
from remedials.quotes.models import StandardJob
from remedials.quotes.operations import book as operations
from remedials.quotes.operations.pricing import hours, work_out
from remedials.quotes.operations.taking_in import Change, digest, plan, take_in_book
from remedials.quotes.queries import pricing as queries
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.views.saying import for_the_office, say, the_job
from remedials.works.operations.taking import taken

HASH = re.compile(r"[0-9a-f]{64}")


@needs(Right.PRICE)
@for_the_office
def book(request: Request) -> HttpResponse:
    """The firm's standard jobs, by name."""
    filter_form = forms.BookFilter({name: request.GET.get(name, "") for name in ("q", "show")})
    filter_form.is_valid()
    picked = {name: filter_form.cleaned_data.get(name, "") for name in ("q", "show")}
    found = queries.book(text=picked["q"], show=picked["show"], after=request.GET.get("after", ""))
    context = {
        "rows": found.rows,
        "pager": pager(request, found),
        "filter": filter_form,
        "narrowed": any(picked.values()),
    }
    return page(request, "quotes/book.html", context, fragment="quotes/_book.html")


@needs(Right.PRICE)
def job(request: Request, pk: UUID) -> HttpResponse:
    """One standard job, and what it comes to by the rates of today."""
    row = the_job(request, pk)
    terms = terms_on(clock.local_day(request.now))
    wrong, worked = "", None
    try:
        items = taken(list(row.items.all()))
        worked = work_out(terms, minutes=row.minutes, crew=row.crew, skill=row.skill, items=items)
    except Refused as refused:
        wrong = refused.sentence
    context = queries.job_in_words(row, terms, worked) | {"job": row, "wrong": wrong}
    return page(request, "quotes/job.html", context)


@needs(Right.PRICE)
@for_the_office
def job_new(request: Request) -> HttpResponse:
    """A new standard job."""
    data = request.POST if request.method == "POST" else None
    form = forms.NewJobForm(data, initial={"id": new_id()}, skills=_skills(request))
    rows = forms.item_rows(data)

    def do() -> StandardJob:
        job = form.job(rows)
        return operations.add_job(id=form.cleaned_data["id"], job=job, by=request.user, now=request.now)

    return _job_page(request, form, rows, do, title="New standard job", back=reverse("quotes:book"))


@needs(Right.PRICE)
def job_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a standard job."""
    row = the_job(request, pk)
    data = request.POST if request.method == "POST" else None
    initial = {name: getattr(row, name) for name in (*operations.COLUMNS, "version")}
    form = forms.EditJobForm(data, initial=initial, skills=_skills(request), kind=row.certificate_kind)
    rows = forms.item_rows(data, row.items.all() if data is None else ())

    def do() -> StandardJob:
        version = form.cleaned_data["version"]
        return operations.edit_job(row, job=form.job(rows), version=version, by=request.user, now=request.now)

    back = reverse("quotes:job", args=[row.pk])
    return _job_page(request, form, rows, do, title=f"Change “{row.name}”", back=back)


def _skills(request: Request) -> list[str]:
    return sorted(hours(terms_on(clock.local_day(request.now))))


def _job_page(request: Request, form: Any, rows: Rows, do: Any, *, title: str, back: str) -> HttpResponse:
    if form.is_bound and ANOTHER in request.POST:
        be_quiet(form)
    if form.is_bound and ANOTHER not in request.POST and form.is_valid() & rows.is_valid():
        try:
            made = do()
        except Refused as refused:
            if not rows.show(refused):
                show_refusal(form, refused)
        else:
            say(request, "Saved in the price book.")
            return go(request, reverse("quotes:job", args=[made.pk]))
    failed = bool(form.is_bound and (form.errors or rows.errors) and ANOTHER not in request.POST)
    context = {"form": form, "rows": rows, "title": title, "back": back}
    return page(request, "quotes/job_form.html", context, status=422 if failed else 200)


@require_POST
@needs(Right.PRICE)
def job_retire(request: Request, pk: UUID) -> HttpResponse:
    """Take a standard job out of the price book."""
    row = the_job(request, pk)
    back = reverse("quotes:job", args=[pk])
    said = f"“{row.name}” is retired: nothing new is priced by it."
    return act(request, lambda: operations.retire_job(row, by=request.user, now=request.now), then=back, said=said)


@require_POST
@needs(Right.PRICE)
def job_bring_back(request: Request, pk: UUID) -> HttpResponse:
    """Put a retired job back into the price book."""
    row = the_job(request, pk)
    back = reverse("quotes:job", args=[pk])
    said = f"“{row.name}” is in the price book again."
    return act(request, lambda: operations.bring_back_job(row, by=request.user, now=request.now), then=back, said=said)


@needs(Right.PRICE)
@for_the_office
def book_file(request: Request) -> HttpResponse:
    """The whole price book as a spreadsheet, retired jobs too."""
    rows = StandardJob.objects.order_by("sort", "id").prefetch_related("items")
    data = written((operations.as_written(row), row.retired_at is not None) for row in rows)
    response = HttpResponse(data, content_type=XLSX)
    response["Content-Disposition"] = 'attachment; filename="price-book.xlsx"'
    response["Cache-Control"] = "private, no-store"
    return response


@needs(Right.PRICE)
@for_the_office
def book_take_in(request: Request) -> HttpResponse:
    """Send a price book as a spreadsheet, look at what it would change, then take it in."""
    if request.method == "POST" and "seen" in request.POST:
        return _take_in(request)
    form = bound(request, forms.BookFileForm)
    if form.is_bound and form.is_valid():
        data = form.cleaned_data["file"].read()
        try:
            found = read_book(read_workbook(data, form.cleaned_data["file"].name))
        except Refused as refused:
            form.add_error("file", refused.sentence)
        else:
            return _look(request, found, store_file(data, media_type=XLSX, now=request.now))
    return page(request, "quotes/book_file.html", {"form": form})


def _look(request: Request, found: Read, file: StoredFile, wrong: str = "") -> HttpResponse:
    """What the file would change: nothing is changed by looking."""
    steps = plan(found.jobs)
    counts = {kind.value: sum(step.change is kind for step in steps) for kind in Change}
    context = {
        "steps": [step for step in steps if step.change is not Change.UNCHANGED],
        "counts": counts,
        "faults": found.faults,
        "file": file.hash,
        "seen": digest(steps),
        "wrong": wrong,
        "may": not found.faults and bool(counts["new"] or counts["changed"]),
    }
    return page(request, "quotes/book_look.html", context, status=422 if wrong or found.faults else 200)


def _take_in(request: Request) -> HttpResponse:
    if not HASH.fullmatch(key := request.POST.get("file", "")):
        raise Http404
    file = get_object_or_404(StoredFile, pk=key, media_type=XLSX)
    try:
        found = read_book(read_workbook(read_file(file), "price-book.xlsx"))
        if found.faults:
            return _look(request, found, file)
        seen = request.POST["seen"]
        steps = take_in_book(found.jobs, file_hash=file.hash, seen=seen, by=request.user, now=request.now)
    except ChangedMeanwhile as changed:
        return _look(request, found, file, wrong=changed.sentence)
    except Refused as refused:
        form = forms.BookFileForm()
        return page(request, "quotes/book_file.html", {"form": form, "refused": refused})
    done = sum(step.change is not Change.UNCHANGED for step in steps)
    said = f"{many(done, 'job')} of the price book taken in." if done else "Everything in this file stands already."
    say(request, said)
    return go(request, reverse("quotes:book"))
