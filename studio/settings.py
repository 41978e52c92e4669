"""Settings of the studio: one machine, one workroom, told by a few environment variables.

DATABASE_URL    postgres://user@host/name where the books are kept in PostgreSQL (default: SQLite in STUDIO_DATA)
STUDIO_DATA     folder of the database and the secret key (default: var/ beside manage.py)
STUDIO_HOSTS    host names that may be asked for, separated by commas (default: this machine only)
STUDIO_HTTPS    1 where the site is reached by HTTPS: cookies then travel by HTTPS alone
STUDIO_TIME_ZONE  time zone by its IANA name (default: the one that was chosen on the first day)
STUDIO_DEBUG    1 for development only
"""

import os
import secrets
from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile

from inventory.ground.findings import refuse
from studio import environment, sqlite
from studio.first_day.time_zone import kept_zone
from studio.keeping.read_only import may_only_be_read, read_only_name
from studio.keeping.replacing import take_back_broken_off
from studio.private_files import FILE_MODE, FOLDER_MODE, keep_private

sqlite.install()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.data_folder(BASE_DIR / "var")
keep_private(DATA_DIR)
# Before anything is read that a broken-off restore may have moved: the key is made anew where it is missing.
take_back_broken_off(DATA_DIR, url=os.environ.get("DATABASE_URL", ""))
DEBUG = environment.switch("STUDIO_DEBUG")
IS_HTTPS = environment.switch("STUDIO_HTTPS")
ALLOWED_HOSTS = environment.hosts()


def _secret_key() -> str:
    """The key of this installation, made at the first run and readable by its owner only."""
    path = DATA_DIR / "secret-key"
    if not path.exists():
        DATA_DIR.mkdir(parents=True, exist_ok=True)
        # Whole under another name first: a full disk leaves no empty key, and two first starts at once read one.
        with NamedTemporaryFile("w", dir=DATA_DIR, prefix="secret-key-") as file:
            file.write(secrets.token_urlsafe(64))
            file.flush()
            with suppress(FileExistsError):
                os.link(file.name, path)
    key = path.read_bytes().decode("ascii", errors="replace").strip()
    if not key or "\ufffd" in key:
        hint = (
            "Put it back from a backup. Where there is none, delete it: a new one is made, everyone logs in again, and "
        )
        raise refuse("key.broken", str(path), "The key file is empty or damaged.", hint + "links to offers end.")
    return key


SECRET_KEY = _secret_key()

INSTALLED_APPS = [
    "studio",
    "quotes",
    "inventory",
    "axes",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "studio.middleware.RepeatedReadingMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.middleware.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": ["studio.templatetags.layout"],
            "loaders": [
                ("django.template.loaders.cached.Loader", ["django.template.loaders.filesystem.Loader"]),
            ],
        },
    }
]

# WAL lets pages read while one writer writes; IMMEDIATE makes a second writer wait instead of fail.
SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "studio.sqlite3",
    "CONN_MAX_AGE": None,
    "OPTIONS": {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA recursive_triggers=ON",
    },
}
POSTGRESQL = environment.database()
IS_POSTGRESQL = POSTGRESQL is not None
# Who may not write can read on: commands that only read work, and the site, where nobody could log in, is not served.
IS_READ_ONLY = not IS_POSTGRESQL and may_only_be_read(DATA_DIR / "studio.sqlite3")
READING = {
    **SQLITE,
    "NAME": read_only_name(DATA_DIR / "studio.sqlite3") if IS_READ_ONLY else "",
    "OPTIONS": {"timeout": 20, "init_command": "PRAGMA query_only=ON"},
}
DATABASES = {"default": POSTGRESQL or (READING if IS_READ_ONLY else SQLITE)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
# Five wrong passwords lock that name at that address for a quarter of an hour, not everybody for ever.
AXES_FAILURE_LIMIT = 5
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_COOLOFF_TIME = 0.25
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"

SECURE_CSP = {
    "default-src": "'self'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "object-src": "'none'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
    "form-action": "'self'",
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
SECURE_SSL_REDIRECT = IS_HTTPS
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if IS_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = IS_HTTPS

# A pattern file has 20 MB at most; what is larger is refused before it is read.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
DATA_UPLOAD_MAX_NUMBER_FILES = 30
FILE_UPLOAD_HANDLERS = [
    "studio.uploads.SizeLimitHandler",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

DJANGO_TABLES2_TEMPLATE = "components/_table.html"

# Shared by the workers that draw lays, while they live.
LAY_WORKER_LOCK = DATA_DIR / "lay-worker.lock"

# Photographs; they are shown by a view of their own, never by their path.
MEDIA_ROOT = DATA_DIR / "photographs"
STORAGES = {
    "default": {"BACKEND": "studio.storage.WholeFileStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
FILE_UPLOAD_PERMISSIONS, FILE_UPLOAD_DIRECTORY_PERMISSIONS = FILE_MODE, FOLDER_MODE

LANGUAGE_CODE = "en-gb"
TIME_ZONE = environment.time_zone(kept_zone(DATA_DIR))
USE_TZ = True
STATIC_URL = "static/"
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
]
WHITENOISE_USE_FINDERS = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
}
