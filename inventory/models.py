"""The index of every table, for Django."""

from inventory.alerts.models import Alert
from inventory.buying.models import OrderPlan
from inventory.catalog.models import Callout, Item, ItemChange
from inventory.forecasting.models import Bit, BitEvent, BitWork
from inventory.labels.models import LabelSetup
from inventory.ledger.models import (
    Act,
    Balance,
    Bin,
    CountAsked,
    CountFound,
    DueBack,
    KeptSum,
    Lot,
    LotInBin,
    Movement,
    Photograph,
    Place,
    Recheck,
)
from inventory.ordering.models import (
    Offer,
    Order,
    OrderLine,
    PriceBreak,
    Receipt,
    Supplier,
)
from inventory.people.models import Device, ListHeader, Shop, SignInTries, User
from inventory.planning.models import (
    Assembly,
    Build,
    CloseUp,
    Drilling,
    Need,
    PlanChange,
    Reopening,
    Seam,
    Stage,
    Substitution,
)
from inventory.scanning.models import Bench, Scan

__all__ = [
    "Act",
    "Alert",
    "Assembly",
    "Balance",
    "Bench",
    "Bin",
    "Bit",
    "BitEvent",
    "BitWork",
    "Build",
    "Callout",
    "CloseUp",
    "CountAsked",
    "CountFound",
    "Device",
    "Drilling",
    "DueBack",
    "Item",
    "ItemChange",
    "KeptSum",
    "LabelSetup",
    "ListHeader",
    "Lot",
    "LotInBin",
    "Movement",
    "Need",
    "Offer",
    "Order",
    "OrderLine",
    "OrderPlan",
    "Photograph",
    "Place",
    "PlanChange",
    "PriceBreak",
    "Receipt",
    "Recheck",
    "Reopening",
    "Scan",
    "Seam",
    "Shop",
    "SignInTries",
    "Stage",
    "Substitution",
    "Supplier",
    "User",
]
