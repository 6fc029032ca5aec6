"""The service's addresses, a bare page of the shell, and the admin's lists of the same rows for any person signed in."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from django.urls import path

from inspections.models import Observation
from jobsite.premises.models import Site
from remedials.works.models import Remedial
from tests.benchmarks.urls import urlpatterns as service


class OpenAdmin(admin.AdminSite):
    """For comparing only: whoever is signed in may look."""

    def has_permission(self, request: HttpRequest) -> bool:
        return bool(request.user.is_authenticated)


class Rows(admin.ModelAdmin):  # type: ignore[type-arg]
    """A list of 50, as the pages' lists have."""

    list_per_page = 50

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return True

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    has_delete_permission = has_change_permission

    def has_module_permission(self, request: HttpRequest) -> bool:
        return True


class Sites(Rows):
    list_display = ("number", "name", "address", "postcode", "customer")
    list_select_related = ("customer",)
    ordering = ("number",)


class Remedials(Rows):
    list_display = ("number", "site", "unit", "work", "stage", "owner", "step_by")
    list_select_related = ("site", "unit", "owner")
    ordering = ("number",)


class Observations(Rows):
    list_display = ("number", "site", "unit", "board", "text", "code", "owner", "step_by", "remedy_by")
    list_select_related = ("site", "unit", "board", "owner")
    ordering = ("number",)


office = OpenAdmin("compared")
office.register(Site, Sites)
office.register(Remedial, Remedials)
office.register(Observation, Observations)
urlpatterns = [*service, path("compared/", office.urls)]
