"""Addresses of messages. Their pages stand here because they name sites and parties."""

from django.urls import path

from jobsite.premises.views import messages

app_name = "messages"
urlpatterns = [
    path("", messages.messages, name="messages"),
    path("<uuid:pk>/", messages.message, name="message"),
    path("<uuid:pk>/again/", messages.again, name="again"),
    path("<uuid:pk>/to/", messages.to_another, name="send_to"),
    path("<uuid:pk>/back/", messages.returned, name="came_back"),
]
