"""Addresses of inventory/importing."""

from django.urls import path

from inventory.importing import choosing_views, views

urlpatterns = [
    # A spreadsheet of the maker's own
    path("import/", views.upload, name="import"),
    path("import/<int:pk>/match/", views.match, name="import-match"),
    path("import/<int:pk>/table/", choosing_views.table, name="import-table"),
    path("import/<int:pk>/preview/", views.preview, name="import-preview"),
    path("import/<int:pk>/answers/", choosing_views.answers, name="import-answers"),
    path("import/<int:pk>/leave-out/", choosing_views.leave, name="import-leave-out"),
    path("import/<int:pk>/rows/<int:row>/", choosing_views.row, name="import-row"),
]
