"""The studio."""

from django.apps import AppConfig

from inventory.triggers import guard
from studio.guards import TRIGGERS


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        guard(self, TRIGGERS)
