"""The shelf's map: each feature names its own addresses."""

from django.urls import include, path

app_name = "inventory"

urlpatterns = [
    path("", include("inventory.stock.urls")),
    path("", include("inventory.drawer.urls")),
    path("", include("inventory.shelf.urls")),
    path("", include("inventory.use.urls")),
    path("", include("inventory.reserving.urls")),
    path("", include("inventory.buying.urls")),
    path("", include("inventory.suppliers.urls")),
    path("", include("inventory.counting.urls")),
    path("", include("inventory.importing.urls")),
]
