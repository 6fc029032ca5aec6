"""A version of a quote as a PDF, set of what it says and nothing else: the same words, the same document."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from jobsite.documents import Made, make_document
from jobsite.ledger.rules import Head
from jobsite.words import day as in_words
from jobsite.words import money
from remedials.quotes.rules.wording import paragraphs, place_words

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "quote.typ"
# What a code means, for whoever reads no condition report. The words are those of its model form, shortened.
GROUPS = {
    "C1": "Danger present",
    "C2": "Potentially dangerous",
    "FI": "To be investigated without delay",
    "C3": "Improvement recommended",
    "": "Other work",
}


def quote_document(said: Mapping[str, Any], *, heads: Iterable[Head], now: datetime, draft: bool = False) -> Made:
    """The document of a version that says `said`, made at `now`. No statement is made. `draft`: it says that it is one."""
    title = f"Quote {said['number']}, version {said['version']}{' (draft, not sent)' if draft else ''}"
    firm = said["firm"]["name"]
    return make_document(
        TEMPLATE, document_facts(said), title=title, about=f"{title}: {said['name']}", firm=firm, now=now, heads=heads
    )


def document_facts(said: Mapping[str, Any]) -> dict[str, Any]:
    """`said` as the template takes it: sums and dates in words, lines numbered, what is optional apart."""
    lines = said["lines"]
    numbers = {line["key"]: number for number, line in enumerate(lines, 1)}
    rows = [_row(line, said, numbers) for line in lines]
    firm = said["firm"]
    return {
        "firm": [firm["name"], *firm["address"].splitlines(), firm["phone"], firm["email"]],
        "phone": firm["phone"],
        "to": [said["to"]["name"], *said["to"]["address"].splitlines()],
        "name": said["name"],
        "particulars": _particulars(said),
        "text_before": said["text_before"],
        "text_after": said["text_after"],
        "consumer": said["consumer"],
        "columns": _columns(said),
        "groups": _groups([row for row in rows if not row["optional"]]),
        "optional": _groups([row for row in rows if row["optional"]]),
        "dangers": any(line["code"] in ("C1", "C2") for line in lines),
        "totals": _totals(said),
        "total_words": said["totals"]["words"],
        "reverse_charge_words": said["reverse_charge_words"],
        "energy_note": said["energy_note"],
        "cancellation": _rights(said["cancellation"]),
        "form": said["cancellation_form"],
        "begin": said["begin"],
        "slip": [[str(row["number"]), row["short"], row["sums"][0]] for row in rows if row["answered"]],
        "slip_head": _columns(said)[0],
        "valid_until": _day(said["valid_until"]),
        "title": f"quote {said['number']}, version {said['version']}",
    }


def _day(iso: str | None) -> str:
    return in_words(date.fromisoformat(iso)) if iso else ""


def _pounds(text: str) -> str:
    return money(Decimal(text))


def _particulars(said: Mapping[str, Any]) -> list[list[str]]:
    sites = [place_words(site["name"], site["address"]) for site in said["sites"]]
    rows = [
        ["Site" if len(sites) == 1 else "Sites", "\n".join(sites)],
        ["Date", _day(said["on"])],
        ["Stands until", f"{_day(said['valid_until'])}, that day included"],
        ["Work done by", _day(said["work_until"])],
        ["VAT number", said["firm"]["vat_number"]],
        ["Variation of", f"quote {said['variation_of']}" if said["variation_of"] else ""],
    ]
    return [row for row in rows if row[1]]


def _columns(said: Mapping[str, Any]) -> list[str]:
    """The heads of the sums of a line: with VAT first for a consumer, net first for a business."""
    if said["reverse_charge"]:
        return ["Price", "VAT rate"]
    if not said["vat_registered"]:
        return ["Price"]
    return ["With VAT", "VAT", "Without"] if said["consumer"] else ["Without VAT", "VAT", "With VAT"]


def _row(line: Mapping[str, Any], said: Mapping[str, Any], numbers: Mapping[str, int]) -> dict[str, Any]:
    return {
        "number": numbers[line["key"]],
        "words": line["words"],
        "short": _short(line["words"]),
        "where": line["where"],
        "danger": line["danger"],
        "code": line["code"],
        "notes": _notes(line, said["lines"], numbers),
        "sums": _sums(line, said),
        "optional": line["optional"],
        "answered": line["kind"] == "work",
    }


def _short(words: str) -> str:
    first = words.split("\n", 1)[0]
    return first if len(first) <= 70 else f"{first[:68].rstrip()} …"


def _sums(line: Mapping[str, Any], said: Mapping[str, Any]) -> list[str]:
    price, vat, to_pay = _pounds(line["price"]), _pounds(line["vat"]), _pounds(line["to_pay"])
    rate = f"{line['percent']} %"
    if said["reverse_charge"]:
        return [price, rate]
    if not said["vat_registered"]:
        return [price]
    return [to_pay, f"{vat}\n{rate}", price] if said["consumer"] else [price, f"{vat}\n{rate}", to_pay]


def _notes(line: Mapping[str, Any], lines: list[dict[str, Any]], numbers: Mapping[str, int]) -> list[str]:
    """What goes with a line, in words: alternatives, what it needs, how sure its price is."""
    notes = []
    if line["either"]:
        others = [numbers[o["key"]] for o in lines if o["either"] == line["either"] and o["key"] != line["key"]]
        if others:
            notes.append(f"Either this or {_listed(others, 'or')}: choose one of them.")
    needed = [numbers[key] for key in line["needs"] if key in numbers]
    if needed and line["kind"] == "work":
        notes.append(f"Only together with {_listed(sorted(needed), 'and')}.")
    if line["kind"] == "call-out":
        about = f" of {_listed(sorted(needed), 'or')}" if needed else ""
        notes.append(f"Charged once with whatever{about} is accepted.")
    if line["certainty_words"]:
        notes.append(line["certainty_words"])
    return notes


def _listed(numbers: list[int], last: str) -> str:
    words = [str(number) for number in numbers]
    named = f" {last} ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
    return f"line{'s' if len(words) > 1 and last == 'and' else ''} {named}"


def _groups(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows one after the other with the same code stand together under what it means; no heads where they are mixed."""
    groups: list[dict[str, Any]] = []
    for row in rows:
        if not groups or groups[-1]["code"] != row["code"]:
            groups.append({"code": row["code"], "words": GROUPS[row["code"]], "rows": []})
        groups[-1]["rows"].append(row)
    if len({group["code"] for group in groups}) < len(groups) or (len(groups) == 1 and not groups[0]["code"]):
        return [{"code": "", "words": "", "rows": rows}]
    return groups


def _totals(said: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The totals in the order in which this customer reads them: words, sum, whether it is the one that counts."""
    totals = said["totals"]
    net, to_pay = _pounds(totals["net"]), _pounds(totals["to_pay"])
    if not said["vat_registered"]:
        return [_total("Total", to_pay, main=True)]
    rates = [_total(f"{rate['words']} of {_pounds(rate['net'])}", _pounds(rate["vat"])) for rate in totals["rates"]]
    if said["reverse_charge"]:
        due = _total("VAT that you account for to the tax authority", _pounds(totals["reverse_vat"]))
        return [_total("Total to pay to us", to_pay, main=True), *rates, due]
    if said["consumer"]:
        return [_total("Total with VAT", to_pay, main=True), *rates, _total("Total without VAT", net)]
    return [_total("Total without VAT", net, main=True), *rates, _total("Total with VAT", to_pay, main=True)]


def _total(words: str, pounds: str, *, main: bool = False) -> dict[str, Any]:
    return {"words": words, "sum": pounds, "main": main}


def _rights(cancellation: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The right to cancel under the document's own heading."""
    return {**cancellation, "words": "\n".join(paragraphs(cancellation["words"]))} if cancellation else None
