"""Addresses of customers' pages."""

from django.urls import URLPattern

app_name = "status"
urlpatterns: list[URLPattern] = []
