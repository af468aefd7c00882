"""The API's addresses, version 1."""

from django.contrib.auth.decorators import login_not_required
from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from api.views import bench, nothing, offers, orderplan, plan, stock, supply

# Pages ask for a session; here the API's own authentication decides.
urlpatterns = [
    path(address, login_not_required(view.as_view()))
    for address, view in (
        ("schema", SpectacularAPIView),
        ("items", stock.Items),
        ("items/<int:pk>", stock.OneItem),
        ("items/<int:pk>/why", stock.ItemWhy),
        ("bins", stock.Bins),
        ("bins/<int:number>", stock.OneBin),
        ("movements", stock.Movements),
        ("acts/<int:pk>/undo", stock.Undo),
        ("bench", bench.OneBench),
        ("bench/shop", bench.WholeShop),
        ("scans", bench.Scans),
        ("photos", bench.Photos),
        ("labels", bench.Labels),
        ("plan", plan.Plan),
        ("stages/<int:pk>", plan.OneStage),
        ("assemblies", plan.Assemblies),
        ("assemblies/<int:pk>/close", plan.CloseAssembly),
        ("assemblies/<int:pk>/reopen", plan.ReopenAssembly),
        ("readiness", plan.Readiness),
        ("alerts", plan.Alerts),
        ("alerts/<int:pk>", plan.OneAlert),
        ("offers", offers.Offers),
        ("offers/<int:pk>", offers.OneOffer),
        ("orders", supply.Orders),
        ("orders/<int:number>", supply.OneOrder),
        ("receipts", supply.Receipts),
        ("order-plan", orderplan.OrderPlan),
        ("order-plan/<int:pk>/orders", orderplan.OrdersFromPlan),
        ("<path:rest>", nothing.Nothing),
    )
]
