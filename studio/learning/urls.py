"""Addresses of studio/learning."""

from django.urls import path

from studio.learning import views

urlpatterns = [
    # The books
    path("books/learning/", views.learning, name="learning"),
    path("books/learning/<int:pk>/take/", views.take, name="learning-take"),
    path("books/learning/<int:pk>/refuse/", views.refuse, name="learning-refuse"),
    path("books/learning/<int:pk>/take-back/", views.take_back, name="learning-take-back"),
]
