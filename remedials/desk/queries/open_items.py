"""What is open at a site: each observation with its next step, read from the due list."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.choices import Code, MadeSafeHow
from inspections.models import MadeSafe, Observation
from inspections.queries.not_seen import not_confirmed, not_confirmed_words
from jobsite.addresses import address
from jobsite.kept_plans import plan_kept
from jobsite.marks import Axis, age_line_svg, code_mark, common_axis
from jobsite.people.models import User
from jobsite.premises.graph import Mark
from jobsite.premises.models import Site
from jobsite.words import day, many, near_day, since
from remedials.desk.queries.columns import ORDER_OF_CODES, day_of, joined, listed
from remedials.due.models import DueRow
from remedials.due.queries import (
    ALARM,
    NO_DATE,
    have_it_address,
    in_hand_words,
    leading_row,
    mark_of,
    overdue,
    owner_words,
    rows_due,
    step_address,
)
from remedials.works.models import Remedies
from remedials.works.states import CARRYING, WORDS, Stage

Steps = dict[UUID | None, DueRow | None]


def open_observations(site: Site) -> list[Observation]:
    """Open observations of `site`, the worst and oldest first, with what was made safe and their remedials. One statement."""
    held = MadeSafe.objects.filter(observation=OuterRef("pk"), ended="")
    work = Remedies.objects.filter(observation=OuterRef("pk")).order_by("remedial__number")
    rows = Observation.objects.open().filter(site=site).select_related("unit", "board", "circuit")
    rows = rows.annotate(
        held=listed(held, how="how", lock="lock", key_holder="key_holder", look_again_on="look_again_on"),
        unseen=listed(not_confirmed()[:1], number="inspection__number", on="inspection__inspected_on", answer="answer"),
        work=listed(work, id="remedial__id", number="remedial__number", stage="remedial__stage"),
    )
    with plan_kept():
        found = list(rows)
    return sorted(found, key=lambda row: (ORDER_OF_CODES.index(row.code), row.first_recorded_on, row.number))


def steps_of(site: Site, user: User, *, today: date) -> tuple[Steps, Steps]:
    """The leading due row of each observation, and of each remedial, of `site`. One statement."""
    of_either = Q(observation__isnull=False) | Q(remedial__isnull=False)
    with plan_kept():
        rows = list(rows_due(user, today=today).filter(of_either, site=site).select_related("owner"))
    return _leading(rows, "observation"), _leading(rows, "remedial")


def _leading(rows: Iterable[DueRow], of: str) -> Steps:
    found: dict[UUID | None, list[DueRow]] = defaultdict(list)
    for row in rows:
        found[getattr(row, of)].append(row)
    return {key: leading_row(mine) for key, mine in found.items()}


def open_rows(
    observations: Iterable[Observation], steps: tuple[Steps, Steps], user: User, *, today: date
) -> list[dict[str, Any]]:
    """Open observations as dicts of ready strings for `user`. No statement."""
    observations = list(observations)
    axis = common_axis([(row.first_recorded_on, row.remedy_by) for row in observations], today)
    return [_row(row, _step(row, *steps), user, axis, today) for row in observations]


def _step(row: Any, by_observation: Steps, by_remedial: Steps) -> DueRow | None:
    """The next step of an observation: its own, or that of the remedial that carries it."""
    if row.pk in by_observation:
        return by_observation[row.pk]
    carried = (by_remedial.get(UUID(work["id"])) for work in row.work if work["stage"] in CARRYING)
    return next((step for step in carried if step), None)


def _row(row: Any, step: DueRow | None, user: User, axis: Axis, today: date) -> dict[str, Any]:
    return {
        "code": code_mark(row.code, row.made_safe),
        "letters": row.code,
        "key": str(row.pk),
        "text": row.text,
        "href": address("desk:observation", row.pk),
        "where": where(row),
        "held": held_words(row.held[0], today) if row.held else "",
        "unseen": not_confirmed_words(**row.unseen[0] | {"on": day_of(row.unseen[0]["on"])}) if row.unseen else "",
        "work": [(address("desk:remedial", w["id"]), work_words(w, row.code)) for w in row.work],
        "age": age_line_svg(row.code, row.first_recorded_on, row.remedy_by, today, axis),
        "since": since(row.first_recorded_on, today),
        "overdue": overdue(row.code, row.remedy_by, today),
        **_step_words(step, user, today),
    } | ({"mark": format_html('<span class="late">{}</span>', ALARM)} if row.alarming else {})


def _step_words(step: DueRow | None, user: User, today: date) -> dict[str, Any]:
    if step is None:
        return {
            "step": "",
            "step_href": "",
            "who": "",
            "by": "",
            "mark": "",
            "in_hand": "",
            "have_it": "",
            "loose": False,
        }
    return {
        "step": step.next_step,
        "step_href": step_address(step, user),
        "who": step.waits_on or owner_words(step.owner),
        "by": near_day(step.due, today) if step.due != NO_DATE else "no date",
        "mark": mark_of(step, today),
        "in_hand": in_hand_words(step, today),
        "have_it": have_it_address(step, user, today),
        "loose": step.loose,
    }


def where(row: Any) -> str:
    """The unit, board, way and place of an observation, as far as they are known; a plain house has no unit."""
    unit = "" if row.unit.whole_site else row.unit.name
    way = f"way {row.circuit.way_name}" if row.circuit else ""
    return joined(unit, row.board.designation if row.board else "", way, row.place)


def held_words(held: dict[str, Any], today: date) -> str:
    """What stands made safe: how, who holds the key, when to look again."""
    lock = f"lock {held['lock']}" if held.get("lock") else ""
    key = f"key with {held['key_holder']}" if held["key_holder"] else ""
    look = f"look again {near_day(day_of(held['look_again_on']), today)}"
    return f"Made safe, still open: {joined(MadeSafeHow(held['how']).label, lock, key, look)}"


def work_words(work: dict[str, Any], code: str = "") -> str:
    """ "remedial 12 approved"; of an investigation that was declined, that it is unresolved."""
    unresolved = ": unresolved investigation" if code == Code.FI and work["stage"] == Stage.DECLINED else ""
    return f"remedial {work['number']} {WORDS[Stage(work['stage'])]}{unresolved}"


def marks_by_board(observations: Iterable[Observation]) -> dict[str, list[Mark]]:
    """Open items for the supply drawing, in the order given: by board, code, and whether made safe."""
    counts: dict[tuple[str, str, bool], int] = defaultdict(int)
    for row in observations:
        if row.board_id and row.code:
            counts[str(row.board_id), row.code, row.made_safe] += 1
    marks: dict[str, list[Mark]] = defaultdict(list)
    for (board, code, made_safe), count in counts.items():
        marks[board].append(Mark(code, count, made_safe))
    return dict(marks)


def tally(marks: Iterable[Mark]) -> list[tuple[SafeString, str]]:
    """The open items of a board as marks with their counts."""
    ranked = sorted(marks, key=lambda mark: (ORDER_OF_CODES.index(mark.code), mark.made_safe))
    return [(code_mark(mark.code, mark.made_safe), str(mark.count)) for mark in ranked]


def action_required(observations: Iterable[Observation], today: date) -> list[SafeString]:
    """What the law or the firm's policy still asks for: a sentence for each code C1, C2, FI that is open."""
    sentences = []
    rows = list(observations)
    for code in (Code.C1, Code.C2, Code.FI):
        mine = [row for row in rows if row.code == code]
        if mine:
            sentences.append(_asked(code, mine))
    return sentences


def _asked(code: Code, rows: list[Observation]) -> SafeString:
    mark = code_mark(code, all(row.made_safe for row in rows))
    dated = sorted((row for row in rows if row.remedy_by), key=lambda row: row.remedy_by or NO_DATE)
    if not dated:
        return format_html("{} {} open, no date to remedy by.", mark, many(len(rows), "item"))
    first = dated[0]
    law = " Check the current law." if first.remedy_by_law else ""
    words = f"{many(len(rows), 'item')} open, the first to be remedied by {day(first.remedy_by)}"
    return format_html("{} {} ({}).{}", mark, words, first.remedy_basis.rstrip(".") or "no rule recorded", law)
