"""Addresses of quotes/patterns."""

from django.urls import path

from quotes.patterns import measuring_views, photograph_views, table_views, views

urlpatterns = [
    # Patterns
    path("patterns/", views.listing, name="patterns"),
    path("patterns/new/", views.upload, name="pattern-new"),
    path("patterns/measures/", views.from_measures, name="pattern-measures"),
    path("patterns/table/", table_views.hand_in, name="pattern-hand-in"),
    path("patterns/table/<int:pk>/", table_views.table, name="pattern-table"),
    path("patterns/table/<int:pk>/keep/", table_views.keep, name="pattern-table-keep"),
    path("patterns/photographs/", photograph_views.photographs, name="pattern-photographs"),
    path("patterns/photographs/cards.pdf", photograph_views.cards, name="pattern-cards"),
    path("patterns/photographs/cards/", photograph_views.cards_measured, name="pattern-cards-measured"),
    path("patterns/photographs/<int:pk>/", photograph_views.picture, name="pattern-photograph"),
    path("patterns/measuring/<int:pk>/", measuring_views.measuring, name="pattern-measuring"),
    path("patterns/measuring/<int:pk>/others/", measuring_views.others, name="pattern-measuring-others"),
    path("patterns/measuring/<int:pk>/again/", measuring_views.again, name="pattern-measuring-again"),
    path("patterns/measuring/<int:pk>/ruler/", measuring_views.ruler, name="pattern-measuring-ruler"),
    path("patterns/measuring/<int:pk>/drop/", measuring_views.drop, name="pattern-measuring-drop"),
    path("patterns/<int:pk>/photographs/", photograph_views.photographs, name="pattern-photographs-next"),
    path("patterns/<int:pk>/photographs/drop/", photograph_views.take_away, name="pattern-photographs-drop"),
    path("patterns/<int:pk>/hand-in/", table_views.hand_in, name="pattern-hand-in-next"),
    path("patterns/<int:pk>/", views.show, name="pattern"),
    path("patterns/<int:pk>/revise/", views.upload, name="pattern-revise"),
    path("patterns/<int:pk>/pattern.json", views.as_json, name="pattern-json"),
]
