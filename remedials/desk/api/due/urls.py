"""Their addresses."""

from django.urls import path

from remedials.desk.api.due import due

urlpatterns = [
    path("due/", due.Due.as_view(), name="due"),
]
