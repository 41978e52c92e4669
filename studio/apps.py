"""The studio."""

from django.apps import AppConfig

from inventory.ground.site.triggers import guard
from quotes.clients.signals import client_erased
from studio.guards import TRIGGERS


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        from studio.client.personal_data import forget_client

        client_erased.connect(forget_client)
        guard(self, TRIGGERS)
