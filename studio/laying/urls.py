"""Addresses of studio/laying."""

from django.urls import path

from studio.laying import views

_PART = "bench/lay/drawn/<int:lay>/<int:part>/"

urlpatterns = [
    path("bench/lay/", views.wanted, name="lay-together"),
    path("bench/lay/<int:item>/", views.cloth, name="lay-cloth"),
    path("bench/lay/asked/<int:search>/", views.asked, name="joint-search"),
    path("bench/lay/drawn/<int:lay>/", views.drawn, name="joint-lay"),
    path("bench/lay/drawn/<int:lay>/longer/", views.longer, name="joint-lay-longer"),
    path(_PART + "sheet.pdf", views.paper, {"kind": "pdf"}, name="joint-lay-pdf"),
    path(_PART + "plotter.dxf", views.paper, {"kind": "dxf"}, name="joint-lay-dxf"),
    path(_PART + "drawing.svg", views.paper, {"kind": "svg"}, name="joint-lay-svg"),
]
