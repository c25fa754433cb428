"""The application as a web server calls it."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

application = get_wsgi_application()

# What is loaded now stays until the end. Left among what is collected, its hundreds of thousands of objects are looked
# through again whenever pages have made a quarter as many, which takes a tenth of a second of somebody's request.
_ = get_resolver().url_patterns  # loads all pages
gc.collect()
gc.freeze()
