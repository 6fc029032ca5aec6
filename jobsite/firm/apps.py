from django.apps import AppConfig


class FirmConfig(AppConfig):
    name = "jobsite.firm"
    label = "firm"

    def ready(self) -> None:
        """Make our Celery app the one that every process's tasks belong to, the web server's too.

        Without it a task sent from a page goes to Celery's built-in default broker, silently.
        """
        from jobsite import celery  # noqa: F401 - it reads the settings, which are ready only now
