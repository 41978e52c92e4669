"""Settings for the tests."""

from studio.settings import *  # noqa: F403  (a settings module extends the other by design)
