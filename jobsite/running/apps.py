from django.apps import AppConfig


class RunningConfig(AppConfig):
    name = "jobsite.running"
    label = "running"
