"""Addresses of messages."""

from django.urls import URLPattern

app_name = "messages"
urlpatterns: list[URLPattern] = []
