"""Addresses of the API, version 1."""

from django.urls import path

from remedials.desk.api import ground
from remedials.desk.api.due import urls as due
from remedials.desk.api.inspections import urls as inspections
from remedials.desk.api.people import urls as people
from remedials.desk.api.premises import urls as premises
from remedials.desk.api.quotes import urls as quotes
from remedials.desk.api.status import urls as status
from remedials.desk.api.together import urls as together
from remedials.desk.api.visits import urls as visits
from remedials.desk.api.works import urls as works

app_name = "api"
urlpatterns = [
    path("schema/", ground.Schema.as_view(), name="schema"),
    *people.urlpatterns,
    *premises.urlpatterns,
    *inspections.urlpatterns,
    *works.urlpatterns,
    *quotes.urlpatterns,
    *visits.urlpatterns,
    *due.urlpatterns,
    *status.urlpatterns,
    *together.urlpatterns,
]
