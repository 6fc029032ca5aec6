"""The way in of `make bench`."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from tests.benchmarks.measuring import main, on_a_database_of_its_own  # noqa: E402 - models load after the set-up

on_a_database_of_its_own(main)
