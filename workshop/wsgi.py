"""The application that gunicorn serves."""

import os

from django.core.wsgi import get_wsgi_application

from workshop.core.web.unreadable_requests import only_utf8

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")

application = only_utf8(get_wsgi_application())
