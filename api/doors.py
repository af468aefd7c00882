"""Which role each call asks for, and what a device's token opens.

One table: a call that is not named opens to the owner alone.
"""

from typing import TYPE_CHECKING

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from inventory.people.models import Device, User
from inventory.people.rules import Role, Scope

if TYPE_CHECKING:
    from rest_framework.views import APIView

READER, HELPER, BUILDER, OWNER = Role
_SAFE = ("GET", "HEAD", "OPTIONS")
# By view: the least role for its unsafe methods; to look, a reader's is enough.
CHANGES = {
    **dict.fromkeys(
        [
            "SpectacularAPIView",
            "ItemsView",
            "OneItemView",
            "ItemWhyView",
            "WholeShopView",
            "PlanView",
            "AssembliesView",
            "ReadinessView",
            "AlertsView",
            "LotsView",
            "RecallView",
            "LogView",
            "OneOrderView",
            "NothingView",
        ],
        READER,
    ),
    **dict.fromkeys(
        [
            "MovementsView",
            "UndoView",
            "OneBenchView",
            "ScansView",
            "ManyScansView",
            "PhotosView",
        ],
        HELPER,
    ),
    **dict.fromkeys(
        [
            "BinsView",
            "OneBinView",
            "LabelsView",
            "OneStageView",
            "CloseAssemblyView",
            "ReopenAssemblyView",
            "OneAlertView",
            "OffersView",
            "OneOfferView",
            "OrdersView",
            "ReceiptsView",
            "OrderPlanView",
            "OrdersFromPlanView",
        ],
        BUILDER,
    ),
    **dict.fromkeys(
        ["RunningView", "MetricsView", "PeopleView", "OnePersonView", "BackupsView"],
        OWNER,
    ),
}
# Calls that only whoever may change them may look at.
HIDDEN = frozenset({"RunningView", "MetricsView", "PeopleView", "BackupsView"})
# What a bench does: scan, read a photo, read itself and the shop it goes on with.
BENCH = frozenset(
    {"OneBenchView", "WholeShopView", "ScansView", "ManyScansView", "PhotosView"}
)


class MayAsk(BasePermission):
    """Whether the person, and the token that was shown, open this call."""

    message = "This role or token does not open that call: ask the shop's owner."

    def has_permission(self, request: Request, view: "APIView") -> bool:
        """By the table."""
        name, looks = type(view).__name__, request.method in _SAFE
        if not isinstance(request.user, User):
            return False
        is_open = looks and name in CHANGES and name not in HIDDEN
        if not request.user.role.may(READER if is_open else CHANGES.get(name, OWNER)):
            return False
        return not isinstance(request.auth, Device) or _opens(
            Scope(request.auth.scope), name, looks=looks
        )


def _opens(scope: Scope, name: str, *, looks: bool) -> bool:
    if scope is Scope.SCAN:
        return name in BENCH
    return scope is Scope.ALL or looks
