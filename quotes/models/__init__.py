"""The desk's tables, by subject."""

from quotes.models.clients import Client, HealthNote, Measure, MeasurementSet
from quotes.models.offers import OfferAct, OfferLink
from quotes.models.patterns import KeptPattern, PatternRevision
from quotes.models.quotes import DrawnLay, Quote, QuoteRevision
from quotes.models.workroom import KeptConstruction, Workroom, YearlyCost

__all__ = [
    "Client",
    "DrawnLay",
    "HealthNote",
    "KeptConstruction",
    "KeptPattern",
    "Measure",
    "MeasurementSet",
    "OfferAct",
    "OfferLink",
    "PatternRevision",
    "Quote",
    "QuoteRevision",
    "Workroom",
    "YearlyCost",
]
