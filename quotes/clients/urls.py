"""Addresses of quotes/clients."""

from django.urls import path

from quotes.clients import views

urlpatterns = [
    # Clients
    path("clients/", views.listing, name="clients"),
    path("clients/new/", views.edit, name="client-new"),
    path("clients/<int:pk>/", views.show, name="client"),
    path("clients/<int:pk>/edit/", views.edit, name="client-edit"),
    path("clients/<int:pk>/measures/", views.measure, name="client-measure"),
    path("clients/<int:pk>/health/", views.health, name="client-health"),
    path("clients/<int:pk>/export.json", views.export, name="client-export"),
    path("clients/<int:pk>/erase/", views.erase, name="client-erase"),
]
