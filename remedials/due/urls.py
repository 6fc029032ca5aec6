"""Addresses of the clockwork."""

from django.urls import path

from remedials.due import views

app_name = "due"
urlpatterns = [path("health/", views.health, name="health")]
