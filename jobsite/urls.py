"""Every address of the service, floor by floor; upper floors are named by string only."""

from django.urls import include, path

# What is answered where no view is: below /api/ as problem documents.
handler400 = "jobsite.api.outside.bad_request"
handler404 = "jobsite.api.outside.not_found"
handler500 = "jobsite.api.outside.server_error"

# The desk first: its page of a board, with what is open there, stands at the address of premises' own.
urlpatterns = [
    path("", include("jobsite.urls_phone")),
    path("", include("remedials.desk.urls")),
    path("figures/", include("remedials.desk.figures.urls")),
    path("accounts/", include("jobsite.people.signin.urls")),
    path("take-out/", include("remedials.desk.bulk.urls")),
    path("accounts/", include("allauth.urls")),
    path("people/", include("jobsite.people.urls")),
    path("", include("jobsite.running.urls")),
    path("messages/", include("jobsite.premises.urls_messages")),
    path("", include("jobsite.premises.urls")),
    path("", include("inspections.urls")),
    path("intake/", include("inspections.intake.urls")),
    path("", include("remedials.works.urls")),
    path("", include("remedials.quotes.urls")),
    path("", include("remedials.visits.urls")),
    path("", include("remedials.due.urls")),
    path("", include("remedials.status.urls")),
    path("", include("remedials.status.urls_office")),
    path("api/v1/", include("remedials.desk.api_urls")),
]
