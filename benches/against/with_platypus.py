"""The mix sheet with ReportLab as its guide teaches it: a story of flowables on a document template, tables in tables to
put things side by side, drawings for what is drawn. Faces, styles and signs are made once."""

import io
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Line, Rect, String
from reportlab.lib.colors import Color, black, white
from reportlab.platypus import HRFlowable, PageBreak, Paragraph, SimpleDocTemplate, Spacer, Table

from parts import ACCENT, BARE, HAIR, SOFT, SOFT_HEX, caption, code_drawing, para, style, svg
from sheet import ASIDE, GAP, LOGO, MAIN, SIGNS, WIDTH, footer, grey, large, run

PICTURES = {path.stem: svg(path, 35) for path in SIGNS.glob("*.svg")}
MARK = svg(LOGO, 55)
BODY, LEAD, TITLE, HEADING = style(9.4), style(11, "SemiBold"), style(21, "Bold", spaceAfter=3), style(13, "Bold", spaceBefore=6)
HEADED, SECTION = style(8.4, "SemiBold", ACCENT), style(7.4, "SemiBold", spaceBefore=9, spaceAfter=4)
SIGN, KEY, HOW, SECOND = style(8, "SemiBold", alignment=1), style(7.4, color=SOFT), style(8), style(9.4, color=SOFT)
LIST = dict(leftIndent=16, bulletFontName="Bold", spaceAfter=3)
SMALL, LARGE = style(8.4, bulletFontSize=8.4, **LIST), style(10, bulletFontSize=10, **LIST)
RULES = [
    ("LEFTPADDING", (0, 0), (-1, -1), 4), ("RIGHTPADDING", (0, 0), (-1, -1), 4), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ("FONT", (0, 0), (-1, 0), "SemiBold", 6.6), ("LINEABOVE", (0, 0), (-1, 0), 1, black), ("FONT", (0, 1), (-1, -1), "Regular", 9.4),
    ("LINEABOVE", (0, 1), (-1, 1), 0.6, black), ("LINEABOVE", (0, 2), (-1, -1), 0.4, HAIR),
    ("TOPPADDING", (0, 0), (-1, -1), 4), ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
]
LOADS = RULES + [
    ("LINEBELOW", (0, -1), (-1, -1), 1, black), ("FONT", (0, 1), (2, -1), "Bold", 9.4), ("LINEBEFORE", (4, 1), (-1, -1), 0.4, HAIR),
]
AREAS = RULES + [("ALIGN", (2, 0), (-1, -1), "RIGHT"), ("FONT", (1, 1), (1, -1), "SemiBold", 9.4), ("FONT", (-1, 1), (-1, -1), "Bold", 9.4)]
TOTAL = AREAS + [("LINEABOVE", (0, -1), (-1, -1), 1, black), ("FONT", (0, -1), (-1, -1), "Bold", 9.4)]
BOXED = BARE + [
    ("BOX", (0, 0), (-1, -1), 1.4, black), ("LEFTPADDING", (0, 0), (-1, -1), 9), ("RIGHTPADDING", (0, 0), (-1, -1), 9),
    ("TOPPADDING", (0, 0), (-1, 0), 7), ("BOTTOMPADDING", (0, -1), (-1, -1), 7),
]


def beside(widths, *columns):
    return Table([list(columns)], colWidths=widths, style=BARE)


def head(data):
    h = data["header"]
    left = [beside([62, 200], MARK, caption(h["heading"], HEADED)), para(h["site"], TITLE), para(h["address"], BODY), para(h["when"], LEAD)]
    middle = [part for fact in h["facts"] for part in (caption(fact["label"]), para(fact["value"], style(9.4, "SemiBold", spaceAfter=3)))]
    return [beside([311, WIDTH - 368, 57], left, middle, code_drawing(data["link"], 57)), HRFlowable(width="100%", thickness=1.6, color=ACCENT, spaceBefore=4)]


def facts(t, texts):
    more = "".join(f'<font name="Regular" size="11" color="{SOFT_HEX}"> &nbsp;·&nbsp; {escape(text)}</font>' for text in texts)
    return Paragraph(escape(t["heading"]) + more, HEADING)


def measured(number, word, figure, face="Narrow", sizes=(27, 22, 19, 14)):
    size = large(figure["big"], sizes)
    title = f'<font name="Bold" size="9" color="white" backColor="black">&nbsp;{number}&nbsp;</font> &nbsp;{escape(word.upper())}'
    return [Paragraph(title, style(8, "SemiBold", spaceAfter=4)), para(figure["big"], style(size, face)), para(figure["small"], SECOND)]


def strip(strip):
    drawing, blocks = Drawing(187, 34), strip["blocks"]
    each = 187 / len(blocks)
    for i, block in enumerate(blocks):
        passes, shade = block["pass"], grey(i, len(blocks))
        drawing.add(Rect(
            i * each, 9, each - 1.5, 15 if passes else 11, fillColor=Color(shade, shade, shade),
            strokeColor=black if passes else HAIR, strokeWidth=2 if passes else 0.5,
        ))
        drawing.add(String(
            (i + 0.5) * each, 1, block["label"], fontSize=6.6, textAnchor="middle",
            fontName="Bold" if passes else "Regular", fillColor=black if passes else SOFT,
        ))
        if passes:
            drawing.add(Line(i * each + 6, 28, i * each + 8, 26))
            drawing.add(Line(i * each + 8, 26, i * each + 13, 32))
    return drawing


def clock(t):
    drawing = Drawing(MAIN, 29)
    for part in t["bar"]:
        x, width, kind = part["x"], part["width"], part["kind"]
        shade = {"spray": 0.22, "wet": 0.8}.get(kind, 1)
        drawing.add(Rect(x, 0, width, 17, fillColor=Color(shade, shade, shade), strokeColor=black, strokeWidth=0.8))
        if kind == "air":
            for i in range(int((width - 17) / 5)):
                drawing.add(Line(x + i * 5, 0, x + i * 5 + 17, 17, strokeColor=HAIR, strokeWidth=0.6))
        if part["text"]:
            color = white if kind == "spray" else black
            drawing.add(String(x + width / 2, 6, part["text"], fontName="SemiBold", fontSize=8, textAnchor="middle", fillColor=color))
        if part["clock"]:
            drawing.add(String(x, 20, part["clock"], fontName="Regular", fontSize=7))
    drawing.add(String(MAIN, 20, t["timeline"]["end"], fontName="Bold", fontSize=7, textAnchor="end"))
    key = " &nbsp; ".join(f'<font name="Bold" color="black">{number}</font> {escape(text)}' for number, text in t["key"])
    return [drawing, Paragraph(key, KEY)]


def loads(t, words):
    names = ("load", "load_water", "load_product", "expect", "read", "mixed_at", "lot", "initials")
    rows = [[words[name].upper() for name in names]]
    rows += [[load["load"], load["water"], load["product"], load["expect"], "", "", "", ""] for load in t["loads"]]
    return Table(rows, colWidths=[30, 66, 62, 62, 84, 70, 88, 65], style=LOADS)


def areas(t, words):
    tick = Drawing(7, 7)
    tick.add(Rect(0, 0, 7, 7, fillColor=None, strokeColor=black, strokeWidth=0.7))
    rows = [["", *(words[key].upper() for key in ("area", "size", "solution", "minutes", "start", "wet_until"))]]
    for a in t["areas"]["rows"]:
        name = para(a["name"], style(9.4, "SemiBold"))
        rows.append([tick, name, a["size"], a["solution"], a["minutes"], a["start"], a["wet_until"]])
    total = t["areas"]["total"]
    if total:
        rows.append(["", total["name"], total["size"], total["solution"], total["minutes"], "", ""])
    return Table(rows, colWidths=[16, 114, 48, 48, 26, 32, 42], style=TOTAL if total else AREAS)


def wear(t):
    cells = [[PICTURES[thing["sign"]], para(thing["words"], SIGN)] for thing in t["wear"]]
    rows = [cells[i : i + 4] + [""] * (4 - len(cells[i : i + 4])) for i in range(0, len(cells), 4)]
    return Table(rows, colWidths=[ASIDE / 4] * 4, style=BARE + [("ALIGN", (0, 0), (-1, -1), "CENTER"), ("BOTTOMPADDING", (0, 0), (-1, -1), 6)])


def steps(t, words, look):
    listed = [Paragraph(escape(text), look, bulletText=str(number)) for number, text in enumerate(t["steps"], 1)]
    return [caption(words["steps"], SECTION), *listed]


def watch(t, words, look, width):
    text, bold = style(look.fontSize), style(look.fontSize, "Bold")
    marks, rows = BARE + [("RIGHTPADDING", (0, 0), (-1, -1), 6), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)], []
    for row, caution in enumerate(t["cautions"]):
        stop = caution["severity"] == "stop"
        mark = style(6.6, "Bold", white if stop else black, alignment=1, borderWidth=0.8, borderPadding=1, borderColor=black, backColor=black if stop else None)
        rows.append([caption(caution["word"], mark), para(caution["text"], bold if stop else text)])
    return [caption(words["cautions"], SECTION), Table(rows, colWidths=[42, width - 42], style=marks)]


def stop_rules(data, look, width):
    dot = Drawing(5, 7)
    dot.add(Rect(0, 0, 5, 5, fillColor=black, strokeColor=None))
    text, head = style(look.fontSize, spaceAfter=2), caption(data["words"]["stop"], style(8, "SemiBold", spaceAfter=3))
    rows = Table([[dot, para(rule, text)] for rule in data["stop"]], colWidths=[11, width - 29], style=BARE)
    return [Spacer(0, 8), Table([[[head, rows]]], colWidths=[width], style=BOXED)]


def last_load(t, words):
    cells = [para(t["last"]["each"], style(9.4, "Bold"))]
    for word, figure in ((words["water"], t["last"]["water"]), (words["product"], t["last"]["product"])):
        text = f'{escape(figure["big"])} <font name="Regular" size="8" color="{SOFT_HEX}">{escape(figure["small"])}</font>'
        cells.append([caption(word, style(6.8, "SemiBold")), Paragraph(text, style(19, "Narrow"))])
    return Table([cells], colWidths=[116, 205, 206], style=BOXED)


def treatment(data, t):
    words = data["words"]
    third = measured(3, words["strip"], t["strip"], "Bold", (19, 19, 16, 16)) + [strip(t["strip"]), para(t["strip"]["how"], HOW)]
    boxes = [
        Table([[body]], colWidths=[width], rowHeights=[107], style=BOXED)
        for body, width in ((measured(1, words["water"], t["water"]), 152), (measured(2, words["product"], t["product"]), 152), (third, 205))
    ]
    story = [facts(t, t["facts"]), para(t["meaning"], BODY), caption(t["each"], SECTION), beside([161, 161, 205], *boxes), Spacer(0, 7)]
    if t["last"]:
        story.append(last_load(t, words))
    story += [caption(words["loads"], SECTION), loads(t, words)]
    left = [caption(words["areas"], SECTION), areas(t, words), caption(words["timeline"], SECTION), *clock(t)]
    right = [caption(words["wear"], SECTION), wear(t)]
    if not t["back"]:
        left += steps(t, words, SMALL)
        right += watch(t, words, SMALL, ASIDE) + stop_rules(data, SMALL, ASIDE)
        return [*story, beside([MAIN + GAP, ASIDE], left, right)]
    half = (WIDTH - GAP) / 2
    back = beside([half + GAP, half], steps(t, words, LARGE), watch(t, words, LARGE, half))
    return [*story, beside([MAIN + GAP, ASIDE], left, right), PageBreak(), facts(t, t["facts"][:1]), back, *stop_rules(data, LARGE, WIDTH)]


def make(data):
    def foot(canvas, document):
        canvas.setLineWidth(0.6)
        canvas.line(42.5, 32, 42.5 + WIDTH, 32)
        canvas.setFont("Regular", 7)
        canvas.setFillColor(SOFT)
        canvas.drawString(42.5, 24, data["deference"])
        canvas.drawRightString(42.5 + WIDTH, 24, data["header"]["facts"][-1]["value"])
        canvas.drawRightString(42.5 + WIDTH, 15, footer(data, document.page))

    story = head(data)
    for i, t in enumerate(data["treatments"]):
        story += [PageBreak()] if i else []
        story += treatment(data, t)
    lines = [[caption(text) for text in (data["words"]["notes"], *data["signature"])]]
    ruled = BARE + [("LINEABOVE", (0, 0), (-1, -1), 0.5, HAIR), ("TOPPADDING", (0, 0), (-1, -1), 2)]
    story += [Spacer(0, 20), Table(lines, colWidths=[240, 173, 114], style=ruled)]
    out = io.BytesIO()
    # a frame keeps 6 pt free inside its margins
    SimpleDocTemplate(
        out, pagesize=(612, 792), leftMargin=36.5, rightMargin=36.5, topMargin=25, bottomMargin=36,
        title=data["title"], author=data["author"], pageCompression=1,
    ).build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


run(make)
