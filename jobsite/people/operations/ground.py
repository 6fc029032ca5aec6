"""What changes to people have in common: the right, and what the database refuses in words."""

from django.db import IntegrityError, models, transaction

from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused

ONLY_MANAGERS = "Only a manager keeps people, competence and instruments."
ADDRESS_TAKEN = "Somebody with this e-mail address has an account already."
# What a person is told when the database holds its promise, and the form field it belongs to, by the constraint's name.
REFUSALS = {
    "user_email_once": (ADDRESS_TAKEN, "email"),
    "people_user_email_key": (ADDRESS_TAKEN, "email"),
    "user_has_a_name": ("Enter a name.", "name"),
    "competence_once_a_day": ("A competence from this day is recorded already.", "since"),
    "skill_once_a_day": ("This skill is recorded from this day already.", "since"),
    "people_instrument_serial_number_key": (
        "An instrument with this serial number is recorded already.",
        "serial_number",
    ),
    "instrument_has_serial_number": ("Enter its serial number.", "serial_number"),
}


def must_keep_people(by: Actor) -> None:
    """Raises NotAllowed for whoever may not keep people, competence and instruments."""
    if not by.may(Right.KEEP_PEOPLE):
        raise NotAllowed(ONLY_MANAGERS)


def save_new(row: models.Model) -> None:
    """Insert `row`; what the database refuses for a reason in REFUSALS is said in words, anything else is our mistake."""
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None)
        if name not in REFUSALS:
            raise
        sentence, field = REFUSALS[name]
        raise Refused(sentence, field=field) from error
