"""Addresses of the clockwork, of single rows of the list, of reminding and its figures, and of closing letters."""

from django.urls import path

from remedials.due.views import health, in_hand, leaving, settings, stopping

app_name = "due"
urlpatterns = [
    path("health/", health.health, name="health"),
    path("people/firm/reminders/", settings.settings, name="settings"),
    path("stop/<str:token>/", stopping.stop, name="stop"),
    path("customers/<uuid:pk>/reminders/", stopping.reminders_to, name="reminders_to"),
    path("due/<slug:kind>/<uuid:ref>/", in_hand.step, name="step"),
    path("due/<slug:kind>/<uuid:ref>/mine/", in_hand.have_it, name="have_it"),
    path("due/<slug:kind>/<uuid:ref>/give-back/", in_hand.give_back, name="give_back"),
    path("sites/<uuid:pk>/leaving/", leaving.leaving, name="leaving"),
    path("closing-letters/<uuid:pk>/", leaving.closing, name="closing"),
    path("closing-letters/<uuid:pk>/letter.pdf", leaving.letter, name="letter"),
    path("closing-letters/<uuid:pk>/proof/", leaving.proof, name="proof"),
    path("closing-letters/<uuid:pk>/send/", leaving.send, name="send_letter"),
    path("closing-letters/<uuid:pk>/delivered/", leaving.deliver, name="deliver"),
    path("closing-letters/<uuid:pk>/take-back/", leaving.take_back, name="take_back"),
]
