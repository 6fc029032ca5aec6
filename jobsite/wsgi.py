"""The web server's way in."""

import logging
import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.urls import reverse

from jobsite.edge import only_utf8
from jobsite.garbage import set_aside_what_stays
from jobsite.logs import HideTokens, JsonLines

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobsite.settings")

application = only_utf8(get_wsgi_application())
reverse("desk:due")  # reads every page's module now: the first to ask would wait for it
set_aside_what_stays()

# The server's own lines about a request name its address, which may hold a token: of one that failed, and of each one where
# somebody asks for such a log (--access-logfile).
for name in ("gunicorn.error", "gunicorn.access"):
    logging.getLogger(name).addFilter(HideTokens())
    for handler in logging.getLogger(name).handlers if settings.LOG_FORMAT == "json" else ():
        handler.setFormatter(JsonLines())
