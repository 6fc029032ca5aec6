from django.apps import AppConfig


class PremisesConfig(AppConfig):
    name = "jobsite.premises"
    label = "premises"
