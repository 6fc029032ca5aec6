"""What the description of the API says at its beginning: how a program signs in, changes something, and reads what it is told."""

from typing import Any

from django.conf import settings

from jobsite.api.keyset import KeysetPages
from jobsite.ledger.operations_once import KEPT

MEGABYTES = settings.DATA_UPLOAD_MAX_MEMORY_SIZE // (1024 * 1024)
# Relative: wherever this description was read from is where the service is.
SERVERS = [{"url": "/", "description": "The service that gave this description."}]
LIMIT = (
    "Each person, and each token, may ask {most} times a minute, one address {together} times; beyond that the answer is 429 with "
    "the seconds to wait in `Retry-After`."
)
NO_LIMIT = "This service counts no requests."
DESCRIPTION = f"""\
What pages of the service show can be read here, and what they do can be done, by the same people, with the same rights and the
same refusals. A site that you may not see is not there (404); what you may see and not do is refused (403).

## Signing in

A program shows a **personal token**: `Authorization: Bearer TOKEN`. Somebody makes one on the page "Other programs", for
reading only or for changes too, with a day on which it ends, at most a year ahead. It may do what its person may at that
moment. It ends by hand, with its day, when its person leaves, gets another password or is signed out everywhere. A browser's
session serves too; a change then needs the CSRF token as every form does.

## Reading

A noun has a list, `/api/v1/boards/`, and its rows, `/api/v1/boards/{{id}}/`. Keys are UUIDs; numbers are those that people say. A list
comes in **pages** of {KeysetPages.page_size} rows (`page_size`: at most {KeysetPages.max_page_size}) in an order that stays: follow `next` until it is
null, and make no `cursor` of your own. A list is narrowed by its parameters; one that there is not, or that says nothing, is refused
(400), so that a misspelt one never gives you everything.

## Changing

Whatever changes anything is a `POST` to a **verb**, `/api/v1/remedials/{{id}}/close/`; there is no PUT, PATCH or DELETE. Fields that
nothing reads are refused.

- **`Idempotency-Key`** (always): a text of your own in quotes, a new one for each change and the same one when you send it again,
  since you heard no answer. What was done is done once; the same answer comes again, with `X-Again: yes`. Kept for {KEPT.days} days.
- **`If-Match`** (where it is asked for): the version that you saw, in quotes, from the `ETag` of the row or its `version`. If somebody
  changed it meanwhile nothing is done, and the answer is 412 with the present `version`, null where none is counted. `*` stands for any.
- An **`id`** in a body is made by you: a UUID, best of version 7. The same again makes no second row.

## What is refused

Each refusal (but 414, which the server gives before it reads anything) is a **problem document** (RFC 9457, `application/problem+json`). `detail` is a sentence for a person; show it. `errors`
has sentences by field. `type` tells apart what has the same status, such as `urn:problem:rows:unknown`: a body names a row that is
not there. 409 is no error of the program: it cannot be done as things stand.

## Values

A field takes its own kind of JSON and no other: a text for a text, true or false, a number for a whole number.
Sums are text, in pounds sterling to the penny (`"120.00"`), and say whether VAT is in them. Days are those of London (`2026-11-24`);
instants have their offset (`2026-11-24T09:30:00Z`) and are answered in UTC. Other exact numbers are text too. Electrical quantities
are in amperes (`_a`), milliamperes (`_ma`), kiloamperes (`_ka`), volts (`_v`), ohms, megohms and square millimetres (`_mm2`); durations in
minutes or days, as the name says. Codes are C1, C2, C3 and FI; an empty one is not coded yet.

## Limits

{{limit}} A body of JSON is at most {MEGABYTES} MB, a file 20 MB.

## Caution

What is read here never makes it safe to work: prove dead at the point of work, by your firm's procedure. Limits and intervals of the
law change; check the law that holds where the site is.
"""


def described(result: dict[str, Any]) -> dict[str, Any]:
    """`result` with what stands at its beginning."""
    most = settings.API_REQUESTS_A_MINUTE
    limit = LIMIT.format(most=most, together=most * 5) if most else NO_LIMIT
    info = result["info"] | {"description": DESCRIPTION.replace("{limit}", limit)}
    return result | {"info": info, "servers": SERVERS}
