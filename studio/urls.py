"""The site's map: the studio's own pages, then each floor's."""

from django.contrib.auth import views as auth
from django.urls import include, path

from studio import views

urlpatterns = [
    path("", views.home, name="home"),
    path("bench/", views.bench, name="bench"),
    path("books/", views.books, name="books"),
    # Coming and going
    path("login/", auth.LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", auth.LogoutView.as_view(), name="logout"),
    path("password/", auth.PasswordChangeView.as_view(success_url="/"), name="password"),
    # The floors below
    path("", include("quotes.urls")),
    path("shelf/", include("inventory.urls")),
]

handler400 = views.bad_request
