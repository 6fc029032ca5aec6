from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "remedials.desk"
    label = "desk"
