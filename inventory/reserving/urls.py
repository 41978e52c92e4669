"""Addresses of inventory/reserving."""

from django.urls import path

from inventory.reserving import views

urlpatterns = [
    # What is kept for whom
    path("kept/", views.listing, name="reservations"),
    path("kept/<str:reference>/", views.show, name="reservation"),
    path("kept/<str:reference>/again/", views.keep_again, name="reservation-again"),
    path("kept/<str:reference>/release/", views.release, name="reservation-release"),
    path("kept/<str:reference>/lines/<int:pk>/", views.line, name="reservation-line"),
]
