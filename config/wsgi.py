"""The door for a WSGI server."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()
get_resolver().url_patterns  # noqa: B018 - loads all views now, not within the first request
# What is loaded stays: no collection need look through it again.
gc.collect()
gc.freeze()
