"""The shelf's tables, by subject."""

from inventory.models.acts import DoneAct
from inventory.models.importing import ColumnMatching, ImportSheet, LearntWord
from inventory.models.items import Lot, StockItem, Substitute
from inventory.models.ledger import Movement, Posting
from inventory.models.materials import StockMaterial
from inventory.models.pictures import KeptPicture
from inventory.models.purchasing import KeptPlan, OrderNewDay, PriceRecord, PurchaseLine, PurchaseOrder
from inventory.models.reservations import Reservation, ReservationLine
from inventory.models.shelf import Shelf
from inventory.models.stocktake import CountLine, Stocktake
from inventory.models.suppliers import Offer, PriceBreak, Supplier

__all__ = [
    "ColumnMatching",
    "CountLine",
    "DoneAct",
    "ImportSheet",
    "KeptPicture",
    "KeptPlan",
    "LearntWord",
    "Lot",
    "Movement",
    "Offer",
    "OrderNewDay",
    "Posting",
    "PriceBreak",
    "PriceRecord",
    "PurchaseLine",
    "PurchaseOrder",
    "Reservation",
    "ReservationLine",
    "Shelf",
    "StockItem",
    "StockMaterial",
    "Stocktake",
    "Substitute",
    "Supplier",
]
