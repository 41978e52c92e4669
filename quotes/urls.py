"""The desk's map: each feature names its own addresses."""

from django.urls import include, path

app_name = "quotes"

urlpatterns = [
    path("", include("quotes.offers.urls")),
    path("", include("quotes.searching.urls")),
    path("", include("quotes.desk.urls")),
    path("", include("quotes.patterns.urls")),
    path("", include("quotes.clients.urls")),
    path("", include("quotes.workroom.urls")),
]
