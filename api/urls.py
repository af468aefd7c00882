"""The API's addresses, version 1."""

from django.contrib.auth.decorators import login_not_required
from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from api.views import (
    bench,
    lots,
    nothing,
    offers,
    orderplan,
    orders,
    plan,
    running,
    shop,
    stock,
)

# Pages ask for a session; here the API's own authentication decides.
urlpatterns = [
    path(address, login_not_required(view.as_view()))
    for address, view in (
        ("schema", SpectacularAPIView),
        ("items", stock.ItemsView),
        ("items/<int:pk>", stock.OneItemView),
        ("items/<int:pk>/why", stock.ItemWhyView),
        ("bins", stock.BinsView),
        ("bins/<int:number>", stock.OneBinView),
        ("movements", stock.MovementsView),
        ("lots", lots.LotsView),
        ("lots/<int:pk>", lots.RecallView),
        ("acts/<int:pk>/undo", stock.UndoView),
        ("bench", bench.OneBenchView),
        ("bench/shop", bench.WholeShopView),
        ("scans", bench.ScansView),
        ("scans/many", bench.ManyScansView),
        ("photos", bench.PhotosView),
        ("labels", bench.LabelsView),
        ("plan", plan.PlanView),
        ("stages/<int:pk>", plan.OneStageView),
        ("assemblies", plan.AssembliesView),
        ("assemblies/<int:pk>/close", plan.CloseAssemblyView),
        ("assemblies/<int:pk>/reopen", plan.ReopenAssemblyView),
        ("readiness", plan.ReadinessView),
        ("alerts", plan.AlertsView),
        ("alerts/<int:pk>", plan.OneAlertView),
        ("offers", offers.OffersView),
        ("offers/<int:pk>", offers.OneOfferView),
        ("orders", orders.OrdersView),
        ("orders/<int:number>", orders.OneOrderView),
        ("receipts", orders.ReceiptsView),
        ("order-plan", orderplan.OrderPlanView),
        ("order-plan/<int:pk>/orders", orderplan.OrdersFromPlanView),
        ("log", shop.LogView),
        ("people", shop.PeopleView),
        ("people/<int:pk>", shop.OnePersonView),
        ("backups", shop.BackupsView),
        ("running", running.RunningView),
        ("metrics", running.MetricsView),
        ("<path:rest>", nothing.NothingView),
    )
]
