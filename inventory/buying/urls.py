"""Addresses of inventory/buying."""

from django.urls import path

from inventory.buying import order_views, reorder_views, shopping_views

urlpatterns = [
    # Buying
    path("reorder/", reorder_views.show, name="reorder"),
    path("reorder/plan/", reorder_views.plan, name="reorder-plan"),
    path("reorder/<int:pk>/orders/", reorder_views.orders, name="reorder-orders"),
    path("shopping/", shopping_views.show, name="shopping"),
    path("shopping/list-a5.pdf", shopping_views.as_pdf, {"paper": "a5"}, name="shopping-a5"),
    path("shopping/list-a4.pdf", shopping_views.as_pdf, {"paper": "a4"}, name="shopping-a4"),
    path("orders/", order_views.listing, name="orders"),
    path("orders/new/", order_views.new, name="order-new"),
    path("orders/<int:number>/", order_views.show, name="order"),
    path("orders/<int:number>/edit/", order_views.edit, name="order-edit"),
    path("orders/<int:number>/place/", order_views.place, name="order-place"),
    path("orders/<int:number>/cancel/", order_views.cancel, name="order-cancel"),
    path("orders/<int:number>/receive/", order_views.receive, name="order-receive"),
    path("orders/<int:number>/new-day/", order_views.new_day, name="order-new-day"),
    path("orders/<int:number>/cost/", order_views.cost, name="order-cost"),
    path("orders/<int:number>/lines/<int:pk>/close/", order_views.close_line, name="order-line-close"),
    path("orders/<int:number>/order.pdf", order_views.as_pdf, name="order-pdf"),
    path("orders/<int:number>/order.xlsx", order_views.as_xlsx, name="order-xlsx"),
    path("orders/<int:number>/order.csv", order_views.as_csv, name="order-csv"),
]
