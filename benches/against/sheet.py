"""What the scripts share: a sheet's data as read, the code's modules, the faces, and the loop that is timed.

Nothing here belongs to one library. What a script would have to work out by itself, and decant's template does by
measuring, is worked out here once and cheaply: the size of large figures, which parts of a time line carry their name.
"""

import json
import os
import pathlib
import sys
import time

import zxingcpp
from fontTools.ttLib import TTFont

INPUT = pathlib.Path(os.environ["SHEETS"])
FONTS = INPUT / "fonts"
SIGNS = INPUT / "signs"
LOGO = INPUT / "logo.svg"
FACES = ("Regular", "SemiBold", "Bold", "Narrow")
SOFT, HAIR = "#575757", "#9e9e9e"

# One page is 612 by 792 pt with margins of 42.5 pt.
MARGIN, WIDTH, GAP = 42.5, 527.0, 23.0


def advances(face):
    """The width of every character of a face, in ems."""
    font = TTFont(FONTS / f"{face}.ttf", lazy=True)
    ems, widths = font["head"].unitsPerEm, font["hmtx"]
    return {chr(code): widths[glyph][0] / ems for code, glyph in font.getBestCmap().items()}


SEMIBOLD = advances("SemiBold")


def width(text, size):
    """The width of a text in the semi-bold face, in points."""
    return sum(SEMIBOLD[letter] for letter in text) * size


def code(link):
    """A QR code with error level M: its side in modules with the quiet zone, and its dark runs as (x, y, length)."""
    image = memoryview(zxingcpp.create_barcode(link, zxingcpp.BarcodeFormat.QRCode, ec_level="M").to_image())
    runs = []
    for y, row in enumerate(image.tolist()):
        x = 0
        while x < len(row):
            begin = x
            while x < len(row) and row[x] == 0:
                x += 1
            if x > begin:
                runs.append((begin, y, x - begin))
            x += 1
    return image.shape[0], runs


def bar(timeline):
    """A time line's parts, each with its name and its clock time where there is room; and the kinds that had none for theirs."""
    parts, key, last, end = [], [], -100.0, width(timeline["end"], 7.5)
    for part in timeline["parts"]:
        x, room = WIDTH * part["at"], WIDTH * part["span"]
        text = part["label"] if width(part["label"], 8) + 8 <= room else ""
        if not text and part["label"] not in key:
            key.append(part["label"])
        wide = width(part["from"], 7.5)
        clock = ""
        if x > last + 3 and x + wide < WIDTH - end - 4:
            clock, last = part["from"], x + wide
        parts.append({"x": x, "width": room, "kind": part["kind"], "text": text, "clock": clock})
    return parts, key


def large(text, room, most=30):
    """The type size for a large figure, by its width."""
    return max(12, min(most, int(room / width(text, 1))))


def grey(block, blocks):
    """How dark a block of the strip's scale is, from 1 for white."""
    return 1 - 0.62 * block / max(blocks - 1, 1)


def read(path):
    """The data of a sheet, as `decant data JOB mix-sheet` gives it, with the link of its code."""
    data = json.loads(path.read_text(encoding="utf-8"))
    data["link"] = data["header"]["qr"]["alt"].split()[-1]
    return data


def run(make, read=read):
    """Makes every document, `make(data)` being the bytes of one, and prints the seconds this took by clock and processor.

    Imports, and whatever a script prepares once, lie before it and are not counted.
    """
    target = pathlib.Path(sys.argv[1])
    target.mkdir(parents=True, exist_ok=True)
    clock, processor = time.perf_counter(), time.process_time()
    for path in sorted(INPUT.glob("*.json")):
        (target / f"{path.stem}.pdf").write_bytes(make(read(path)))
    print(time.perf_counter() - clock, time.process_time() - processor)
