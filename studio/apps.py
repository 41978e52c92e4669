"""The studio."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from inventory.ground.site.triggers import guard
from quotes.clients.signals import client_erased, client_shown
from studio.accounts.signals import account_made
from studio.guards import TRIGGERS


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        from inventory.stock.audit import also
        from studio.accounts.accounting import bring_along
        from studio.books.auditing import audit_months
        from studio.client.open_money import open_money_of
        from studio.client.personal_data import forget_client
        from studio.learning.learning import propose_today
        from studio.money.auditing import audit_money

        client_erased.connect(forget_client)
        client_shown.connect(open_money_of)
        account_made.connect(propose_today)
        also(audit_money)
        also(audit_months)
        guard(self, TRIGGERS)
        post_migrate.connect(bring_along, sender=self)
