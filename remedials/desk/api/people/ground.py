"""Verbs on what stands at no site: whoever holds the right may do them to all of it."""

from typing import Any

from django.shortcuts import get_object_or_404

from remedials.desk.api.ground import Act


class FirmAct(Act):
    """A verb on a row of the firm itself."""

    def thing(self) -> Any:
        """The row that the address names; 404 where there is none."""
        return get_object_or_404(self.model, pk=self.kwargs["pk"])


class New(FirmAct):
    """A verb that makes a row which belongs to no other."""

    def thing(self) -> None:
        """It is not there yet."""
