"""Addresses of inventory/shelf."""

from django.urls import path

from inventory.shelf import views

urlpatterns = [
    # Stock
    path("settings/", views.settings, name="settings"),
    path("pictures/<str:digest>/", views.picture, name="picture"),
]
