"""Addresses of messages. Their pages stand here because they name sites and parties."""

from django.urls import path

from jobsite.premises.views import messages

app_name = "messages"
urlpatterns = [
    path("", messages.messages, name="messages"),
    path("<uuid:pk>/", messages.message, name="message"),
    path("<uuid:pk>/again/", messages.again, name="again"),
]
