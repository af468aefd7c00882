"""Every address: the pages at the root, the API under /api/v1."""

from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("api.urls")),
    path("", include("inventory.web.urls")),
]

handler500 = "inventory.config.faults.answer"
