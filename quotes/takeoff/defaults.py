"""The takeoff's assumptions: its section of `quotes/defaults.json`, where each figure stands with its source."""

from inventory.ground.sourced import sourced
from quotes.defaults import DESK_FILE, TakeoffDefaults, desk_defaults

__all__ = ["default_source", "default_words", "defaults"]


def defaults() -> TakeoffDefaults:
    """Return the figures that are assumed."""
    return desk_defaults().takeoff


def default_source(name: str) -> str:
    """Return the source of one figure. Raises KeyError for a name that the section lacks."""
    return sourced(DESK_FILE)["takeoff"][name].source


def default_words(name: str) -> str:
    """Return what one figure is, in words. Raises KeyError for a name that the section lacks."""
    return sourced(DESK_FILE)["takeoff"][name].words
