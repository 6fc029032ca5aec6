"""Addresses of remedials."""

from django.urls import URLPattern

app_name = "works"
urlpatterns: list[URLPattern] = []
