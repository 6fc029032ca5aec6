"""What of visits is about everybody's work, and so is not there for a subcontractor, whatever their roles."""

from typing import Any

from django.http import Http404
from rest_framework.request import Request


class OursAlone:
    """Before a view: 404 for a subcontractor, as on the page."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Once it is known who asks."""
        super().initial(request, *args, **kwargs)  # type: ignore[misc]
        if request.user.subcontractor:  # type: ignore[union-attr]
            raise Http404
