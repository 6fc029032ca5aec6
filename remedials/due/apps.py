from django.apps import AppConfig


class DueConfig(AppConfig):
    name = "remedials.due"
    label = "due"
