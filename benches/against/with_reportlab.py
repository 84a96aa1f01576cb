"""The mix sheet with ReportLab: faces registered and signs converted once, each page drawn on a canvas, paragraphs and
tables as platypus flowables."""

import io
from xml.sax.saxutils import escape

from reportlab.graphics import renderPDF
from reportlab.lib.colors import HexColor, black, white
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table
from svglib.svglib import svg2rlg

from sheet import ACCENT, ASIDE, FACES, FONTS, GAP, HAIR, LOGO, MAIN, SIGNS, SOFT, WIDTH, code, footer, grey, large, run

for face in FACES:
    pdfmetrics.registerFont(TTFont(face, FONTS / f"{face}.ttf"))
DRAWN = {path.stem: svg2rlg(str(path)) for path in [LOGO, *SIGNS.glob("*.svg")]}
SOFT, HAIR, ACCENT = HexColor(SOFT), HexColor(HAIR), HexColor(ACCENT)
LEFT, TOP = 42.5, 761.0


def style(size, face="Regular", **more):
    return ParagraphStyle("", fontName=face, fontSize=size, leading=size * 1.25, **more)


LIST = dict(leftIndent=14, bulletFontName="Bold", spaceAfter=3)
SMALL, LARGE = style(8.4, **LIST, bulletFontSize=8.4), style(10, **LIST, bulletFontSize=10)
AREA = style(9.4, "SemiBold")
RULES = [
    ("LEFTPADDING", (0, 0), (-1, -1), 4), ("RIGHTPADDING", (0, 0), (-1, -1), 4), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ("FONT", (0, 0), (-1, 0), "SemiBold", 6.6), ("LINEABOVE", (0, 0), (-1, 0), 1, black),
    ("LINEABOVE", (0, 1), (-1, 1), 0.6, black), ("LINEABOVE", (0, 2), (-1, -1), 0.4, HAIR),
]
LOADS = RULES + [
    ("TOPPADDING", (0, 0), (-1, -1), 5.5), ("BOTTOMPADDING", (0, 0), (-1, -1), 5.5), ("LINEBELOW", (0, -1), (-1, -1), 1, black),
    ("FONT", (0, 1), (2, -1), "Bold", 9.4), ("FONT", (3, 1), (3, -1), "Regular", 9.4), ("LINEBEFORE", (4, 1), (-1, -1), 0.4, HAIR),
]
AREAS = RULES + [
    ("TOPPADDING", (0, 0), (-1, -1), 3), ("BOTTOMPADDING", (0, 0), (-1, -1), 3), ("ALIGN", (2, 0), (-1, -1), "RIGHT"),
    ("FONT", (2, 1), (-2, -1), "Regular", 9.4), ("FONT", (-1, 1), (-1, -1), "Bold", 9.4),
]
TOTAL = AREAS + [("LINEABOVE", (0, -1), (-1, -1), 1, black), ("FONT", (0, -1), (-1, -1), "Bold", 9.4)]


class Pages(Canvas):
    """A canvas with the sheet's few ways to place things; `y` is the height reached."""

    def words(self, x, y, text, size, face="Regular", fill=black, right=False, centred=False):
        self.setFont(face, size)
        self.setFillColor(fill)
        (self.drawRightString if right else self.drawCentredString if centred else self.drawString)(x, y, text)
        return x + (0 if right or centred else pdfmetrics.stringWidth(text, face, size))

    def caption(self, x, y, text, size=6.8, fill=SOFT):
        self.words(x, y, text.upper(), size, "SemiBold", fill)

    def place(self, flowable, x, y, width):
        height = flowable.wrap(width, y)[1]
        flowable.drawOn(self, x, y - height)
        return y - height

    def frame(self, x, y, width, height, line=1.4):
        self.setLineWidth(line)
        self.setStrokeColor(black)
        self.roundRect(x, y, width, height, 2)

    def picture(self, name, x, y, width):
        """A sign or the logo, which the file holds once."""
        drawing = DRAWN[name]
        if not self.hasForm(name):
            self.beginForm(name, 0, 0, drawing.width, drawing.height)
            renderPDF.draw(drawing, self, 0, 0)
            self.endForm()
        scale = width / drawing.width
        self.saveState()
        self.transform(scale, 0, 0, scale, x, y)
        self.doForm(name)
        self.restoreState()


def head(c, data):
    h = data["header"]
    c.picture("logo", LEFT, TOP - 19, 55)
    c.caption(LEFT + 62, TOP - 12, h["heading"], 8.4, ACCENT)
    c.words(LEFT, TOP - 42, h["site"], 21, "Bold")
    c.words(LEFT, TOP - 57, h["address"], 9.4)
    c.words(LEFT, TOP - 71, h["when"], 11, "SemiBold")
    for i, fact in enumerate(h["facts"]):
        c.caption(LEFT + 311, TOP - 8 - 23 * i, fact["label"])
        c.words(LEFT + 311, TOP - 18 - 23 * i, fact["value"], 9.4, "SemiBold")
    side, runs = code(data["link"])
    step = 57 / side
    path = c.beginPath()
    for x, y, n in runs:
        path.rect(LEFT + WIDTH - 57 + x * step, TOP - (y + 1) * step, n * step, step)
    c.setFillColor(black)
    c.drawPath(path, stroke=0, fill=1)
    c.setStrokeColor(ACCENT)
    c.setLineWidth(1.6)
    c.line(LEFT, TOP - 78, LEFT + WIDTH, TOP - 78)
    return TOP - 78


def facts(c, heading, texts, y):
    x = c.words(LEFT, y - 17, heading, 13, "Bold")
    for text in texts:
        x = c.words(x, y - 17, "  ·  " + text, 11, fill=SOFT)
    return y - 17


def measured(c, x, y, width, number, word, figure, face="Narrow", sizes=(27, 22, 19, 14)):
    c.frame(x, y - 100, width, 100)
    c.setFillColor(black)
    c.rect(x + 9, y - 22, 13, 14, fill=1)
    c.words(x + 15.5, y - 18.5, number, 9, "Bold", white, centred=True)
    c.caption(x + 28, y - 18, word, 8, black)
    c.words(x + 9, y - 50, figure["big"], large(figure["big"], sizes), face)
    c.words(x + 9, y - 63, figure["small"], 9.4, fill=SOFT)


def strip(c, strip, x, y, width):
    blocks = strip["blocks"]
    each = (width - 18) / len(blocks)
    for i, block in enumerate(blocks):
        left, high = x + 9 + i * each, 15 if block["pass"] else 11
        c.setFillGray(grey(i, len(blocks)))
        c.setStrokeColor(black if block["pass"] else HAIR)
        c.setLineWidth(2 if block["pass"] else 0.5)
        c.rect(left, y - 90 + 12, each - 1.5, high, fill=1)
        if block["pass"]:
            c.lines([(left + 6, y - 59, left + 8, y - 61), (left + 8, y - 61, left + 13, y - 55)])
        shade = black if block["pass"] else SOFT
        c.words(left + each / 2, y - 86, block["label"], 6.6, "Bold" if block["pass"] else "Regular", shade, centred=True)
    c.words(x + 9, y - 96, strip["how"], 8)


def last_load(c, t, words, y):
    c.frame(LEFT, y - 36, WIDTH, 36, 0.8)
    c.words(LEFT + 9, y - 21, t["last"]["each"], 9.4, "Bold")
    for x, word, figure in ((116, words["water"], t["last"]["water"]), (326, words["product"], t["last"]["product"])):
        c.caption(LEFT + x, y - 12, word, fill=black)
        end = c.words(LEFT + x, y - 29, figure["big"], 19, "Narrow")
        c.words(end + 5, y - 29, figure["small"], 8, fill=SOFT)
    return y - 43


def clock(c, t, y):
    for part in t["bar"]:
        x, width, kind = LEFT + part["x"], part["width"], part["kind"]
        c.setStrokeColor(black)
        c.setLineWidth(0.8)
        c.setFillGray({"spray": 0.22, "wet": 0.8}.get(kind, 1))
        c.rect(x, y - 28, width, 17, fill=1)
        if kind == "air":
            hatch(c, x, y - 28, width, 17)
        if part["text"]:
            c.words(x + width / 2, y - 22, part["text"], 8, "SemiBold", white if kind == "spray" else black, centred=True)
        c.words(x, y - 8, part["clock"], 7)
    c.words(LEFT + MAIN, y - 8, t["timeline"]["end"], 7, "Bold", right=True)
    x = LEFT
    for number, text in t["key"]:
        x = c.words(x, y - 39, number, 7.4, "Bold")
        x = c.words(x + 2, y - 39, text, 7.4, fill=SOFT) + 9
    return y - 42


def hatch(c, x, y, width, height):
    c.saveState()
    path = c.beginPath()
    path.rect(x, y, width, height)
    c.clipPath(path, stroke=0)
    c.setStrokeGray(0.55)
    c.setLineWidth(0.6)
    c.lines([(x + i * 5 - height, y, x + i * 5, y + height) for i in range(int((width + height) / 5) + 1)])
    c.restoreState()
    c.rect(x, y, width, height)


def areas(c, t, words, y):
    heads = [words[key].upper() for key in ("area", "size", "solution", "minutes", "start", "wet_until")]
    rows = [["", *heads]]
    for a in t["areas"]["rows"]:
        rows.append(["", Paragraph(escape(a["name"]), AREA), a["size"], a["solution"], a["minutes"], a["start"], a["wet_until"]])
    total = t["areas"]["total"]
    if total:
        rows.append(["", total["name"], total["size"], total["solution"], total["minutes"], "", ""])
    table = Table(rows, colWidths=[16, 114, 48, 48, 26, 32, 42], style=TOTAL if total else AREAS)
    low = c.place(table, LEFT, y, MAIN)
    c.setStrokeColor(black)
    c.setLineWidth(0.7)
    top = y - table._rowHeights[0]
    for height in table._rowHeights[1 : len(t["areas"]["rows"]) + 1]:
        c.rect(LEFT + 5, top - height / 2 - 3.5, 7, 7)
        top -= height
    return low


def wear(c, t, x, y):
    each = ASIDE / 4
    for i, thing in enumerate(t["wear"]):
        centre, top = x + each * (i % 4 + 0.5), y - 62 * (i // 4)
        c.picture(thing["sign"], centre - 17.5, top - 35, 35)
        for line, text in enumerate(thing["words"].split(" ") if len(thing["words"]) > 10 else [thing["words"]]):
            c.words(centre, top - 44 - 9 * line, text, 8, "SemiBold", centred=True)
    return y - 62 * ((len(t["wear"]) + 3) // 4)


def steps(c, t, words, x, y, width, look):
    c.caption(x, y - 12, words["steps"], 7.4, black)
    y -= 17
    for number, text in enumerate(t["steps"], 1):
        y = c.place(Paragraph(escape(text), look, bulletText=str(number)), x, y, width) - 3
    return y


def watch(c, t, words, x, y, width, look):
    c.caption(x, y - 12, words["cautions"], 7.4, black)
    y -= 17
    for caution in t["cautions"]:
        stop = caution["severity"] == "stop"
        c.setFillColor(black if stop else white)
        c.setStrokeColor(HAIR if caution["severity"] == "note" else black)
        c.roundRect(x, y - 11, 38, 10, 1, fill=1)
        c.words(x + 19, y - 8.4, caution["word"].upper(), 6.6, "Bold", white if stop else black, centred=True)
        text = f'<font name="Bold">{escape(caution["text"])}</font>' if stop else escape(caution["text"])
        y = c.place(Paragraph(text, look), x + 30, y, width - 30) - 3
    return y


def stop_rules(c, data, x, y, width, look):
    low = y - 20
    c.caption(x + 9, y - 13, data["words"]["stop"], 8, black)
    for text in data["stop"]:
        c.rect(x + 9, low - 8.5, 5, 5, stroke=0, fill=1)
        low = c.place(Paragraph(escape(text), look), x + 6, low, width - 15) - 2
    c.frame(x, low - 5, width, y - low + 5)
    return low - 5


def foot(c, data):
    c.setStrokeColor(black)
    c.setLineWidth(0.6)
    c.line(LEFT, 32, LEFT + WIDTH, 32)
    c.words(LEFT, 24, data["deference"], 7, fill=SOFT)
    c.words(LEFT + WIDTH, 24, data["header"]["facts"][-1]["value"], 7, fill=SOFT, right=True)
    c.words(LEFT + WIDTH, 15, footer(data, c.getPageNumber()), 7, fill=SOFT, right=True)
    c.showPage()


def treatment(c, data, t, y):
    words = data["words"]
    y = facts(c, t["heading"], t["facts"], y)
    c.words(LEFT, y - 12, t["meaning"], 9.4)
    c.caption(LEFT, y - 24, t["each"], 7.4, black)
    y -= 29
    measured(c, LEFT, y, 152, "1", words["water"], t["water"])
    measured(c, LEFT + 161, y, 152, "2", words["product"], t["product"])
    measured(c, LEFT + 322, y, 205, "3", words["strip"], t["strip"], "Bold", (19, 19, 16, 16))
    strip(c, t["strip"], LEFT + 322, y, 205)
    y -= 107
    if t["last"]:
        y = last_load(c, t, words, y)
    c.caption(LEFT, y - 10, words["loads"], 7.4, black)
    names = ("load", "load_water", "load_product", "expect", "read", "mixed_at", "lot", "initials")
    rows = [[words[name].upper() for name in names]]
    rows += [[load["load"], load["water"], load["product"], load["expect"], "", "", "", ""] for load in t["loads"]]
    y = c.place(Table(rows, colWidths=[30, 66, 62, 62, 84, 70, 88, 65], style=LOADS), LEFT, y - 15, WIDTH) - 4
    right = LEFT + MAIN + GAP
    c.caption(LEFT, y - 10, words["areas"], 7.4, black)
    c.caption(right, y - 10, words["wear"], 7.4, black)
    low = areas(c, t, words, y - 15)
    c.caption(LEFT, low - 14, words["timeline"], 7.4, black)
    low = clock(c, t, low - 17)
    beside = wear(c, t, right, y - 17)
    if t["back"]:
        foot(c, data)
        y, half = facts(c, t["heading"], t["facts"][:1], TOP), (WIDTH - GAP) / 2
        low = steps(c, t, words, LEFT, y, half, LARGE)
        beside = watch(c, t, words, LEFT + half + GAP, y, half, LARGE)
        return stop_rules(c, data, LEFT, min(low, beside) - 8, WIDTH, LARGE)
    low = steps(c, t, words, LEFT, low, MAIN, SMALL)
    beside = watch(c, t, words, right, beside, ASIDE, SMALL)
    return min(low, stop_rules(c, data, right, beside - 6, ASIDE, SMALL))


def make(data):
    out = io.BytesIO()
    c = Pages(out, pagesize=(612, 792), pageCompression=1)
    c.setTitle(data["title"])
    c.setAuthor(data["author"])
    y = head(c, data)
    for i, t in enumerate(data["treatments"]):
        if i:
            foot(c, data)
            y = TOP
        y = treatment(c, data, t, y)
    c.setStrokeColor(HAIR)
    for x, width, text in zip((0, 240, 413), (220, 154, 114), (data["words"]["notes"], *data["signature"])):
        c.line(LEFT + x, y - 30, LEFT + x + width, y - 30)
        c.caption(LEFT + x, y - 38, text)
    foot(c, data)
    c.save()
    return out.getvalue()


run(make)
