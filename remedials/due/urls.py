"""Addresses of the clockwork."""

from django.urls import URLPattern

app_name = "due"
urlpatterns: list[URLPattern] = []
