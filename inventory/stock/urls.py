"""Addresses of inventory/stock."""

from django.urls import path

from inventory.stock import crumb_views, item_views, lot_views, material_views

urlpatterns = [
    # Stock
    path("", item_views.listing, name="stock"),
    path("movements/", item_views.movements, name="movements"),
    path("materials/new/", material_views.edit, name="material-new"),
    path("materials/<slug:code>/", material_views.edit, name="material"),
    path("materials/<slug:code>/forms/add/", material_views.add_bones, name="material-forms-add"),
    path("materials/<slug:code>/forms/prices/", material_views.bone_prices, name="material-forms-prices"),
    path("materials/<slug:code>/photo/", material_views.photo, name="material-photo"),
    path("items/<slug:code>/", item_views.show, name="item"),
    path("items/<slug:code>/edit/", item_views.edit, name="item-edit"),
    path("items/<slug:code>/receive/", item_views.receive, name="item-receive"),
    path("items/<slug:code>/stand-ins/", item_views.substitute, name="item-substitute"),
    path("items/<slug:code>/stand-ins/<int:pk>/remove/", item_views.remove_substitute, name="item-substitute-remove"),
    # Lots
    path("crumbs/", crumb_views.crumbs, name="crumbs"),
    path("lots/<int:pk>/", lot_views.show, name="lot"),
    path("lots/<int:pk>/issue/", lot_views.issue, name="lot-issue"),
    path("lots/<int:pk>/give-back/", lot_views.give_back, name="lot-give-back"),
    path("lots/<int:pk>/scrap/", lot_views.scrap, name="lot-scrap"),
    path("lots/<int:pk>/count/", lot_views.count, name="lot-count"),
    path("lots/<int:pk>/wash/", lot_views.wash, name="lot-wash"),
    path("lots/<int:pk>/cost/", lot_views.cost, name="lot-cost"),
    path("lots/<int:pk>/split-off/", lot_views.split_off, name="lot-split-off"),
    path("lots/<int:pk>/cut/", lot_views.cut, name="lot-cut"),
    path("lots/<int:pk>/put-back/", lot_views.put_back, name="lot-put-back"),
]
