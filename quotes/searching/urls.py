"""Addresses of quotes/searching."""

from django.urls import path

from quotes.searching import folding_views, views

urlpatterns = [
    path("quotes/<int:pk>/<int:number>/lays/", views.lays, name="lays"),
    path("quotes/<int:pk>/<int:number>/options/<int:index>/folding/", folding_views.folding, name="folding"),
]
