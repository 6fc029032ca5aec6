from django.apps import AppConfig


class WorksConfig(AppConfig):
    name = "remedials.works"
    label = "works"
