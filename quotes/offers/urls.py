"""Addresses of quotes/offers."""

from django.urls import path

from quotes.offers import views

urlpatterns = [
    path("quotes/<int:pk>/<int:number>/links/", views.links, name="offer-links"),
    path("quotes/links/<int:pk>/revoke/", views.revoke, name="offer-revoke"),
    path("quotes/questions/<int:pk>/answer/", views.answer, name="offer-answer"),
    # The client's page: no login, a signed token
    path("offer/<str:token>/", views.offer, name="private-offer"),
]
