"""Centre front: which busk or zip fits, and how many loops it has."""

from inventory.ground.findings import Finding, note, warn
from inventory.ground.materials import Material, MaterialKind, StockUnit
from quotes.construction.construction import Construction, FrontKind
from quotes.pattern.panels import EdgeName, Pattern
from quotes.takeoff.amounts import each
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import defaults
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import FrontNeed, MaterialLine, Reason

__all__ = ["front_line", "front_need"]


def front_need(pattern: Pattern, construction: Construction, shelf: Shelf) -> tuple[FrontNeed, tuple[Finding, ...]]:
    """Return the closure that fits the shorter centre front; a busk and a zip are each somewhat shorter."""
    centre_front = min(half[0].edge_mm(EdgeName.FRONT) for half in pattern.halves)
    if construction.front is FrontKind.CLOSED:
        return FrontNeed(kind=FrontKind.CLOSED, length_mm=0.0, loops=0), ()
    if construction.front is FrontKind.ZIP:
        return FrontNeed(kind=FrontKind.ZIP, length_mm=centre_front - defaults().zip_clear_mm, loops=0), ()
    sold = _sold_mm(shelf.others.get(MaterialKind.BUSK))
    clear, least = defaults().busk_clear_mm, defaults().busk_least_clear_mm
    fitting = [length for length in sold if length <= round(centre_front - clear, 2)]
    close = [length for length in sold if round(centre_front - clear, 2) < length <= round(centre_front - least, 2)]
    if not fitting and not close:
        made = max(0.0, centre_front - clear)
        return FrontNeed(kind=FrontKind.BUSK, length_mm=made, loops=_loops(made)), (
            warn(
                "takeoff.no-busk-fits",
                "centre front",
                f"Centre front is {centre_front:.0f} mm; the shortest busk that is sold, {sold[0]:.0f} mm, would leave "
                f"less than {least:g} mm.",
                f"Have one made to {made:.0f} mm, or take a zip or a closed front.",
            ),
        )
    length = max(fitting) if fitting else close[0]
    findings: list[Finding] = []
    if not fitting:
        findings.append(
            warn(
                "takeoff.busk-close",
                "centre front",
                f"The busk of {length:.0f} mm leaves {centre_front - length:.0f} mm; {clear:g} mm is usual.",
            )
        )
    elif close:
        findings.append(
            note(
                "takeoff.longer-busk-possible",
                "centre front",
                f"A busk of {close[0]:.0f} mm would leave {centre_front - close[0]:.0f} mm, within the range of "
                f"{least:g} to {defaults().busk_most_clear_mm:g} mm; {length:.0f} mm is taken.",
            )
        )
    elif centre_front - length > 2 * clear:
        findings.append(
            warn(
                "takeoff.busk-short",
                "centre front",
                f"The longest busk that fits, {length:.0f} mm, leaves {centre_front - length:.0f} mm of centre front open.",
                "Close the rest with a hook, or shorten centre front.",
            )
        )
    return FrontNeed(kind=FrontKind.BUSK, length_mm=length, loops=_loops(length)), tuple(findings)


def front_line(front: FrontNeed, shelf: Shelf) -> list[MaterialLine]:
    """Return the shopping line of the closure; none where the front is closed."""
    if front.kind is FrontKind.CLOSED:
        return []
    is_busk = front.kind is FrontKind.BUSK
    kind = MaterialKind.BUSK if is_busk else MaterialKind.ZIP
    clear = defaults().busk_clear_mm if is_busk else defaults().zip_clear_mm
    return [
        MaterialLine(
            code=kind.value,
            needed=needed(kind.value),
            size_mm=front.length_mm,
            kind=kind,
            what=f"Busk {front.length_mm:.0f} mm, {front.loops} loops" if is_busk else f"Zip {front.length_mm:.0f} mm",
            material=shelf.material(kind).code,
            quantity=each(1),
            unit=StockUnit.PAIR if is_busk else StockUnit.EACH,
            buy_quantity=each(1),
            reason=Reason(
                counted=f"one, {front.length_mm:.0f} mm long",
                formula=f"longest that is sold and {clear:g} mm shorter than centre front"
                if is_busk
                else f"centre front − {clear:g}",
                source="common practice; lengths and loops from memory",
            ),
        )
    ]


def _sold_mm(material: Material | None) -> tuple[float, ...]:
    if material is not None and material.lengths_mm:
        return tuple(sorted(material.lengths_mm))
    return tuple(length for length, _ in defaults().busk_loops)


def _loops(length_mm: float) -> int:
    """Loops of the standard busk nearest in length."""
    _, loops = min(defaults().busk_loops, key=lambda standard: abs(standard[0] - length_mm))
    return loops
