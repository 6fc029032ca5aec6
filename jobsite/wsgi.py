"""The web server's way in."""

import logging
import os

from django.core.wsgi import get_wsgi_application

from jobsite.edge import only_utf8
from jobsite.logs import HideTokens

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobsite.settings")

application = only_utf8(get_wsgi_application())

# The server's own line about a request that failed names its address, which may hold a token.
logging.getLogger("gunicorn.error").addFilter(HideTokens())
