"""The site's settings for tests: a throw-away data folder, no slow passwords, no outside world.

pytest-django reads settings before any conftest, so the environment is prepared here.
DATABASE_URL is left as it is: set it to run the tests on PostgreSQL.
"""

import os
import tempfile

_data_dir = tempfile.TemporaryDirectory(prefix="gym-progress-tests-")
os.environ.update(
    DATA_DIR=_data_dir.name,
    SECRET_KEY="a key for tests alone, long enough to be taken without a warning",
    ALLOWED_HOSTS="localhost,127.0.0.1",
    HTTPS="no",
    LEAD_NEEDS_SECOND_FACTOR="no",
    DEBUG="no",
    TIME_ZONE="Europe/London",
)

from gymsite.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
# Look static files up when asked instead of walking every folder for every test client.
WHITENOISE_AUTOREFRESH = True
