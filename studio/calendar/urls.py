"""Addresses of studio/calendar."""

from django.urls import path

from studio.calendar import views

urlpatterns = [
    # The bench
    path("bench/promise/<int:revision>/", views.promise, name="promise"),
    path("bench/calendar/", views.calendar, name="calendar"),
    path("bench/calendar/days-off/<int:pk>/take-away/", views.day_off_take_away, name="day-off-take-away"),
    path("bench/calendar/links/<int:pk>/take-away/", views.link_take_away, name="calendar-link-take-away"),
    path("calendar/<str:token>.ics", views.feed, name="feed"),
]
