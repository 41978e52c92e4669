"""Addresses of quotes/desk."""

from django.urls import path

from quotes.desk import decision_views, document_views, lay_views, option_views, quote_views, shelf_views, start_views

_REVISION = "quotes/<int:pk>/<int:number>/"

urlpatterns = [
    # Quotes
    path("quotes/", quote_views.listing, name="list"),
    path("quotes/new/", start_views.start, name="new"),
    path("quotes/prices/", quote_views.moved, name="moved"),
    path("quotes/<int:pk>/", quote_views.latest, name="quote"),
    path(_REVISION, quote_views.revision, name="revision"),
    path(_REVISION + "rates/", quote_views.rates, name="rates"),
    path(_REVISION + "extras/", quote_views.extras, name="extras"),
    path(_REVISION + "less/", quote_views.less, name="less"),
    path(_REVISION + "shelf/", shelf_views.shelf, name="shelf"),
    path(_REVISION + "pattern/", quote_views.newer_pattern, name="newer-pattern"),
    # Options of a draft
    path(_REVISION + "options/add/", option_views.add, name="option-add"),
    path(_REVISION + "options/<int:index>/", option_views.change, name="option"),
    path(_REVISION + "options/<int:index>/remove/", option_views.remove, name="option-remove"),
    path(_REVISION + "options/<int:index>/sheet/", option_views.sheet, name="sheet"),
    path(_REVISION + "options/<int:index>/lays/<slug:cloth>.<str:kind>", lay_views.paper, name="lay-paper"),
    path(_REVISION + "options/<int:index>/risk/", option_views.risk, name="risk"),
    path(_REVISION + "options/<int:index>/overrule/<str:line>/", option_views.overrule, name="overrule"),
    # What becomes of it
    path(_REVISION + "send/", decision_views.send, name="send"),
    path(_REVISION + "accept/", decision_views.accept, name="accept"),
    path(_REVISION + "decline/", decision_views.decline, name="decline"),
    path(_REVISION + "revise/", decision_views.revise, name="revise"),
    # Documents
    path(_REVISION + "client/", document_views.client_page, name="client-page"),
    path(_REVISION + "quote.pdf", document_views.client_pdf, name="client-pdf"),
    path(_REVISION + "sheet.xlsx", document_views.internal_xlsx, name="internal-xlsx"),
]
