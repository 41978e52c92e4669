"""Addresses of studio/bench."""

from django.urls import path

from studio.bench import cut_views, day_views, job_views, material_views, time_views, views

urlpatterns = [
    # The bench
    path("bench/", views.bench, name="bench"),
    path("bench/timer/", views.timer, name="timer"),
    path("bench/timer/stop/", time_views.stop, name="timer-stop"),
    path("bench/begin/<int:revision>/", views.begin, name="job-start"),
    path("bench/cut/", cut_views.cut_together, name="cut-together"),
    # The day's close
    path("bench/day/", day_views.day, name="day-close"),
    path("bench/day/present/", day_views.present, name="day-present"),
    path("bench/day/<int:pk>/answer/", day_views.answer, name="day-answer"),
    # A job
    path("bench/<int:pk>/", job_views.job, name="job"),
    path("bench/<int:pk>/move/", views.move, name="job-move"),
    path("bench/<int:pk>/stage/", job_views.stage, name="job-stage"),
    path("bench/<int:pk>/days/", job_views.dates, name="job-dates"),
    path("bench/<int:pk>/seams/", job_views.seams, name="job-seams"),
    path("bench/<int:pk>/give-up/", job_views.cancel, name="job-cancel"),
    path("bench/<int:pk>/sheet.pdf", job_views.sheet, name="job-sheet"),
    # Its operations and their time
    path("bench/<int:pk>/operations/<int:operation>/", time_views.operation_time, name="operation-time"),
    path("bench/<int:pk>/operations/<int:operation>/start/", time_views.start, name="timer-start"),
    path("bench/<int:pk>/operations/<int:operation>/tick/", job_views.tick, name="operation-tick"),
    path("bench/time/<int:entry>/", time_views.correct, name="time-correct"),
    path("bench/<int:pk>/operations/<int:operation>/join/", time_views.join, name="timer-join"),
    path("bench/<int:pk>/operations/start/", time_views.start_several, name="sitting-start"),
    # Its materials
    path("bench/<int:pk>/materials/", material_views.materials, name="job-materials"),
    path("bench/<int:pk>/cut/", cut_views.cut, name="job-cut"),
    path("bench/<int:pk>/materials/<int:line>/issue/", material_views.issue, name="job-issue"),
    path(
        "bench/<int:pk>/materials/<int:line>/instead/<int:item>/",
        material_views.take_stand_in,
        name="job-stand-in",
    ),
    path("bench/<int:pk>/lots/<int:lot>/back/", material_views.take_back, name="job-take-back"),
    path("bench/<int:pk>/lots/<int:lot>/spoiled/", material_views.spoil, name="job-spoil"),
]
