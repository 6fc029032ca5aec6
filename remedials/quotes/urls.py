"""Addresses of prices, the price book and quotes, room by room."""

from django.urls import URLPattern

app_name = "quotes"

prices: list[URLPattern] = []
building: list[URLPattern] = []
sending: list[URLPattern] = []
answering: list[URLPattern] = []
lists: list[URLPattern] = []

urlpatterns = [*prices, *building, *sending, *answering, *lists]
