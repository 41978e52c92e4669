"""The desk's map, grouped by the thing in the path."""

from django.urls import path

from quotes.clients import views as clients
from quotes.desk import decision_views as decisions
from quotes.desk import document_views as documents
from quotes.desk import option_views as options
from quotes.desk import quote_views as quotes
from quotes.patterns import views as patterns
from quotes.workroom import views as workroom

app_name = "quotes"
_REVISION = "quotes/<int:pk>/<int:number>/"

urlpatterns = [
    # Quotes
    path("quotes/", quotes.listing, name="list"),
    path("quotes/new/", quotes.new, name="new"),
    path("quotes/prices/", quotes.moved, name="moved"),
    path("quotes/<int:pk>/", quotes.latest, name="quote"),
    path(_REVISION, quotes.revision, name="revision"),
    path(_REVISION + "rates/", quotes.rates, name="rates"),
    path(_REVISION + "extras/", quotes.extras, name="extras"),
    path(_REVISION + "less/", quotes.less, name="less"),
    path(_REVISION + "shelf/", quotes.shelf, name="shelf"),
    path(_REVISION + "lays/", quotes.lays, name="lays"),
    # Options of a draft
    path(_REVISION + "options/add/", options.add, name="option-add"),
    path(_REVISION + "options/<int:index>/", options.change, name="option"),
    path(_REVISION + "options/<int:index>/remove/", options.remove, name="option-remove"),
    path(_REVISION + "options/<int:index>/sheet/", options.sheet, name="sheet"),
    path(_REVISION + "options/<int:index>/risk/", options.risk, name="risk"),
    path(_REVISION + "options/<int:index>/overrule/<str:line>/", options.overrule, name="overrule"),
    # What becomes of it
    path(_REVISION + "send/", decisions.send, name="send"),
    path(_REVISION + "accept/", decisions.accept, name="accept"),
    path(_REVISION + "decline/", decisions.decline, name="decline"),
    path(_REVISION + "revise/", decisions.revise, name="revise"),
    # Documents
    path(_REVISION + "client/", documents.client_page, name="client-page"),
    path(_REVISION + "quote.pdf", documents.client_pdf, name="client-pdf"),
    path(_REVISION + "sheet.xlsx", documents.internal_xlsx, name="internal-xlsx"),
    # Patterns
    path("patterns/", patterns.listing, name="patterns"),
    path("patterns/new/", patterns.upload, name="pattern-new"),
    path("patterns/measures/", patterns.from_measures, name="pattern-measures"),
    path("patterns/<int:pk>/", patterns.show, name="pattern"),
    path("patterns/<int:pk>/revise/", patterns.upload, name="pattern-revise"),
    path("patterns/<int:pk>/pattern.json", patterns.as_json, name="pattern-json"),
    # Clients
    path("clients/", clients.listing, name="clients"),
    path("clients/new/", clients.edit, name="client-new"),
    path("clients/<int:pk>/", clients.show, name="client"),
    path("clients/<int:pk>/edit/", clients.edit, name="client-edit"),
    path("clients/<int:pk>/measures/", clients.measure, name="client-measure"),
    path("clients/<int:pk>/health/", clients.health, name="client-health"),
    path("clients/<int:pk>/export.json", clients.export, name="client-export"),
    path("clients/<int:pk>/erase/", clients.erase, name="client-erase"),
    # How the workroom works
    path("workroom/", workroom.settings, name="workroom"),
    path("workroom/rates/", workroom.rates, name="workroom-rates"),
    path("workroom/overhead/", workroom.overhead, name="overhead"),
    path("workroom/minutes/", workroom.minutes, name="minutes"),
    path("workroom/minutes/add/", workroom.add_operation, name="operation-add"),
    path("workroom/constructions/", workroom.construction_list, name="constructions"),
    path("workroom/constructions/<slug:code>/", workroom.construction, name="construction"),
    path("workroom/constructions/<slug:code>/copy/", workroom.copy_construction, name="construction-copy"),
]
