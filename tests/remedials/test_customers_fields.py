"""An allow-list of fields for each page and document of customers: what is not in the table fails here."""

from pathlib import Path

import pytest

from tests.remedials.customers_fields import (
    NOT_FOR_CUSTOMERS,
    TOP,
    customers_templates,
    documents,
    fields_of_document,
    fields_of_shown,
    fields_of_template,
    shown_modules,
)
from tests.remedials.customers_fields_allowed import DOCUMENTS, PAGES, SHOWN

ADD = "customers may read it? then add it to tests/remedials/customers_fields_allowed.py"
NEVER = (
    "access", "alarm", "code_sealed", "surname", "sealed", "mind", "vulnerab", "margin", "cost", "password", "token_hash",
    "staff", "private_note",
)  # fmt: skip
FINE = {
    "no_access",
    "shut_out",
    "page.no_access",
    "costs",
    "line.no_access",
}  # that nobody let us in, not how to get in


def name_of(path: Path) -> str:
    return path.relative_to(TOP).as_posix()


def test_every_customers_template_is_in_the_table_and_reads_what_it_allows() -> None:
    found = {name_of(path): fields_of_template(path) for path in customers_templates()}
    allowed = {name: set(names.split()) for name, names in PAGES.items()}
    assert sorted(found) == sorted(allowed), ADD
    more = {name: sorted(names - allowed[name]) for name, names in found.items() if names - allowed[name]}
    assert more == {}, ADD
    less = {name: sorted(allowed[name] - names) for name, names in found.items() if allowed[name] - names}
    assert less == {}, "no page reads this any more: take it off the table"


def test_every_document_is_in_the_table_and_reads_what_it_allows() -> None:
    templates = documents()
    assert set(templates) == set(DOCUMENTS) | set(NOT_FOR_CUSTOMERS), ADD
    found = {name: fields_of_document(templates[name]) for name in DOCUMENTS}
    more = {name: sorted(names - set(DOCUMENTS[name].split())) for name, names in found.items()}
    assert {name: names for name, names in more.items() if names} == {}, ADD
    less = {name: sorted(set(DOCUMENTS[name].split()) - names) for name, names in found.items()}
    assert {name: names for name, names in less.items() if names} == {}, "no document reads this any more"


def test_every_module_of_what_is_shown_is_in_the_table() -> None:
    assert shown_modules() == sorted(SHOWN), ADD


@pytest.mark.parametrize("module", SHOWN)
def test_what_is_shown_has_the_fields_of_the_table(module) -> None:
    assert fields_of_shown(module) == {name: set(names.split()) for name, names in SHOWN[module].items()}, ADD


def test_no_table_allows_what_no_customer_may_ever_read() -> None:
    names = {n for table in (PAGES, DOCUMENTS) for text in table.values() for n in text.split()}
    names |= {n for table in SHOWN.values() for text in table.values() for n in text.split()}
    wrong = {name for name in names if any(word in name for word in NEVER)} - FINE
    assert wrong == set()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("{{ page.title|upper }}", {"page.title"}),
        ("{% if page.open and not item.by_law %}x{% endif %}", {"page.open", "item.by_law"}),
        ("{% for item in page.open|slice:limit %}{{ item.text }}{% endfor %}", {"item", "page.open", "item.text"}),
        ('{% include "a/b.html" with row=page.rows %}', {"row", "page.rows"}),
        ("{% url 'status:site' page.token %}", {"page.token"}),
        ("{{ engineer.surname|default:'nobody' }}", {"engineer.surname"}),
    ],
)
def test_what_a_template_reads_is_found(tmp_path, text, found) -> None:
    path = tmp_path / "one.html"
    path.write_text(text)
    assert fields_of_template(path) == found


def test_what_a_document_reads_is_found(tmp_path) -> None:
    path = tmp_path / "one.typ"
    path.write_text('#import "house.typ": *\n// facts.nothing\n#facts.surname\n#facts.rows.map(row => [#row.price])')
    assert fields_of_document(path) == {"facts.surname", "row.price", "facts.rows"}
