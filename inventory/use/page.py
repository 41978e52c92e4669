"""The shelf's figures in words, each with where it comes from."""

from dataclasses import dataclass
from datetime import date

from inventory.ground.defaults import shelf_defaults
from inventory.ground.measures import quantity_text
from inventory.ground.wording import day_text, minor_text, percent_text
from inventory.models import StockItem
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
    found, borders = shelf_figures(on=on), shelf_defaults().classes

    def money(minor: int) -> str:
        return minor_text(minor, currency)

    first = found.ranked[:MOST_ROWS]
    shown = StockItem.objects.filter(code__in=[row.key for row in first]).select_related("material")
    names = {item.code: str(item) for item in shown}
    cover = "—" if found.cover_days is None else f"{found.cover_days} days"
    return FiguresPage(
        figures=[
            ("Stock value", money(found.value_minor), "The sum of all movements' values."),
            (
                "Used in a year",
                money(found.used_minor),
                "Issued and scrapped in the last 365 days, less what came back, at its cost.",
            ),
            ("Lasts for", cover, "Stock value ÷ use of a year × 365."),
            (
                "Has not moved for a year",
                money(found.still_minor),
                "The value of items without any movement in the last 365 days.",
            ),
            (
                "Tied up in accepted work",
                money(found.tied_minor),
                "What is kept for accepted work and lies there, at average cost.",
            ),
        ],
        ranked=[
            (
                row.key,
                names[row.key],
                money(int(row.value)),
                percent_text(round(row.share, 3)),
                percent_text(round(row.cumulative_share, 3)),
                row.letter,
            )
            for row in first
        ],
        still=[
            (
                row.item.code,
                str(row.item),
                money(row.item.value_minor),
                day_text(row.last_moved) or "never moved",
            )
            for row in found.still[:MOST_ROWS]
        ],
        runs_out=[
            (
                row.item.code,
                str(row.item),
                quantity_text(row.item.on_hand, row.item.unit),
                quantity_text(round(4 * row.per_week), row.item.unit),
                "today" if row.days == 0 else f"in {row.days} days",
            )
            for row in found.runs_out[:MOST_ROWS]
        ],
        class_rule=f"A while those before come to less than {percent_text(borders.a_until_share)} of a year's use, "
        f"B while less than {percent_text(borders.b_until_share)}, then C: count A items most often.",
    )
