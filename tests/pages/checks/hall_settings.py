"""The site as a process of its own, with a way to be struck down in mid-sending."""

import os
from pathlib import Path

from tests.settings import *  # noqa: F403
from tests.settings import MIDDLEWARE, STATICFILES_FINDERS

ROOT_URLCONF = os.environ.get("HALL_URLS", "gymsite.urls")
MIDDLEWARE = [*MIDDLEWARE, "tests.pages.checks.hall_deaths.dies_when_told"]
STATICFILES_DIRS = [Path(__file__).parent / "static"]
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.FileSystemFinder",
    *STATICFILES_FINDERS,
]
