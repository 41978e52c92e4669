"""Settings of the studio: one machine, one workroom."""

SECRET_KEY = "set by the web shell"
INSTALLED_APPS = ["inventory", "quotes", "studio"]
DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
USE_TZ = True
