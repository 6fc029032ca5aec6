"""Who is signed in, read with the name of the firm: every printed page bears it, and it must cost no statement more."""

from typing import Any
from uuid import UUID

from allauth.account.auth_backends import AuthenticationBackend
from django.db.models import Subquery

from jobsite.firm.models import Firm
from jobsite.people.models import User


class WithFirm(AuthenticationBackend):
    """Signs in by e-mail address and password, as the library has it."""

    def get_user(self, user_id: UUID) -> Any:
        """The active person, with `firm_name` ("" where none was entered yet); None where there is none. One statement."""
        people = User.objects.annotate(firm_name=Subquery(Firm.objects.values("name")[:1]))
        user = people.filter(pk=user_id).first()
        return user if user and self.user_can_authenticate(user) else None
