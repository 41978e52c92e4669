"""Addresses of studio/books."""

from django.urls import path

from studio.books import views

urlpatterns = [
    # The books
    path("books/", views.listing, name="books"),
    path("books/by/<str:key>/", views.by, name="books-by"),
    path("books/pieces.xlsx", views.workbook, name="books-workbook"),
    path("books/months/", views.month_list, name="months"),
    path("books/months/close/", views.close, name="month-close"),
    path("books/pieces/<str:reference>/", views.account, name="account"),
    path("books/pieces/<str:reference>/again/", views.again, name="account-again"),
]
