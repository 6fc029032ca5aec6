"""Addresses of premises."""

from django.urls import URLPattern

app_name = "premises"
urlpatterns: list[URLPattern] = []
