"""The shelf."""

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from inventory.ground.site.triggers import guard
from inventory.guards import TRIGGERS


class InventoryConfig(AppConfig):
    name = "inventory"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(_install_settings, sender=self)
        guard(self, TRIGGERS)


def _install_settings(sender: Any, **kwargs: Any) -> None:
    """After each migrate: the one row of settings."""
    from inventory.shelf.settings import install_shelf

    install_shelf()
