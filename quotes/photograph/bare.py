"""A photograph's file without what it says beside its picture: where and when it was taken, by what, previews, films behind it.

What is left is the picture itself, bit for bit, which way up it is, and the focal length, which measuring needs. Nothing is
unpacked. Sources: JPEG (ITU-T T.81, annex B), PNG (ISO/IEC 15948), EXIF 2.32 and TIFF 6.0 for what is read and written anew.
"""

import re
import struct
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

__all__ = ["bare"]

_ORIENTATION, _DETAILS, _FOCAL_35 = 0x0112, 0x8769, 0xA405
"""Tags of EXIF: which way up, the block of details, FocalLengthIn35mmFilm in it."""
_SHORT, _LONG = 3, 4
_JPEG, _PNG = b"\xff\xd8", b"\x89PNG\r\n\x1a\n"
_EXIF = b"Exif\0\0"
_APP0, _APP1, _APP14, _APP15, _COMMENT = 0xE0, 0xE1, 0xEE, 0xEF, 0xFE
_OF_COLOURS = {_APP0: b"JFIF\0", _APP14: b"Adobe"}
"""What the colours hang on stands in these, and begins so; elsewhere programs that edit pictures write under the same names."""
_SCAN, _END = 0xDA, 0xD9
_ALONE = {0x01, *range(0xD0, 0xD8)}
"""Markers without a segment."""
_AFTER_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
"""The next marker but those of restarts; a zero follows what is no marker."""
_OF_PICTURE = {b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"}
"""Chunks of a PNG that its pixels hang on."""
_IN_XMP = re.compile(rb"tiff:Orientation[^0-9]{1,3}([1-8])")
"""Where only this says which way up a picture is, readers believe it."""


@dataclass(frozen=True, slots=True)
class _Said:
    """Which way up (0 where nothing says so) and the focal length as of film of 35 mm (0 likewise)."""

    orientation: int = 0
    focal_35: int = 0


def bare(data: bytes) -> bytes:
    """Return the file of a photograph without what it says beside its picture; of one that breaks off, what its picture has.

    What is of another kind is left as it is. So is HEIC: its parts are found by their distance from the file's beginning, and none
    can be taken out without unpacking it.
    """
    if data.startswith(_JPEG):
        return _bare_jpeg(data)
    if data.startswith(_PNG):
        return _bare_png(data)
    return data


def _bare_jpeg(data: bytes) -> bytes:
    kept: list[bytes] = []
    exif, xmp = b"", b""
    for marker, segment in _segments(data):
        payload = segment[4:]
        if marker == _APP1 and payload.startswith(_EXIF):
            exif += payload[len(_EXIF) :]
        elif marker == _APP1:
            xmp += payload
        elif not (_APP0 <= marker <= _APP15 or marker == _COMMENT) or payload.startswith(_OF_COLOURS.get(marker, ())):
            kept.append(segment)
    tiff = _tiff(_said(exif, xmp))
    block = struct.pack(">HH", 0xFF00 | _APP1, 2 + len(_EXIF) + len(tiff)) + _EXIF + tiff if tiff else b""
    return _JPEG + block + b"".join(kept)


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """The markers of a JPEG after its first, each with its segment and, of a scan, all coded data behind; up to its end."""
    at = len(_JPEG)
    while at + 1 < len(data):
        # What stands between markers is passed over, as decoders do.
        if data[at] != 0xFF or (marker := data[at + 1]) == 0xFF:
            at += 1
            continue
        if marker in _ALONE or marker == _END:
            end = at + 2
        else:
            # The length counts itself; decoders take less for that, too.
            end = at + 2 + max(2, int.from_bytes(data[at + 2 : at + 4]))
            if end > len(data):
                return
        if marker == _SCAN:
            following = _AFTER_SCAN.search(data, end)
            end = following.start() if following else len(data)
        yield marker, data[at:end]
        if marker == _END:
            return
        at = end


def _bare_png(data: bytes) -> bytes:
    kept: list[bytes] = []
    exif, xmp = b"", b""
    at, kind = len(_PNG), b""
    while kind != b"IEND" and at < len(data):
        kind = data[at + 4 : at + 8]
        end = at + 12 + int.from_bytes(data[at : at + 4])
        if kind == b"eXIf":
            exif = data[at + 8 : end - 4].removeprefix(_EXIF)
        elif kind == b"iTXt":
            xmp += data[at + 8 : end - 4]
        elif kind in _OF_PICTURE:
            kept.append(data[at:end])
        at = end
    if tiff := _tiff(_said(exif, xmp)):
        chunk = b"eXIf" + tiff
        kept.insert(1, struct.pack(">I", len(tiff)) + chunk + struct.pack(">I", zlib.crc32(chunk)))
    return _PNG + b"".join(kept)


def _said(exif: bytes, xmp: bytes) -> _Said:
    first: dict[int, int] = {}
    details: dict[int, int] = {}
    # What was read before something damaged holds.
    with suppress(KeyError, struct.error):
        order = {b"II*\0": "<", b"MM\0*": ">"}[exif[:4]]
        first = _numbers(exif, struct.unpack_from(f"{order}I", exif, 4)[0], order)
        details = _numbers(exif, first[_DETAILS], order)
    orientation = first.get(_ORIENTATION, 0)
    if not orientation and (in_xmp := _IN_XMP.search(xmp)):
        orientation = int(in_xmp[1])
    focal = details.get(_FOCAL_35, 0)
    return _Said(orientation if 1 < orientation <= 8 else 0, focal if focal < 1 << 16 else 0)


def _numbers(exif: bytes, at: int, order: str) -> dict[int, int]:
    """The single whole numbers of one directory, by their tags."""
    (count,) = struct.unpack_from(f"{order}H", exif, at)
    found: dict[int, int] = {}
    for entry in range(at + 2, at + 2 + 12 * count, 12):
        tag, kind, many = struct.unpack_from(f"{order}HHI", exif, entry)
        if kind in (_SHORT, _LONG) and many == 1:
            (found[tag],) = struct.unpack_from(order + ("H" if kind == _SHORT else "I"), exif, entry + 8)
    return found


def _tiff(said: _Said) -> bytes:
    """Both as a TIFF of two directories; empty where nothing is said."""
    entries = []
    if said.orientation:
        entries.append((_ORIENTATION, _SHORT, said.orientation))
    if said.focal_35:
        # Behind the eight bytes of the head and the first directory.
        entries.append((_DETAILS, _LONG, 8 + 2 + 12 * (len(entries) + 1) + 4))
    if not entries:
        return b""
    tiff = struct.pack("<4sI", b"II*\0", 8) + _directory(entries)
    return tiff + _directory([(_FOCAL_35, _SHORT, said.focal_35)]) if said.focal_35 else tiff


def _directory(entries: list[tuple[int, int, int]]) -> bytes:
    numbers = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    return struct.pack("<H", len(entries)) + numbers + bytes(4)
