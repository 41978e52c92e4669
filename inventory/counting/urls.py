"""Addresses of inventory/counting."""

from django.urls import path

from inventory.counting import by_length_views, views

urlpatterns = [
    # Counting
    path("stocktakes/", views.listing, name="stocktakes"),
    path("stocktakes/<int:number>/", views.show, name="stocktake"),
    path("stocktakes/<int:number>/lines/<int:pk>/", views.count_line, name="count-line"),
    path("stocktakes/<int:number>/by-length/", by_length_views.count, name="stocktake-by-length"),
    path("stocktakes/<int:number>/print/", views.print_sheet, name="stocktake-print"),
    path("stocktakes/<int:number>/sheet.xlsx", views.xlsx, name="stocktake-xlsx"),
    path("stocktakes/<int:number>/upload/", views.upload, name="stocktake-upload"),
    path("stocktakes/<int:number>/review/", views.review, name="stocktake-review"),
    path("stocktakes/<int:number>/drop/", views.drop, name="stocktake-drop"),
]
