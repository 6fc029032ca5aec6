"""The production settings, and two things to compare with: a bare page of the shell, and Django's admin."""

from jobsite.settings import *  # noqa: F403
from jobsite.settings import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "django.contrib.admin"]
ROOT_URLCONF = "tests.load.urls"
SILENCED_SYSTEM_CHECKS = ["admin.E403", "admin.E404", "admin.E406", "admin.E408", "admin.E409", "admin.E410"]
