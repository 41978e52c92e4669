"""The shelf's map, grouped by the thing in the path."""

from django.urls import path

from inventory.buying import order_views as orders
from inventory.buying import reorder_views as reordering
from inventory.counting import views as stocktake
from inventory.importing import views as importing
from inventory.reserving import views as reservations
from inventory.stock import item_views as items
from inventory.stock import lot_views as lots
from inventory.stock import material_views as materials
from inventory.suppliers import views as suppliers
from inventory.use import views as figures

app_name = "inventory"

urlpatterns = [
    # Stock
    path("", items.listing, name="stock"),
    path("figures/", figures.show, name="figures"),
    path("movements/", items.movements, name="movements"),
    path("settings/", items.settings, name="settings"),
    path("materials/new/", materials.edit, name="material-new"),
    path("materials/<slug:code>/", materials.edit, name="material"),
    path("materials/<slug:code>/photo/", materials.photo, name="material-photo"),
    path("items/<slug:code>/", items.show, name="item"),
    path("items/<slug:code>/edit/", items.edit, name="item-edit"),
    path("items/<slug:code>/receive/", items.receive, name="item-receive"),
    path("items/<slug:code>/stand-ins/", items.substitute, name="item-substitute"),
    path("items/<slug:code>/stand-ins/<int:pk>/remove/", items.remove_substitute, name="item-substitute-remove"),
    # Lots
    path("lots/<int:pk>/", lots.show, name="lot"),
    path("lots/<int:pk>/issue/", lots.issue, name="lot-issue"),
    path("lots/<int:pk>/give-back/", lots.give_back, name="lot-give-back"),
    path("lots/<int:pk>/scrap/", lots.scrap, name="lot-scrap"),
    path("lots/<int:pk>/count/", lots.count, name="lot-count"),
    path("lots/<int:pk>/wash/", lots.wash, name="lot-wash"),
    path("lots/<int:pk>/split-off/", lots.split_off, name="lot-split-off"),
    # What is kept for whom
    path("kept/", reservations.listing, name="reservations"),
    path("kept/<str:reference>/", reservations.show, name="reservation"),
    path("kept/<str:reference>/again/", reservations.keep_again, name="reservation-again"),
    path("kept/<str:reference>/release/", reservations.release, name="reservation-release"),
    path("kept/<str:reference>/lines/<int:pk>/", reservations.line, name="reservation-line"),
    # Buying
    path("reorder/", reordering.show, name="reorder"),
    path("reorder/plan/", reordering.plan, name="reorder-plan"),
    path("reorder/<int:pk>/orders/", reordering.orders, name="reorder-orders"),
    path("orders/", orders.listing, name="orders"),
    path("orders/new/", orders.new, name="order-new"),
    path("orders/<int:number>/", orders.show, name="order"),
    path("orders/<int:number>/edit/", orders.edit, name="order-edit"),
    path("orders/<int:number>/place/", orders.place, name="order-place"),
    path("orders/<int:number>/cancel/", orders.cancel, name="order-cancel"),
    path("orders/<int:number>/receive/", orders.receive, name="order-receive"),
    path("orders/<int:number>/lines/<int:pk>/close/", orders.close_line, name="order-line-close"),
    path("orders/<int:number>/order.pdf", orders.as_pdf, name="order-pdf"),
    path("orders/<int:number>/order.xlsx", orders.as_xlsx, name="order-xlsx"),
    path("orders/<int:number>/order.csv", orders.as_csv, name="order-csv"),
    path("suppliers/", suppliers.listing, name="suppliers"),
    path("suppliers/new/", suppliers.edit, name="supplier-new"),
    path("suppliers/<slug:code>/", suppliers.show, name="supplier"),
    path("suppliers/<slug:code>/edit/", suppliers.edit, name="supplier-edit"),
    path("suppliers/<slug:code>/offers/new/", suppliers.offer, name="offer-new"),
    path("suppliers/<slug:code>/offers/<int:pk>/", suppliers.offer, name="offer"),
    path("suppliers/<slug:code>/offers/<int:pk>/remove/", suppliers.remove_offer, name="offer-remove"),
    # Counting
    path("stocktakes/", stocktake.listing, name="stocktakes"),
    path("stocktakes/<int:number>/", stocktake.show, name="stocktake"),
    path("stocktakes/<int:number>/lines/<int:line>/", stocktake.count_line, name="count-line"),
    path("stocktakes/<int:number>/print/", stocktake.print_sheet, name="stocktake-print"),
    path("stocktakes/<int:number>/sheet.xlsx", stocktake.xlsx, name="stocktake-xlsx"),
    path("stocktakes/<int:number>/upload/", stocktake.upload, name="stocktake-upload"),
    path("stocktakes/<int:number>/review/", stocktake.review, name="stocktake-review"),
    path("stocktakes/<int:number>/drop/", stocktake.drop, name="stocktake-drop"),
    # A spreadsheet of the maker's own
    path("import/", importing.upload, name="import"),
    path("import/<int:pk>/match/", importing.match, name="import-match"),
    path("import/<int:pk>/preview/", importing.preview, name="import-preview"),
]
