"""Addresses of quotes/workroom."""

from django.urls import path

from quotes.workroom import views

urlpatterns = [
    # How the workroom works
    path("workroom/", views.settings, name="workroom"),
    path("workroom/rates/", views.rates, name="workroom-rates"),
    path("workroom/overhead/", views.overhead, name="overhead"),
    path("workroom/minutes/", views.minutes, name="minutes"),
    path("workroom/minutes/add/", views.add_operation, name="operation-add"),
    path("workroom/constructions/", views.construction_list, name="constructions"),
    path("workroom/constructions/<slug:code>/", views.construction, name="construction"),
    path("workroom/constructions/<slug:code>/copy/", views.copy_construction, name="construction-copy"),
]
