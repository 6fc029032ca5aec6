from django.apps import AppConfig


class FirmConfig(AppConfig):
    name = "jobsite.firm"
    label = "firm"
