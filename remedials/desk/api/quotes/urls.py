"""Their addresses."""

from django.urls import path

from remedials.desk.api.quotes import quotes

urlpatterns = [
    path("quotes/", quotes.Quotes.as_view(), name="quotes"),
    path("quotes/<uuid:pk>/", quotes.OneQuote.as_view(), name="quote"),
]
