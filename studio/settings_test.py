"""Settings for the tests: a database in memory (or the PostgreSQL that is named), quick passwords, no throttling.

No worker draws lays for them, also where the site is served from the data folder meanwhile.
"""

from studio.settings import *  # noqa: F403  (a settings module extends the other by design)
from studio.settings import DATA_DIR, IS_POSTGRESQL

if not IS_POSTGRESQL:
    DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
AXES_ENABLED = False
WHITENOISE_USE_FINDERS = False
LAY_WORKER_LOCK = DATA_DIR / "no-worker" / "lay-worker.lock"
