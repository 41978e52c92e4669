"""Addresses of inventory/importing."""

from django.urls import path

from inventory.importing import views

urlpatterns = [
    # A spreadsheet of the maker's own
    path("import/", views.upload, name="import"),
    path("import/<int:pk>/match/", views.match, name="import-match"),
    path("import/<int:pk>/preview/", views.preview, name="import-preview"),
]
