"""Settings for the tests: a database in memory, quick passwords, no throttling."""

from studio.settings import *  # noqa: F403  (a settings module extends the other by design)

DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
AXES_ENABLED = False
WHITENOISE_USE_FINDERS = False
