"""What each thread of a web server does before it takes requests, so that nobody waits for it.

A new connection to the database knows no table yet and has planned nothing: the due list, asked for as the first thing, takes
twice as long as ever after.
"""

import logging

from django.conf import settings
from django.utils.module_loading import import_string

logger = logging.getLogger(__name__)


def warm_up() -> None:
    """Do all that `settings.BEFORE_REQUESTS` names, on this thread's connections, which stay open. What fails is logged: a
    server that is slower at first is better than none.
    """
    for path in settings.BEFORE_REQUESTS:
        try:
            import_string(path)()
        except Exception:
            logger.exception("A thread of the web server begins without %s.", path)
