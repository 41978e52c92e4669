"""PDFs that cannot be used are refused in one sentence, within the limits of the child that reads them.

What is hostile: bombs as of the notes on PDF readers (packed content, forms in forms), made here with pikepdf.
"""

import os
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name
from reportlab.lib.pagesizes import A4
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from support_pdf import MM, draw_panels, drawn_panels, one_page
from support_pictures import photograph

from inventory.ground.findings import Refused, stops
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.pattern.readers.pdf import read_sheet

PANELS = drawn_panels()


def page_of(content: bytes, resources: Callable[[pikepdf.Pdf], Dictionary] | None = None) -> bytes:
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(600, 800))
    pdf.pages[0].obj.Contents = pdf.make_stream(content)
    if resources is not None:
        pdf.pages[0].obj.Resources = resources(pdf)
    out = BytesIO()
    pdf.save(out, compress_streams=True)
    return out.getvalue()


def locked(user: str) -> bytes:
    out = BytesIO()
    with pikepdf.open(BytesIO(page_of(b"0 0 m 9 9 l S"))) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(user=user, owner="owner"))
    return out.getvalue()


def forms(calls: int, depth: int) -> Callable[[pikepdf.Pdf], Dictionary]:
    """Forms that draw each other: `calls` to the power of `depth` lines."""

    def resources(pdf: pikepdf.Pdf) -> Dictionary:
        inner = pdf.make_indirect(
            pdf.make_stream(b"0 0 m 9 9 l S", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 9, 9]))
        )
        for _ in range(depth):
            inner = pdf.make_indirect(
                pdf.make_stream(
                    b"/F Do " * calls,
                    Type=Name.XObject,
                    Subtype=Name.Form,
                    BBox=Array([0, 0, 9, 9]),
                    Resources=Dictionary(XObject=Dictionary(F=inner)),
                )
            )
        return Dictionary(XObject=Dictionary(F=inner))

    return resources


def scan(*, with_frame: bool = False) -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4)
    canvas.drawImage(ImageReader(BytesIO(photograph("JPEG"))), 10 * MM, 10 * MM, 190 * MM, 277 * MM)
    if with_frame:
        canvas.rect(5 * MM, 5 * MM, 200 * MM, 287 * MM)
    canvas.save()
    return out.getvalue()


def words() -> bytes:
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4)
    canvas.drawString(100, 700, "How to sew the panels")
    canvas.save()
    return out.getvalue()


REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "no PDF": (lambda: b"panels", "pdf.not-pdf"),
    "cut off": (lambda: page_of(b"0 0 m 9 9 l S")[:300], "pdf.broken"),
    "locked": (lambda: locked("user"), "pdf.locked"),
    "locked for changes": (lambda: locked(""), "pdf.locked"),
    "scan": (scan, "pdf.scan"),
    "scan in a frame": (lambda: scan(with_frame=True), "pdf.scan"),
    "words": (words, "pdf.no-lines"),
    "far off": (lambda: page_of(b"0 0 m 99999999 0 l S"), "pattern.size"),
    "no number": (lambda: page_of(b"0 0 m 1" + b"0" * 400 + b" 0 l S"), "pdf.no-lines"),
    "forms in forms": (lambda: page_of(b"/F Do", forms(10, 6)), "pdf.too-many"),
    "forms too deep": (lambda: page_of(b"/F Do", forms(1, 40)), "pdf.too-deep"),
    "saved too often": (lambda: page_of(b"q " * 1000 + b"0 0 m 9 9 l S"), "pdf.too-deep"),
    "millions of curves": (lambda: page_of(b"0 0 m " + b"0 900 900 0 0 0 c " * 20_000 + b"S"), "pdf.too-many"),
    "many lines": (lambda: page_of(b"0 0 m 9 9 l S " * 60_000), "pdf.too-many"),
    "clips of many corners": (
        lambda: page_of(
            b"0 0 m "
            + b"".join(b"%d %d l " % (at, at % 2 * 300) for at in range(600))
            + b"h W n "
            + b"0 100 m 600 101 l S " * 20_000
        ),
        "pdf.too-many",
    ),
    "packed emptiness": (lambda: page_of(b" " * 100_000_000), "pdf.too-many"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_cannot_be_used_is_refused_in_a_sentence(name: str) -> None:
    make, code = REFUSED[name]
    with pytest.raises(Refused) as refusal:
        read_sheet(make(), ReadOptions())
    (found,) = stops(refusal.value.findings)
    assert found.code == code
    assert found.message.endswith(".")


def test_the_way_round_a_scan_is_said() -> None:
    with pytest.raises(Refused) as refusal:
        read_sheet(scan(), ReadOptions())
    assert "Photograph the paper with the printed cards" in refusal.value.findings[0].hint


def test_a_scanned_page_among_drawn_ones_is_said() -> None:
    out = BytesIO()
    with pikepdf.open(BytesIO(one_page(lambda canvas: draw_panels(canvas, PANELS)))) as pdf:
        with pikepdf.open(BytesIO(scan())) as other:
            pdf.pages.extend(other.pages)
        pdf.save(out)
    sheet = read_sheet(out.getvalue(), ReadOptions())
    assert [(found.code, found.where) for found in sheet.findings] == [("pdf.scanned-page", "page 2")]
    assert sum(stroke.is_closed for stroke in sheet.strokes) == len(PANELS)


def test_a_damaged_file_that_can_be_mended_is_read_with_a_warning() -> None:
    data = one_page(lambda canvas: draw_panels(canvas, PANELS))
    sheet = read_sheet(data.replace(b"startxref\n", b"startxref\n9"), ReadOptions())
    assert [found.code for found in sheet.findings] == ["pdf.mended"]
    assert sum(stroke.is_closed for stroke in sheet.strokes) == len(PANELS)


@pytest.mark.parametrize("kept", [200, 300])
def test_a_damaged_file_is_named_as_the_maker_knows_it(kept: int) -> None:
    """The library names what it reads by its place in memory, which differs from run to run."""
    with pytest.raises(Refused) as refusal:
        read_sheet(page_of(b"0 0 m 9 9 l S")[:kept], ReadOptions())
    (found,) = refusal.value.findings
    assert found.message.startswith("The PDF is damaged: ")
    assert "<" not in found.message


def test_a_form_that_draws_itself_is_drawn_once() -> None:
    def resources(pdf: pikepdf.Pdf) -> Dictionary:
        made = pdf.make_indirect(
            pdf.make_stream(b"/F Do 0 0 m 9 9 l S", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 9, 9]))
        )
        made.Resources = Dictionary(XObject=Dictionary(F=made))
        return Dictionary(XObject=Dictionary(F=made))

    assert len(read_sheet(page_of(b"/F Do", resources), ReadOptions()).strokes) == 1


def test_scripts_links_and_files_inside_are_never_followed(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    out = BytesIO()
    with pikepdf.open(BytesIO(one_page(lambda canvas: draw_panels(canvas, PANELS)))) as pdf:
        named = pikepdf.String(str(secret))
        pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=pikepdf.String("app.launchURL('http://localhost:9/')"))
        pdf.Root.AA = Dictionary(WC=Dictionary(S=Name.Launch, F=named))
        outside = pdf.make_stream(b"", F=named, Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 9, 9]))
        pdf.pages[0].obj.Resources.XObject = Dictionary(Outside=pdf.make_indirect(outside))
        pdf.save(out)
    before = os.stat(secret).st_atime_ns
    assert sum(stroke.is_closed for stroke in read_sheet(out.getvalue(), ReadOptions()).strokes) == len(PANELS)
    assert os.stat(secret).st_atime_ns == before


def test_what_takes_too_much_ends_the_child_alone(tmp_path: Path) -> None:
    path = tmp_path / "bomb.pdf"
    path.write_bytes(page_of(b"n\n" * 3_000_000))
    with pytest.raises(Refused) as refusal:
        read_pattern(path, ReadOptions())
    (found,) = refusal.value.findings
    assert found.code in ("file.too-much", "file.too-slow", "pdf.too-many")
    assert found.where in ("bomb", "file")


@pytest.mark.parametrize(("user", "words"), [("user", "by a password"), ("", "opens without a password")])
def test_a_lock_is_told_from_a_lock_against_changes(user: str, words: str) -> None:
    with pytest.raises(Refused) as refusal:
        read_sheet(locked(user), ReadOptions())
    assert words in refusal.value.findings[0].message
