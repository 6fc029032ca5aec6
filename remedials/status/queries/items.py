"""The items of a customer's page, each with what it means, what happens, by when, and its pictures."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain, zip_longest
from textwrap import shorten
from typing import Any
from uuid import UUID

from django.utils.safestring import SafeString

from inspections.choices import Ended
from inspections.models import Observation
from jobsite import clock
from jobsite.marks import code_mark
from jobsite.words import late, span
from remedials.status import facts, rules, shown
from remedials.status.queries.standing import where, whose_report

SAFE = {"locked": "isolated and locked", "covered": "covered", "disconnected": "disconnected"}
AT_A_GLANCE = 2  # pictures of an item on a page of many
LETTERS_AT_A_GLANCE = 400  # of each text of an item there
Photos = dict[UUID, list[shown.Photo]]


@dataclass
class Items:
    """Makes what is shown of items; `whole`: all of each, else what a page of many has room for."""

    known: facts.Facts
    now: datetime
    whole: bool = False

    def all(self, rows: Sequence[Any]) -> tuple[shown.Item, ...]:
        """`rows` as items. Two statements."""
        photos = _photos(rows, self.known)
        return tuple(self._done(o, photos) if o.ended else self._open(o, photos) for o in rows)

    def _open(self, o: Any, photos: Photos) -> shown.Item:
        works = tuple(filter(None, (self._work(o, row) for row in self._remedies(o))))
        by = o.remedy_by if o.code != "C3" else None
        return shown.Item(
            **self._common(o, photos),
            mark=code_mark(o.code, bool(o.safe_at)),
            meaning=rules.meaning(o.code, safe=bool(o.safe_at)),
            by=rules.long_day(by) if by else "",
            late=late(by, clock.local_day(self.now)),
            basis=rules.basis_words(o.remedy_basis, whose_report(o)) if by else "",
            by_law=bool(by and o.remedy_by_law),
            says=tuple(self._says(o, works=bool(works))),
            advice=self._read(o.advised or ""),
            notice=o.notice,
            works=works,
        )

    def _done(self, o: Any, photos: Photos) -> shown.Item:
        rows = self._remedies(o)
        followed = any(later.continues_id == o.pk for later in self.known.observations)
        looked, reviewed = any(row.looked for row in rows), any(row.accepted for row in rows)
        words = rules.ended_words(o.ended, facts.closed_on(o), reviewed=reviewed, followed=followed, looked=looked)
        works = [row.remedial.work for row in rows if row.remedial.stage in facts.CLOSED and not row.shared]
        return shown.Item(
            **self._common(o, photos),
            mark=code_mark(o.code, closed=o.ended == Ended.REMEDIED) if o.code else SafeString(""),
            meaning=rules.meaning(o.code, closed=True),
            by="",
            late="",
            basis="",
            by_law=False,
            says=(words,),
            advice="",
            notice=None,
            works=tuple(shown.Work(self._read(work), "") for work in works),
        )

    def _common(self, o: Any, photos: Photos) -> dict[str, Any]:
        its = photos.get(o.pk, [])
        few = its if self.whole else its[:AT_A_GLANCE]
        texts = (o.text, *(row.remedial.work for row in self._remedies(o)))
        return {
            "number": o.number,
            "text": self._read(o.text),
            "where": where(o, self.known),
            "first_recorded": rules.long_day(o.first_recorded_on),
            "photos": tuple(few),
            "photos_more": len(its) - len(few),
            "cut": not self.whole and any(len(text) > LETTERS_AT_A_GLANCE for text in texts),
        }

    def _read(self, text: str) -> str:
        """`text` as a customer reads it, cut where the page has no room for more."""
        text = self.known.reads.words(text)
        if self.whole or len(text) <= LETTERS_AT_A_GLANCE:
            return text
        return shorten(text, LETTERS_AT_A_GLANCE, placeholder="…") or f"{text[:LETTERS_AT_A_GLANCE]}…"

    def _remedies(self, o: Observation) -> list[Any]:
        return self.known.remedies.get(o.pk, [])  # type: ignore[return-value]

    def _work(self, o: Observation, row: Any) -> shown.Work | None:
        """What a customer hears of one remedial of an open item; None for one that was cancelled."""
        stands = rules.work_words(
            row.remedial.stage,
            code=o.code,
            booked=span(row.starts, row.ends) if row.starts else "",
            over=bool(row.ends and row.ends <= self.now),
            done_on=clock.local_day(row.done_at) if row.done_at else None,
            said_no_on=row.said_no_on,
            ask_again_on=row.ask_again_on,
        )
        return shown.Work("" if row.shared else self._read(row.remedial.work), stands) if stands else None

    def _says(self, o: Any, *, works: bool) -> list[str]:
        said = []
        if o.safe_at:
            safe = rules.long_day(clock.local_day(o.safe_at))
            said.append(f"Made safe for now on {safe}: {SAFE[o.safe_how]}. Leave it so: it still has to be put right.")
        if o.told_at:
            told = rules.long_day(clock.local_day(o.told_at))
            when = f"{told}, when this was item {o.told_as}" if o.told_as else told
            said.append(f"Written notice of the danger was given on {when}.")
        if o.waits:
            promised = rules.promised_words(o.promised, late(o.promised, clock.local_day(self.now)))
            said.append(f"It waits on somebody outside our firm{promised}.")
        return said if works else [*said, rules.undecided_words(o.code)]


def letters_of(item: shown.Item) -> int:
    """How much an item says, by which a page is filled: what all items say alike weighs nothing."""
    parts = (item.text, item.where, item.basis, item.advice, *(work.what for work in item.works))
    return sum(map(len, parts)) + 80 * len(item.photos)


def _photos(items: Iterable[Any], known: facts.Facts) -> Photos:
    """The photographs of `items`: one from before beside one from after, as long as there are both. Two statements."""
    texts = {o.pk: o.text for o in items}
    before: Photos = defaultdict(list)
    after: Photos = defaultdict(list)
    for row in facts.photos_before(known.scope).filter(observation__in=texts):
        before[row.observation_id].append(_photo(row, "Before", texts[row.observation_id]))
    of_remedial: dict[UUID, set[UUID]] = defaultdict(set)
    for key, rows in known.remedies.items():
        for remedy in rows:
            of_remedial[remedy.remedial_id].add(key)
    for taken in facts.photos_after(known.scope).filter(remedial__in=of_remedial):
        for key in {taken.observation_id} if taken.observation_id else of_remedial[taken.remedial_id]:
            if key in texts:
                after[key].append(_photo(taken, "After the work", texts[key]))
    pairs = {key: zip_longest(before[key], after[key]) for key in texts}
    return {key: [photo for photo in chain.from_iterable(pair) if photo] for key, pair in pairs.items()}


def _photo(row: Any, words: str, text: str) -> shown.Photo:
    return shown.Photo(row.pk, words, f"{words}: {shorten(text, 120, placeholder='…')}", row.width, row.height)
