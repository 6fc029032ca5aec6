from django.apps import AppConfig


class StatusConfig(AppConfig):
    name = "remedials.status"
    label = "status"
