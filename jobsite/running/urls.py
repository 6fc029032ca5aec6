"""Addresses by which the service tells of itself. Whether the clockwork runs is told by `due:health`."""

from django.urls import path

from jobsite.running import views

app_name = "running"
urlpatterns = [
    path("ready/", views.ready, name="ready"),
    path("metrics/", views.metrics, name="metrics"),
    path("service/", views.service, name="service"),
]
