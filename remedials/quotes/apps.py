from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "remedials.quotes"
    label = "quotes"
