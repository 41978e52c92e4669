"""Addresses of studio/books."""

from django.urls import path

from studio.books import money_views, views, year_views

urlpatterns = [
    # The books
    path("books/", views.listing, name="books"),
    path("books/by/<str:key>/", views.by, name="books-by"),
    path("books/pieces.xlsx", views.workbook, name="books-workbook"),
    path("books/year/", year_views.year, name="books-year-now"),
    path("books/year/<int:year>/", year_views.year, name="books-year"),
    path("books/money/", money_views.money, name="money"),
    path("books/money/payments/", money_views.payments, name="payments"),
    path("books/months/", views.month_list, name="months"),
    path("books/months/close/", views.close, name="month-close"),
    path("books/months/reopen/", views.reopen, name="month-reopen"),
    path("books/pieces/<str:reference>/", views.account, name="account"),
    path("books/pieces/<str:reference>/again/", views.again, name="account-again"),
]
