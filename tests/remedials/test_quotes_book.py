"""The price book: its jobs, and its way out to a spreadsheet and back."""

from decimal import Decimal
from io import BytesIO

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from inspections.intake.reading import read_workbook
from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes.book.read import read_book
from remedials.quotes.book.written import written
from remedials.quotes.models import StandardJob
from remedials.quotes.operations.book import (
    Job,
    add_job,
    as_written,
    bring_back_job,
    edit_job,
    in_order,
    retire_job,
)
from remedials.quotes.operations.taking_in import digest, plan, take_in_book
from remedials.works.operations import Take
from tests.factories import make_job, recorded

COVER = Take("Cover", quantity=Decimal("2.5"), unit="m", cost_each=Decimal("3.33"), reference="00123")
JOB = Job("Fit a cover", "We fit a cover.", minutes=45, retests=("rcd", "joint"), items=(COVER,))


def read(data: bytes):
    return read_book(read_workbook(data, "book.xlsx"))


def take_in(data: bytes, by, now, **more):
    return take_in_book(read(data).jobs, file_hash="ab" * 32, by=by, now=now, **more)


def test_add_job_once(office, now) -> None:
    key = new_id()
    with recorded() as told:
        job = add_job(id=key, job=JOB, by=office, now=now)
    assert as_written(job) == in_order(JOB)
    item = {"kind": "material", "quantity": "2.5", "cost_each": "3.33"}
    facts = {"minutes": 45, "crew": 1, "retests": ["joint", "rcd"], "treatment": "standard", "items": [item]}
    (entry,) = told
    assert (entry.verb, entry.subject, entry.facts) == ("standard-job.added", key, facts)
    assert entry.words == {"name": "Fit a cover", "plain": "We fit a cover.", "items": "Cover"}
    with recorded() as told:
        assert add_job(id=key, job=JOB, by=office, now=now) == job
    assert told == []


def test_no_two_jobs_have_one_name_whatever_its_case(office, engineer, now) -> None:
    job = add_job(id=new_id(), job=JOB._replace(name="Ääkkönen  kansi"), by=office, now=now)
    with pytest.raises(Refused, match="has a job named “Ääkkönen kansi” already") as refused:
        add_job(id=new_id(), job=JOB._replace(name="ääkkönen KANSI"), by=office, now=now)
    assert refused.value.field == "name"
    retire_job(job, by=office, now=now)
    with pytest.raises(Refused, match="bring it back instead"):
        add_job(id=new_id(), job=JOB._replace(name="ÄÄKKÖNEN kansi"), by=office, now=now)
    with pytest.raises(NotAllowed):
        add_job(id=new_id(), job=JOB, by=engineer, now=now)


def test_edit_retire_and_bring_back(office, now) -> None:
    job = make_job()
    with recorded() as told:
        edit_job(job, job=JOB, version=1, by=office, now=now)
        edit_job(job, job=JOB, version=1, by=office, now=now)  # a second click
        retire_job(job, by=office, now=now)
        retire_job(job, by=office, now=now)
        bring_back_job(job, by=office, now=now)
        bring_back_job(job, by=office, now=now)
    assert [one.verb for one in told] == ["standard-job.edited", "standard-job.retired", "standard-job.brought-back"]
    with pytest.raises(ChangedMeanwhile):
        edit_job(job, job=JOB._replace(minutes=5), version=1, by=office, now=now)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 201}, "name"),
        ({"plain": ""}, "plain"),
        ({"minutes": 0}, "minutes"),
        ({"crew": 0}, "crew"),
        ({"treatment": "free"}, "treatment"),
        ({"retests": ("wine",)}, "retests"),
        ({"items": (COVER, COVER._replace(supplier="x" * 201))}, "items-1-supplier"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(office, now, changed, field) -> None:
    with pytest.raises(Refused) as refused:
        add_job(id=new_id(), job=JOB._replace(**changed), by=office, now=now)
    assert (refused.value.field, StandardJob.objects.count()) == (field, 0)


# --- the spreadsheet --------------------------------------------------------------------------------------------------

words = st.text(st.characters(blacklist_categories=("Cs",)), max_size=30)
pence = st.decimals(0, 10_000, places=2)
takes = st.builds(
    Take,
    what=words.filter(lambda text: any(c.isprintable() and not c.isspace() for c in text)),
    kind=st.sampled_from(["material", "access"]),
    quantity=st.decimals("0.001", 99_999, places=3),
    unit=words,
    cost_each=pence,
    markup_percent=st.none() | st.decimals(0, 1000, places=2),
    supplier=words,
    reference=words,
)
some_jobs = st.builds(
    Job,
    name=words.filter(lambda text: any(c.isprintable() and not c.isspace() for c in text)),
    plain=st.just("=1+1 <b>מנורה</b> 電気\nand more"),
    minutes=st.none() | st.integers(1, 100_000),
    crew=st.integers(1, 20),
    skill=words,
    retests=st.just(("rcd",)),
    certificate_kind=st.sampled_from(["", "minor works certificate"]),
    treatment=st.sampled_from(["standard", "reduced", "energy-saving"]),
    items=st.lists(takes, max_size=3).map(tuple),
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(job=some_jobs, retired=st.booleans())
def test_what_goes_out_comes_back_the_same(job, retired) -> None:
    try:
        job = in_order(job)
    except Refused:
        return  # nothing but characters that aren't text
    found = read(written([(job, retired)]))
    assert (found.faults, [(one.job, one.retired) for one in found.jobs]) == ([], [(job, retired)])


def test_text_is_never_a_formula() -> None:
    book = load_workbook(BytesIO(written([(JOB._replace(name="=HYPERLINK(1)", plain="+x"), False)])))
    assert [cell.data_type for cell in book["Jobs"][2]][:2] == ["s", "s"]


def test_the_same_file_again_changes_nothing(office, now) -> None:
    make_job(), make_job("Fit a lamp", retired_at=now, retests=["rcd"], items=[("Lamp", "9.99"), ("Screw", "0.01")])
    out = written([(as_written(job), job.retired_at is not None) for job in StandardJob.objects.all()])
    with recorded() as told:
        steps = take_in(out, office, now)
    assert ([step.change for step in steps], told) == (["unchanged", "unchanged"], [])


def test_take_in_adds_changes_retires_and_leaves_the_rest(office, now) -> None:
    kept, changed, gone = make_job("Kept"), make_job("Changed"), make_job("Gone")
    new = JOB._replace(name="新しい <i>仕事</i>")
    out = written(
        [(as_written(changed)._replace(name="CHANGED", minutes=5), False), (as_written(gone), True), (new, False)]
    )
    look = plan(read(out).jobs)
    assert [(step.change, step.what) for step in look] == [
        ("changed", "name, minutes"),
        ("changed", "retired"),
        ("new", ""),
    ]
    with recorded() as told:
        take_in(out, office, now, seen=digest(look))
    assert [one.verb for one in told] == [
        "standard-job.edited", "standard-job.edited", "standard-job.added", "price-book.taken-in",
    ]  # fmt: skip
    assert told[-1].facts == {"new": 1, "changed": 2, "file": "ab" * 32}
    for row in (kept, changed, gone):
        row.refresh_from_db()
    assert (kept.version, changed.name, changed.minutes, gone.retired_at) == (1, "CHANGED", 5, now)
    assert as_written(StandardJob.objects.get(name=new.name)) == in_order(new)
    with recorded() as told:
        take_in(out, office, now, seen=digest(look))  # a second click
    assert told == []


def test_what_was_looked_at_is_what_is_taken_in(office, now) -> None:
    job = make_job()
    out = written([(as_written(job)._replace(minutes=5), False)])
    seen = digest(plan(read(out).jobs))
    edit_job(job, job=as_written(job)._replace(minutes=6), version=1, by=office, now=now)
    with recorded() as told, pytest.raises(ChangedMeanwhile, match="look at it again"):
        take_in(out, office, now, seen=seen)
    assert told == []


def sheets(jobs, items, *, heads=("Name", "Plain words for the customer", "Minutes", "VAT", "Retired")) -> bytes:
    book = Workbook()
    book.active.title = "Jobs"
    for row in (heads, *jobs):
        book["Jobs"].append(row)
    book.create_sheet("Items")
    for row in (("Job", "What", "Quantity", "Cost each, pounds", "Kind"), *items):
        book["Items"].append(row)
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def test_each_faulty_row_is_named_with_a_sentence() -> None:
    jobs = [("A", "a", 10), ("B", "b", 1.5), ("a", "again"), ("C", ""), ("D", "d", "x"), ("E", "e", None, "free")]
    jobs += [("F", "f", None, None, "perhaps")]
    items = [("A", "Cover", 1, -1), ("Z", "Lamp", 1, 1), ("A", "Skip", 1, 80, "fixed"), ("A", "Box", "=1+", 1)]
    items += [("", "Clip", 1, 1), ("A", "Rail", 1, 1.005)]
    found = read(sheets(jobs, items))
    assert [(fault.sheet, fault.row, fault.sentence) for fault in found.faults] == [
        ("Jobs", 3, "Minutes: write a whole number."),
        ("Jobs", 4, "This name stands in row 2 already."),
        ("Jobs", 5, "Plain words for the customer: Say in plain words what is done: the customer reads it."),
        ("Jobs", 6, "Minutes: “x” is no number."),
        ("Jobs", 7, "VAT: Choose one of those offered."),
        ("Jobs", 8, "Retired: “perhaps” is neither yes nor no."),
        ("Items", 2, "Cost each, pounds: Write a cost from £0 to £1,000,000."),
        ("Items", 3, "The sheet Jobs has no job named “Z”."),
        ("Items", 6, "Say of which job it is."),
    ]


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "empty"),
        (b"%PDF-1.7", "This is a PDF"),
        (b"PK\x03\x04 no archive", "damaged"),
        (b"Name,Plain\na,b\n", "no sheet named Jobs"),
        (sheets([], [], heads=("Title",)), "no column “Name”"),
    ],
)
def test_a_file_that_is_no_price_book_is_refused_with_a_sentence(data, sentence) -> None:
    with pytest.raises(Refused, match=sentence):
        read(data)
