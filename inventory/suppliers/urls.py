"""Addresses of inventory/suppliers."""

from django.urls import path

from inventory.suppliers import views

urlpatterns = [
    # Buying
    path("suppliers/", views.listing, name="suppliers"),
    path("suppliers/new/", views.edit, name="supplier-new"),
    path("suppliers/<slug:code>/", views.show, name="supplier"),
    path("suppliers/<slug:code>/edit/", views.edit, name="supplier-edit"),
    path("suppliers/<slug:code>/offers/new/", views.offer, name="offer-new"),
    path("suppliers/<slug:code>/offers/<int:pk>/", views.offer, name="offer"),
    path("suppliers/<slug:code>/offers/<int:pk>/remove/", views.remove_offer, name="offer-remove"),
]
