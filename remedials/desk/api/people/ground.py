"""Rows that stand at no site: whoever holds the right sees all of them."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from remedials.desk.api.ground import Act
from remedials.desk.api.reading import Rows


class OfTheFirm(Rows):
    """Rows of the firm itself, all of them."""

    def get_queryset(self) -> QuerySet[Any]:
        """All: the view's right is the door."""
        return self.queryset.none() if getattr(self, "swagger_fake_view", False) else self.queryset.all()


class FirmAct(Act):
    """A verb on a row of the firm itself."""

    def thing(self) -> Any:
        """The row that the address names; 404 where there is none."""
        return get_object_or_404(self.model, pk=self.kwargs["pk"])


class New(FirmAct):
    """A verb that makes a row which belongs to no other."""

    def thing(self) -> None:
        """It is not there yet."""
