"""The desk."""

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from inventory.ground.site.triggers import guard
from quotes.guards import TRIGGERS


class QuotesConfig(AppConfig):
    name = "quotes"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(_install_shipped, sender=self)
        guard(self, TRIGGERS)


def _install_shipped(sender: Any, **kwargs: Any) -> None:
    """After each migrate: the shipped constructions as they are now, and the one row of settings."""
    from quotes.workroom.settings import install_shipped

    install_shipped()
