"""The shelf's map."""

from django.urls import path

from inventory.views import materials

app_name = "inventory"

urlpatterns = [
    path("", materials.listing, name="materials"),
    path("new/", materials.edit, name="material-new"),
    path("<slug:code>/", materials.edit, name="material"),
]
