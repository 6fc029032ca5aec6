"""Who may do what: one table from right to roles. Competence is kept apart (`Competence`), with dates."""

from enum import StrEnum


class Role(StrEnum):
    OFFICE = "office"
    ENGINEER = "engineer"
    MANAGER = "manager"


class Right(StrEnum):
    SEE_WORK = "see-work"  # due list, sites, boards, observations, remedials
    KEEP_PREMISES = "keep-premises"  # boards, circuits, feeds: what is there
    KEEP_CUSTOMERS = "keep-customers"  # parties, sites, units and who answers for them
    TAKE_IN = "take-in"  # another firm's report, a board list
    REPORT_DEFECT = "report-defect"  # somebody rang; found something else
    INSPECT = "inspect"  # inspections, observations, made safe, danger notices, readings
    REVIEW_CODES = "review-codes"  # needs competence besides
    PLAN_WORK = "plan-work"  # remedials, approval, declining, waiting on
    PRICE = "price"  # costs, prices, quotes, the price book: never shown to engineers
    BOOK = "book"  # visits
    DO_WORK = "do-work"  # close a remedial with proof
    REVIEW_PROOF = "review-proof"  # needs competence besides
    SHARE_STATUS = "share-status"  # private links
    DRAW_PROOF = "draw-proof"  # what was known on a day as one bundle, the assessor's pack
    KEEP_PRIVACY = "keep-privacy"  # holds, how long what is kept, exports and erasures
    SEE_MESSAGES = "see-messages"
    KEEP_PEOPLE = "keep-people"
    KEEP_FIRM = "keep-firm"


OFFICE, ENGINEER, MANAGER = Role.OFFICE, Role.ENGINEER, Role.MANAGER

ROLES_WITH: dict[Right, frozenset[Role]] = {
    Right.SEE_WORK: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.KEEP_PREMISES: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.KEEP_CUSTOMERS: frozenset({OFFICE, MANAGER}),
    Right.TAKE_IN: frozenset({OFFICE, MANAGER}),
    Right.REPORT_DEFECT: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.INSPECT: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.REVIEW_CODES: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.PLAN_WORK: frozenset({OFFICE, MANAGER}),
    Right.PRICE: frozenset({OFFICE, MANAGER}),
    Right.BOOK: frozenset({OFFICE, MANAGER}),
    Right.DO_WORK: frozenset({ENGINEER}),
    Right.REVIEW_PROOF: frozenset({OFFICE, ENGINEER, MANAGER}),
    Right.SHARE_STATUS: frozenset({OFFICE, MANAGER}),
    Right.DRAW_PROOF: frozenset({OFFICE, MANAGER}),
    Right.KEEP_PRIVACY: frozenset({MANAGER}),
    Right.SEE_MESSAGES: frozenset({OFFICE, MANAGER}),
    Right.KEEP_PEOPLE: frozenset({MANAGER}),
    Right.KEEP_FIRM: frozenset({MANAGER}),
}


# Whose sign-in takes a second step, by the firm's choice (`firm.models.SecondStep`).
ASKED_OF: dict[str, frozenset[Role]] = {
    "nobody": frozenset(),
    "managers": frozenset({MANAGER}),
    "desk": frozenset({MANAGER, OFFICE}),
    "everybody": frozenset(Role),
}


def roles_carry(roles: frozenset[str], right: str) -> bool:
    """Whether any of `roles` carries `right`. An unknown right is a mistake in our code: KeyError."""
    return bool(ROLES_WITH[Right(right)] & roles)
