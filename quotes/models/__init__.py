"""The desk's tables, by subject."""

from quotes.models.clients import Client, HealthNote, Measure, MeasurementSet
from quotes.models.lays import DrawnLay, LaySearch
from quotes.models.offers import OfferAct, OfferLink
from quotes.models.patterns import (
    KeptPattern,
    PatternHandIn,
    PatternPhotograph,
    PatternRevision,
    PhotographInSet,
    PhotographSet,
)
from quotes.models.quotes import Quote, QuoteRevision
from quotes.models.workroom import KeptConstruction, Workroom, YearlyCost

__all__ = [
    "Client",
    "DrawnLay",
    "HealthNote",
    "KeptConstruction",
    "KeptPattern",
    "LaySearch",
    "Measure",
    "MeasurementSet",
    "OfferAct",
    "OfferLink",
    "PatternHandIn",
    "PatternPhotograph",
    "PatternRevision",
    "PhotographInSet",
    "PhotographSet",
    "Quote",
    "QuoteRevision",
    "Workroom",
    "YearlyCost",
]
