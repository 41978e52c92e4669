"""Addresses of studio/keeping."""

from django.urls import path

from studio.keeping import views

urlpatterns = [
    path("copies/", views.copies, name="copies"),
]
