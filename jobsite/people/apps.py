from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "jobsite.people"
    label = "people"
