"""Addresses of studio/today."""

from django.urls import path

from studio.today import views

urlpatterns = [
    path("", views.home, name="home"),
]
