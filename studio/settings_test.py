"""Settings for the tests: a database in memory (or the PostgreSQL that is named), quick passwords, no throttling."""

from studio.settings import *  # noqa: F403  (a settings module extends the other by design)
from studio.settings import IS_POSTGRESQL

if not IS_POSTGRESQL:
    DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
AXES_ENABLED = False
WHITENOISE_USE_FINDERS = False
