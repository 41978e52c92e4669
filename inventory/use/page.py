"""The shelf's figures in words, each with where it comes from."""

from dataclasses import dataclass
from datetime import date

from inventory.ground.defaults import shelf_defaults
from inventory.ground.measures import quantity_text
from inventory.ground.wording import day_text, minor_text, percent_text
from inventory.use.figures import shelf_figures

__all__ = ["FiguresPage", "figures_page"]

MOST_ROWS = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class FiguresPage:
    """The page as text; `ranked` and `still` hold the first rows only."""

    figures: list[tuple[str, str, str]]
    ranked: list[tuple[str, str, str, str, str, str]]
    still: list[tuple[str, str, str, str]]
    runs_out: list[tuple[str, str, str, str, str]]
    class_rule: str


def figures_page(*, on: date, currency: str) -> FiguresPage:
    """Return the shelf's figures on a day."""
    figures, borders = shelf_figures(on=on), shelf_defaults().classes

    def money(minor: int) -> str:
        return minor_text(minor, currency)

    most_used = figures.ranked[:MOST_ROWS]
    cover = "—" if figures.cover_days is None else f"{figures.cover_days} days"
    return FiguresPage(
        figures=[
            ("Stock value", money(figures.value_minor), "The sum of all movements' values."),
            (
                "Used in a year",
                money(figures.used_minor),
                "Issued and scrapped in the last 365 days, less what came back, at its cost.",
            ),
            ("Lasts for", cover, "Stock value ÷ use of a year × 365."),
            (
                "Has not moved for a year",
                money(figures.still_minor),
                "The value of items without any movement in the last 365 days.",
            ),
            (
                "Tied up in accepted work",
                money(figures.tied_minor),
                "What is kept for accepted work and lies there, at average cost.",
            ),
        ],
        ranked=[
            (
                ranked.key,
                figures.names[ranked.key],
                money(int(ranked.value)),
                percent_text(round(ranked.share, 3)),
                percent_text(round(ranked.cumulative_share, 3)),
                ranked.letter,
            )
            for ranked in most_used
        ],
        still=[
            (
                still.item.code,
                str(still.item),
                money(still.item.value_minor),
                day_text(still.last_moved) or "never moved",
            )
            for still in figures.still[:MOST_ROWS]
        ],
        runs_out=[
            (
                runs_out.item.code,
                str(runs_out.item),
                quantity_text(runs_out.item.on_hand, runs_out.item.unit),
                quantity_text(runs_out.in_four_weeks, runs_out.item.unit),
                "today" if runs_out.days == 0 else f"in {runs_out.days} days",
            )
            for runs_out in figures.runs_out[:MOST_ROWS]
        ],
        class_rule=f"A while those before come to less than {percent_text(borders.a_until_share)} of a year's use, "
        f"B while less than {percent_text(borders.b_until_share)}, then C: count A items most often.",
    )
