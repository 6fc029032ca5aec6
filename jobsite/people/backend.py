"""Who is signed in, read with what every page asks besides, so that it costs no statement more: the firm's name, which every
printed page bears, and whether the firm asks a second step of them, which they have or not."""

from typing import Any
from uuid import UUID

from allauth.account.auth_backends import AuthenticationBackend
from django.db.models import Exists, OuterRef, Subquery

from jobsite.firm.models import Firm
from jobsite.people.models import User, second_steps_of


def read_beside(person: OuterRef) -> dict[str, Any]:
    """What is annotated to whoever asks for a page or shows a token: `firm_name`, `asked`, `has_second_step`.

    `person`: the reference to their key in the statement that reads them.
    """
    return {
        "firm_name": Subquery(Firm.objects.values("name")[:1]),
        "asked": Subquery(Firm.objects.values("second_step_for")[:1]),
        "has_second_step": Exists(second_steps_of(person)),
    }


class WithFirm(AuthenticationBackend):
    """Signs in by e-mail address and password, as the library has it."""

    def get_user(self, user_id: UUID) -> Any:
        """The active person with `firm_name` (None where none was entered yet), `asked` and `has_second_step`; or None.

        One statement.
        """
        people = User.objects.annotate(**read_beside(OuterRef("pk")))
        user = people.filter(pk=user_id).first()
        return user if user and self.user_can_authenticate(user) else None
