"""The mix sheet with ReportLab as its guide teaches it: a story of flowables on page templates, tables in tables to put
things side by side, drawings for what is drawn. Faces, styles and signs are made once."""

import io
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Line, Rect, String
from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, NextPageTemplate, PageBreak, PageTemplate, Paragraph, Spacer, Table

from parts import BARE, HAIR, SOFT, caption, code_drawing, para, style, svg
from sheet import GAP, LOGO, MARGIN, SIGNS, WIDTH, bar, grey, large, run

PICTURES = {path.stem: svg(path, 30) for path in SIGNS.glob("*.svg")}
MARK = svg(LOGO, 70)
BODY, BOLD, LEAD = style(8.4), style(8.4, "Bold"), style(11, "Bold")
NAME, BACK, STEP = style(20, "Bold"), style(18, "Bold"), style(8.5, leftIndent=14, bulletFontName="Bold", bulletFontSize=8.5, spaceAfter=1)
SECTION, SIGN, STOP = style(7.4, "SemiBold", spaceBefore=4, spaceAfter=2), style(7.6, "SemiBold", alignment=1), style(8.4, "SemiBold", white)
LOUD, TITLE, FIGURE, CELL, HEADING = style(15, "Bold", white), style(8.4, "Bold"), {n: style(n, "Narrow") for n in range(12, 35)}, style(9.4), style(8, "SemiBold")
PADDED = [("VALIGN", (0, 0), (-1, -1), "TOP")] + [(f"{side}PADDING", (0, 0), (-1, -1), n) for side, n in (("LEFT", 8), ("RIGHT", 8), ("TOP", 4), ("BOTTOM", 4))]
BOXED = PADDED + [("BOX", (0, 0), (-1, -1), 1.4, black), ("INNERGRID", (0, 0), (-1, -1), 1.4, black)]
THIN = PADDED + [("BOX", (0, 0), (-1, -1), 0.8, black), ("INNERGRID", (0, 0), (-1, -1), 0.8, black)]
BLACK = PADDED + [("BACKGROUND", (0, 0), (-1, -1), black), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
RULES = [
    ("LEFTPADDING", (0, 0), (-1, -1), 4), ("RIGHTPADDING", (0, 0), (-1, -1), 4), ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ("VALIGN", (0, 0), (-1, 0), "BOTTOM"), ("VALIGN", (0, 1), (-1, -1), "MIDDLE"), ("LINEABOVE", (0, 0), (-1, 0), 1.2, black),
    ("LINEABOVE", (0, 1), (-1, 1), 0.8, black), ("LINEABOVE", (0, 2), (-1, -1), 0.5, HAIR), ("LINEBELOW", (0, -1), (-1, -1), 1.2, black),
    ("FONT", (0, 1), (-1, -1), "Regular", 9.4),
]


def tick(side=8):
    drawing = Drawing(side, side)
    drawing.add(Rect(0, 0, side, side, fillColor=None, strokeColor=black, strokeWidth=0.7))
    return drawing


def strong(text):
    return f'<font name="Bold">{escape(text)}</font>'


class Begins(Flowable):
    """Notes which treatment the pages that follow are of."""

    def __init__(self, text):
        super().__init__()
        self.text = text

    def draw(self):
        self.canv.treatment = self.text


class Numbered(Canvas):
    """A canvas whose feet say how many pages there are."""

    def __init__(self, *given, **named):
        super().__init__(*given, **named)
        self.pages = []

    def showPage(self):
        self.pages.append(dict(self.__dict__))
        self._startPage()

    def save(self):
        for number, page in enumerate(self.pages, 1):
            self.__dict__.update(page)
            self.setFont("Regular", 7.5)
            self.drawRightString(MARGIN + WIDTH, 15, self.words["page"].format(page=number, pages=len(self.pages)))
            super().showPage()
        super().save()


def head(data, t):
    h, back, words = data["header"], data["back"], data["words"]
    left = [Table([[para(h["site"], NAME), MARK]], colWidths=[238, 75], style=BARE), para(h["address"], BODY)]
    left += [Paragraph(f'{strong(h["when"])} · {escape(h["crew"])}', BODY), para(f'{t["place"]}: {t["heading"]}', LEAD)]
    again = [caption(words["back"], HEADING), para(back["big"], BACK), para(back["small"] or "", BOLD), para(words["back_site"], BODY)]
    phones = " &nbsp; ".join(f'{escape(p["label"].upper())} {strong(p["value"])}' for p in data["phones"])
    return [
        Table([[left, Table([[again]], colWidths=[125], style=BOXED), code_drawing(data["link"], 57)]], colWidths=[320, 150, 57], style=BARE),
        Table([[para("  ·  ".join(t["facts"]), BODY), Table([[Paragraph(phones, BODY)]], colWidths=[200], style=THIN)]], colWidths=[327, 200], style=BARE),
    ]


def dangers(data, t):
    listed = [para(text, STOP) for text in t["dangers"]]
    half = (len(listed) + 1) // 2
    columns = [listed[:half], listed[half:]] if len(listed) > 1 else [listed]
    cells, each = [caption(data["words"]["danger"], LOUD), *columns], (WIDTH - 70) / len(columns)
    return Table([cells], colWidths=[70] + [each] * len(columns), style=BLACK)


def scale(strip, across):
    drawing, blocks = Drawing(across, 26), strip["blocks"]
    each = across / len(blocks)
    for i, block in enumerate(blocks):
        passes, shade = block["pass"], grey(i, len(blocks))
        drawing.add(Rect(i * each, 9, each - 1, 12, fillColor=Color(shade, shade, shade), strokeColor=black if passes else HAIR, strokeWidth=2 if passes else 0.5))
        drawing.add(String((i + 0.5) * each, 1, block["label"], fontSize=7, textAnchor="middle", fontName="Bold" if passes else "Regular"))
        if passes:
            drawing.add(Line((i + 0.4) * each, 24, (i + 0.5) * each, 22))
            drawing.add(Line((i + 0.5) * each, 22, (i + 0.65) * each, 27))
    return drawing


def box(number, title, figure, across, *below):
    face = FIGURE[large(figure["big"], across - 16)]
    heading = Paragraph(f'<font color="white" backColor="black">&nbsp;{number}&nbsp;</font> &nbsp;{escape(title)}', TITLE)
    return [heading, Spacer(0, 3), para(figure["big"], face), para(figure.get("small") or "", BODY), *below]


def boxes(data, t):
    words, strip, last = data["words"], t["strip"], t["last"]
    widths = [WIDTH * share / 3.4 for share in (1, 1, 1.4)]
    expect = [para(strip["between"], BOLD), para(strip["expect"], BODY), scale(strip, widths[2] - 16), para(strip["how"], BODY)]
    row = [
        box(1, words["water"], t["water"], widths[0], para(t["each"], BOLD)),
        box(2, f'{words["then"]} {t["name"]}', t["product"], widths[1], para(t["registration"], BOLD), para(t["meaning"], BODY)),
        box(3, f'{strip["heading"]} · {strip["name"]}', strip, widths[2], *expect),
    ]
    fails = Paragraph(f'{strong(strip["fails"])} {escape(strip["then"])}', BODY)
    story = [Table([row], colWidths=widths, style=BOXED), Spacer(0, 3)]
    if not last:
        return [*story, Table([[fails]], colWidths=[WIDTH], style=THIN)]
    amount = lambda word, figure, across: [para(word, BOLD), para(figure["big"], FIGURE[large(figure["big"], across - 16, 18)]), para(figure["small"], BODY)]
    second = [amount(last["each"], last["water"], widths[0]), amount(t["name"], last["product"], widths[1]), fails]
    return [*story, Table([second], colWidths=widths, style=THIN)]


def safety(data, t):
    words, dot = data["words"], Drawing(5, 7)
    dot.add(Rect(0, 1, 4.5, 4.5, fillColor=black, strokeColor=None))
    signs = Table([[[PICTURES[w["sign"]], para(w["words"], SIGN)] for w in t["wear"]]], colWidths=[40] * len(t["wear"]), style=BARE + [("ALIGN", (0, 0), (-1, -1), "CENTER")])
    across = WIDTH - 40 * len(t["wear"]) - 11
    rules = Table([[dot, para(rule, BODY)] for rule in t["stop"]], colWidths=[10, across - 10], style=BARE)
    sides = Table([[[caption(words["wear"], SECTION), signs], "", [caption(words["stop"], SECTION), rules]]], colWidths=[40 * len(t["wear"]), 11, across], style=BARE)
    checks = [cell for text in t["before"] for cell in (tick(), para(text, BOLD))]
    narrow = (WIDTH - 90) / len(t["before"]) - 14
    return [sides, Table([[caption(words["before"], HEADING), *checks]], colWidths=[90] + [14, narrow] * len(t["before"]), style=BARE)]


def to_write(printed, written, rows, widths, more=()):
    names = [para(name, HEADING) for name in (*printed, *written)]
    room = (WIDTH - sum(widths)) / len(written)
    look = RULES + [("LINEBEFORE", (len(printed), 0), (-1, -1), 0.5, HAIR), *more]
    return Table([names, *(row + [""] * len(written) for row in rows)], colWidths=widths + [room] * len(written), rowHeights=[None] + [17] * len(rows), style=look)


def tables(data, t):
    w, total = data["words"], t["areas"]["total"]
    loads = [[load["load"], load["plan"], load["water"], load["product"]] for load in t["loads"]]
    areas = [[Table([[tick(), para(a["name"], TITLE)]], colWidths=[13, 97], style=BARE), a["size"], a["solution"], a["plan"]] for a in t["areas"]["rows"]]
    if total:
        areas.append([para(w["total"], TITLE), total["size"], total["solution"], ""])
    spots = min((len(t["areas"]["rows"]) + 1) // 2, 4)
    names = (w["spot"], w["wetted"], w["still_wet"]) * 2
    bold = ("FONT", (0, 1), (0, -1), "Bold", 9.4), ("FONT", (2, 1), (3, -1), "SemiBold", 9.4)
    return [
        to_write((w["load"], w["plan"], w["load_water"], w["load_product"]), [w[key] for key in ("lot", "strip_lot", "mixed", "by", "water_used", "product_used", "read")], loads, [30, 44, 64, 50], bold),
        Spacer(0, 3),
        to_write([w[key] for key in ("area", "size", "solution", "plan")], [w[key] for key in ("started", "finished", "rewet", "seen_wet")], areas, [120, 50, 52, 88]),
        Spacer(0, 3),
        Table([[para(name, HEADING) for name in names], *[[""] * 6] * spots], colWidths=[WIDTH / 4, WIDTH / 8, WIDTH / 8] * 2, rowHeights=[None] + [17] * spots, style=RULES + [("LINEBEFORE", (1, 0), (-1, -1), 0.5, HAIR)]),
    ]


def halves(listed):
    half = (len(listed) + 1) // 2
    return Table([[listed[:half], "", listed[half:]]], colWidths=[(WIDTH - GAP) / 2, GAP, (WIDTH - GAP) / 2], style=BARE)


def clock(t):
    drawing, (parts, key) = Drawing(WIDTH, 29), bar(t["timeline"])
    for part in parts:
        x, across, kind = part["x"], part["width"], part["kind"]
        shade = {"spray": 0.22, "wet": 0.8}.get(kind, 1)
        drawing.add(Rect(x, 0, across, 17, fillColor=Color(shade, shade, shade), strokeColor=black, strokeWidth=0.8))
        for i in range(int((across - 17) / 5) if kind == "air" else 0):
            drawing.add(Line(x + i * 5, 0, x + i * 5 + 17, 17, strokeColor=HAIR, strokeWidth=0.6))
        if part["text"]:
            drawing.add(String(x + across / 2, 6, part["text"], fontName="SemiBold", fontSize=8, textAnchor="middle", fillColor=white if kind == "spray" else black))
        if part["clock"]:
            drawing.add(String(x, 20, part["clock"], fontName="Regular", fontSize=7.5))
    drawing.add(String(WIDTH, 20, t["timeline"]["end"], fontName="Bold", fontSize=7.5, textAnchor="end"))
    return [drawing, para("    ".join(key), BODY)]


def treatment(data, t):
    words = data["words"]
    begins = "  ·  ".join((data["header"]["site"], t["place"], t["facts"][0], t["name"]))
    lines = [[caption(text, HEADING) for text in (words["notes"], *data["signature"])]]
    ruled = BARE + [("LINEABOVE", (0, 0), (-1, -1), 0.5, HAIR), ("TOPPADDING", (0, 0), (-1, -1), 2)]
    steps = [Paragraph(escape(text), STEP, bulletText=str(number)) for number, text in enumerate(t["steps"], 1)]
    cautions = [Paragraph(f'{strong(c["word"] + ":")} {escape(c["text"])}', BODY) for c in t["cautions"]]
    below = [caption(words["steps"], SECTION), halves(steps), caption(words["cautions"], SECTION), halves(cautions), caption(words["timeline"], SECTION), *clock(t)]
    first = [*head(data, t), dangers(data, t), Spacer(0, 3), *boxes(data, t), *safety(data, t), Spacer(0, 4), *tables(data, t)]
    return [Begins(begins), NextPageTemplate("later"), *first, Spacer(0, 10), Table(lines, colWidths=[240, 150, 137], style=ruled), KeepTogether(below)]


def make(data):
    back = data["back"]
    returns = ", ".join(text for text in (f'{data["words"]["back"]}: {back["big"]}', back["small"]) if text)

    def foot(canvas, document):
        canvas.words = data["words"]
        canvas.setLineWidth(0.6)
        canvas.line(MARGIN, 32, MARGIN + WIDTH, 32)
        canvas.setFont("Regular", 7.5)
        canvas.setFillColor(SOFT)
        canvas.drawString(MARGIN, 24, data["deference"])
        canvas.drawRightString(MARGIN + WIDTH, 24, data["header"]["record"])

    def later(canvas, document):
        foot(canvas, document)
        canvas.setFont("Bold", 8.2)
        canvas.setFillColor(black)
        canvas.drawString(MARGIN, 768, canvas.treatment)
        canvas.drawRightString(MARGIN + WIDTH, 768, returns)

    story = []
    for i, t in enumerate(data["treatments"]):
        story += [NextPageTemplate("first"), PageBreak()] if i else []
        story += treatment(data, t)
    out = io.BytesIO()
    document = BaseDocTemplate(out, pagesize=(612, 792), title=data["title"], author=data["author"], pageCompression=1)
    frame = lambda tall: Frame(MARGIN, 36, WIDTH, tall, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
    document.addPageTemplates([PageTemplate("first", [frame(740)], onPage=foot), PageTemplate("later", [frame(726)], onPage=later)])
    document.build(story, canvasmaker=Numbered)
    return out.getvalue()


run(make)
