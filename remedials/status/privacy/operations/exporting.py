"""A customer's own data as one archive, made for the request and kept nowhere."""

import hashlib
import json
import tempfile
import zipfile
from datetime import date, datetime
from typing import IO
from uuid import UUID

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import read_file
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import facts_by_form
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day, joined
from remedials.status.privacy.operations.erasing import NOT_YOURS
from remedials.status.privacy.queries.export import files_about, kept_about
from remedials.status.verbs import Verb

IN_MEMORY = 8_000_000
"""Bytes above which the archive is written to a file of the machine's instead, which goes when it was sent."""
READ_ME = """What {firm} keeps about {name}
As of {on}

data.json       what is kept, by kind. Times are in UTC (ISO 8601).
files/          the documents that were given to you.
files.sha256    the SHA-256 of each of these files: "sha256sum -c files.sha256" checks them.

What is not in it: records about installations that name nobody, what is kept about other people (also what was said with
somebody else about a site of yours, and what is of a site from before it was yours), and the firm's own notes on its work.
How long what is kept, and why, says the page {page}.
If something in it is wrong, or you want it erased: {ask}
"""


@operation
def note_export(party: Party, *, id: UUID, asked_on: date, by: User, now: datetime) -> None:
    """Note that the data of `party` are handed over. The same form again: nothing more. Raises NotAllowed, Refused."""
    if not by.may(Right.KEEP_PRIVACY):
        raise NotAllowed(NOT_YOURS)
    if asked_on > clock.local_day(now):
        raise Refused("That day is still to come.", field="asked_on")
    if party.erased_at:
        raise Refused("The data of this customer were erased: there is nothing to hand over.")
    if facts_by_form(Verb.EXPORTED, party, id):
        return
    facts = {"form": str(id), "asked_on": asked_on.isoformat()}
    record(Verb.EXPORTED, site=None, subject=party, by=by, now=now, facts=facts)


def export_of(party: Party, *, page: str, now: datetime) -> IO[bytes]:
    """The archive, at its beginning. The same data give the same bytes on the same day; it is kept nowhere."""
    firm, out = the_firm(), tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - whoever answers with it closes it
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        ask = joined(firm.phone, firm.email, by=" or ") or firm.name
        words = READ_ME.format(firm=firm.name, name=party.name, on=day(clock.local_day(now)), page=page, ask=ask)
        _add(archive, "READ-ME.txt", words.encode())
        data = json.dumps(kept_about(party), indent=2, ensure_ascii=False, sort_keys=True, default=str)
        _add(archive, "data.json", data.encode())
        sums = []
        for name, file in files_about(party):
            try:
                content = read_file(file)
            except (OSError, ValueError):
                sums.append(f"# files/{name} was given to you, and is lost here")
                continue
            _add(archive, f"files/{name}", content)
            sums.append(f"{hashlib.sha256(content).hexdigest()}  files/{name}")
        _add(archive, "files.sha256", "".join(f"{line}\n" for line in sums).encode())
    out.seek(0)
    return out


def _add(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(
        name
    )  # its date is that of the format's beginning, so that the same data give the same bytes
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, content)
