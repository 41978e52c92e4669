"""Addresses of studio/first_day."""

from django.urls import path

from studio.first_day import views

urlpatterns = [
    path("login/", views.Door.as_view(), name="login"),
    path("first-day/", views.first_day, name="first-day"),
    path("first-day/rates/", views.rates, name="first-day-rates"),
]
