"""The studio."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from inventory.ground.site.triggers import guard
from quotes.clients.signals import client_erased
from studio.accounts.signals import account_made
from studio.guards import TRIGGERS


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        from studio.accounts.accounting import bring_along
        from studio.client.personal_data import forget_client
        from studio.learning.learning import propose_today

        client_erased.connect(forget_client)
        account_made.connect(propose_today)
        guard(self, TRIGGERS)
        post_migrate.connect(bring_along, sender=self)
