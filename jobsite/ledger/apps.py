from django.apps import AppConfig


class LedgerConfig(AppConfig):
    name = "jobsite.ledger"
    label = "ledger"
