"""Addresses of inventory/use."""

from django.urls import path

from inventory.use import views

urlpatterns = [
    # Stock
    path("figures/", views.show, name="figures"),
]
