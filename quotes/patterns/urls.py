"""Addresses of quotes/patterns."""

from django.urls import path

from quotes.patterns import views

urlpatterns = [
    # Patterns
    path("patterns/", views.listing, name="patterns"),
    path("patterns/new/", views.upload, name="pattern-new"),
    path("patterns/measures/", views.from_measures, name="pattern-measures"),
    path("patterns/<int:pk>/", views.show, name="pattern"),
    path("patterns/<int:pk>/revise/", views.upload, name="pattern-revise"),
    path("patterns/<int:pk>/pattern.json", views.as_json, name="pattern-json"),
]
