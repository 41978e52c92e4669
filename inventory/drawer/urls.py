"""Addresses of inventory/drawer."""

from django.urls import path

from inventory.drawer import views

urlpatterns = [
    # Drawer
    path("drawer/", views.show, name="drawer"),
]
