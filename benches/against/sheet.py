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
ACCENT, SOFT, HAIR = "#1b4d6b", "#616161", "#9e9e9e"

# One page is 612 by 792 pt with margins of 42.5 pt.
WIDTH = 527.0
MAIN, ASIDE, GAP = 326.0, 176.0, 25.0


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


def code_svg(link):
    """The same code as a drawing of one path."""
    side, runs = code(link)
    path = "".join(f"M{x} {y}h{n}v1h-{n}z" for x, y, n in runs)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}"><path d="{path}"/></svg>'


def bar(timeline):
    """A time line's parts, each with the text it has room for (its name, its number, nothing) and its clock time."""
    parts, key, last = [], [], -100.0
    for number, part in enumerate(timeline["parts"], 1):
        x, room = MAIN * part["at"], MAIN * part["span"]
        text = part["label"]
        if width(text, 8) + 8 > room:
            key.append((str(number), f"{part['label']} {part['from']}"))
            text = str(number) if width(str(number), 7.5) + 2 <= room else ""
        wide = width(part["from"], 7)
        clock = ""
        if x > last + 3 and x + wide < MAIN - 28:
            clock, last = part["from"], x + wide
        parts.append({"x": x, "width": room, "kind": part["kind"], "text": text, "clock": clock})
    return parts, key


def large(text, sizes=(27, 22, 19, 14)):
    """The type size for a large figure, by its length."""
    return next((size for size, most in zip(sizes, (11, 14, 20)) if len(text) <= most), sizes[-1])


def grey(block, blocks):
    """How dark a block of the strip's scale is, from 1 for white."""
    return 1 - 0.62 * block / max(blocks - 1, 1)


def read(path):
    """The data of a sheet, as `decant data JOB mix-sheet` gives it, with what the scripts share."""
    data = json.loads(path.read_text(encoding="utf-8"))
    data["link"] = data["header"]["qr"]["alt"].split()[-1]
    data["pages"] = 0
    for treatment in data["treatments"]:
        # decant too prints steps and cautions on the back when there is much to watch
        treatment["back"] = len(treatment["cautions"]) > 3
        treatment["bar"], treatment["key"] = bar(treatment["timeline"])
        data["pages"] += 2 if treatment["back"] else 1
    return data


def footer(data, number):
    """The words at the right of the foot of a page."""
    return data["words"]["page"].replace("{page}", str(number)).replace("{pages}", str(data["pages"]))


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
