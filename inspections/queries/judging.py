"""What is typed, judged before it is kept: the same judgement that keeping it gives."""

from collections.abc import Sequence

from inspections.operations.reading import Taken, Unlikely, judged, with_typed
from inspections.queries.sheets import Cell
from inspections.queries.situations import Ground, others_of
from inspections.standards.readings import Verdict
from jobsite.marks import verdict_mark
from jobsite.premises.models import Circuit
from jobsite.refused import Refused


def judge_cells(cells: Sequence[Cell], taken: Sequence[Taken], common: Ground, *, doubt: str = "") -> None:
    """Writes the verdict, or what stands in the way, onto those of `cells` that were `taken`. One statement.

    `doubt`: what speaks against the instrument, told beside every verdict that rests on one.
    """
    circuits = {one.place.pk: one.place for one in taken if isinstance(one.place, Circuit)}
    others = with_typed(others_of([*circuits.values()]) if circuits else {}, taken, [*circuits.values()])
    by_key = {cell.key: cell for cell in cells}
    for one in taken:
        cell = by_key.get((str(one.place.pk), one.quantity.value, one.test.multiple.value))
        if cell is None:
            continue
        try:
            verdict = verdict_words(judged(one, one.place, common, others.get(one.place.pk, {})))
            cell.verdict = verdict | ({"doubt": doubt} if one.value.ok is None else {})
        except Refused as refused:
            cell.error, cell.doubt = refused.sentence, isinstance(refused, Unlikely)


def verdict_words(verdict: Verdict) -> dict[str, str]:
    """A verdict for the place beside its field: short where it passes, in full where it doesn't."""
    short = verdict.limit.shown if verdict.limit else ""
    plain = verdict.passes and not verdict.warnings
    said = short if plain else " ".join(verdict.warnings) if verdict.passes else verdict.sentence
    return {"mark": verdict_mark(verdict.passes, RESULTS[verdict.result.value]), "words": said}


RESULTS = {"pass": "pass", "warning": "pass with a warning", "fail": "fail", "noted": "noted"}
