"""The demo's clients and their measures."""

from datetime import timedelta

from django.contrib.auth.models import User
from django.utils import timezone

from quotes.clients.clients import keep_measures
from quotes.models import Client

PEOPLE = (
    ("Odile Farrant", "Sings; wants to breathe low. Left shoulder a little down.", "", 12, (780, 720, 880, 940)),
    ("Brigid Oakhanger", "Stage wear, changes in the dark. No nickel.", "de", 35, (840, 800, 980, 1040)),
    ("Perpetua Lune", "Second piece; knows her own mind about flossing.", "", 80, (745, 690, 860, 915)),
)


def load(maker: User) -> list[Client]:
    """Make the clients, measured some days before today."""
    people = []
    for name, notes, language, days_ago, (underbust, waist, high_hip, hip) in PEOPLE:
        client = Client.objects.create(name=name, notes=notes, language=language, may_photograph=name.startswith("P"))
        girths = {"underbust": underbust, "waist": waist, "high-hip": high_hip, "full-hip": hip}
        keep_measures(
            client=client,
            taken_on=timezone.localdate() - timedelta(days=days_ago),
            unit="cm",
            notes="",
            takes_mm={code: [girth - 2.0, float(girth), girth + 3.0] for code, girth in girths.items()},
            user=maker,
        )
        people.append(client)
    return people
