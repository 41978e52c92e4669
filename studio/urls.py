"""The site's map: each feature names its own addresses; the floors below follow."""

from django.contrib.auth import views as auth
from django.urls import include, path

from studio.today import views as today

urlpatterns = [
    path("", include("studio.today.urls")),
    path("", include("studio.keeping.urls")),
    path("", include("studio.books.urls")),
    path("", include("studio.learning.urls")),
    path("", include("studio.laying.urls")),
    path("", include("studio.bench.urls")),
    path("", include("studio.calendar.urls")),
    path("", include("studio.client.urls")),
    # Coming and going
    path("", include("studio.first_day.urls")),
    path("logout/", auth.LogoutView.as_view(), name="logout"),
    path("password/", auth.PasswordChangeView.as_view(success_url="/"), name="password"),
    # The floors below
    path("", include("quotes.urls")),
    path("shelf/", include("inventory.urls")),
]

handler400 = today.bad_request
handler500 = "studio.middleware.failed"
