"""The WSGI application, for `manage.py serve` and for any other server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "nursery.settings")
application = get_wsgi_application()
