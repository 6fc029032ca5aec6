from django.apps import AppConfig


class VisitsConfig(AppConfig):
    name = "remedials.visits"
    label = "visits"
