"""The mix sheet with fpdf2: signs and logo parsed once, cells for text, `table` for tables.

Every document of fpdf2 reads its faces anew: a face belongs to its document, and there is no way to share one.
"""

from fpdf import FPDF
from fpdf.drawing_primitives import Transform
from fpdf.enums import MethodReturnValue
from fpdf.fonts import FontFace
from fpdf.svg import SVGObject

from sheet import ACCENT, ASIDE, FACES, FONTS, GAP, HAIR, LOGO, MAIN, SIGNS, SOFT, WIDTH, code, footer, grey, large, run

DRAWN = {path.stem: SVGObject.from_file(str(path)) for path in [LOGO, *SIGNS.glob("*.svg")]}
LEFT, TOP, BLACK, WHITE = 42.5, 31.0, "#000000", "#ffffff"
HEADS = FontFace(family="SemiBold", emphasis="", size_pt=6.6)
BOLD, SEMI = FontFace(family="Bold"), FontFace(family="SemiBold")


class Sheet(FPDF):
    """A document with the sheet's few ways to place things."""

    def __init__(self, data):
        super().__init__(unit="pt", format=(612, 792))
        self.data = data
        for face in FACES:
            self.add_font(face, fname=FONTS / f"{face}.ttf")
        self.set_margins(LEFT, TOP, LEFT)
        self.set_auto_page_break(False)
        self.set_title(data["title"])
        self.set_author(data["author"])
        self.c_margin = 0
        self.add_page()

    def footer(self):
        self.set_draw_color(BLACK)
        self.set_line_width(0.6)
        self.line(LEFT, 760, LEFT + WIDTH, 760)
        self.words(LEFT, 768, self.data["deference"], 7, fill=SOFT)
        self.words(LEFT + WIDTH, 768, self.data["header"]["facts"][-1]["value"], 7, fill=SOFT, align="R")
        self.words(LEFT + WIDTH, 777, footer(self.data, self.page_no()), 7, fill=SOFT, align="R")

    def words(self, x, y, text, size, face="Regular", fill=BLACK, align="L"):
        """One line of text on the base line `y`; returns where it ends."""
        self.set_font(face, size=size)
        self.set_text_color(fill)
        width = self.get_string_width(text)
        x -= {"L": 0, "R": width, "C": width / 2}[align]
        self.text(x, y, text)
        return x + width

    def caption(self, x, y, text, size=6.8, fill=SOFT):
        self.words(x, y, text.upper(), size, "SemiBold", fill)

    def paragraph(self, x, y, width, text, size, face="Regular"):
        """Text in lines of a width; returns the height reached."""
        self.set_font(face, size=size)
        self.set_text_color(BLACK)
        self.set_xy(x, y)
        return y + self.multi_cell(width, size * 1.25, text, align="L", output=MethodReturnValue.HEIGHT)

    def frame(self, x, y, width, height, line=1.4):
        self.set_draw_color(BLACK)
        self.set_line_width(line)
        self.rect(x, y, width, height, round_corners=True, corner_radius=2)

    def filled(self, x, y, width, height, fill, style="F"):
        self.set_fill_color(fill)
        self.rect(x, y, width, height, style=style)

    def picture(self, name, x, y, width, height):
        _, _, path = DRAWN[name].transform_to_rect_viewport(1, width, height)
        path.transform = path.transform @ Transform.translation(x, y)
        self.draw_path(path)


def shade(part):
    """A grey from 0 for black to 1 for white."""
    return "#" + f"{round(part * 255):02x}" * 3


def head(pdf, data):
    h = data["header"]
    pdf.picture("logo", LEFT, TOP, 55, 19)
    pdf.caption(LEFT + 62, TOP + 12, h["heading"], 8.4, ACCENT)
    pdf.words(LEFT, TOP + 42, h["site"], 21, "Bold")
    pdf.words(LEFT, TOP + 57, h["address"], 9.4)
    pdf.words(LEFT, TOP + 71, h["when"], 11, "SemiBold")
    for i, fact in enumerate(h["facts"]):
        pdf.caption(LEFT + 311, TOP + 8 + 23 * i, fact["label"])
        pdf.words(LEFT + 311, TOP + 18 + 23 * i, fact["value"], 9.4, "SemiBold")
    side, runs = code(data["link"])
    step = 57 / side
    pdf.set_fill_color(BLACK)
    for x, y, n in runs:
        pdf.rect(LEFT + WIDTH - 57 + x * step, TOP + y * step, n * step, step, style="F")
    pdf.set_draw_color(ACCENT)
    pdf.set_line_width(1.6)
    pdf.line(LEFT, TOP + 78, LEFT + WIDTH, TOP + 78)
    return TOP + 78


def facts(pdf, heading, texts, y):
    x = pdf.words(LEFT, y + 17, heading, 13, "Bold")
    for text in texts:
        x = pdf.words(x, y + 17, "  ·  " + text, 11, fill=SOFT)
    return y + 17


def measured(pdf, x, y, width, number, word, figure, face="Narrow", sizes=(27, 22, 19, 14)):
    pdf.frame(x, y, width, 100)
    pdf.filled(x + 9, y + 8, 13, 14, BLACK)
    pdf.words(x + 15.5, y + 18.5, number, 9, "Bold", WHITE, "C")
    pdf.caption(x + 28, y + 18, word, 8, BLACK)
    pdf.words(x + 9, y + 50, figure["big"], large(figure["big"], sizes), face)
    pdf.words(x + 9, y + 63, figure["small"], 9.4, fill=SOFT)


def strip(pdf, strip, x, y, width):
    blocks = strip["blocks"]
    each = (width - 18) / len(blocks)
    for i, block in enumerate(blocks):
        left, high = x + 9 + i * each, 15 if block["pass"] else 11
        pdf.set_draw_color(BLACK if block["pass"] else HAIR)
        pdf.set_line_width(2 if block["pass"] else 0.5)
        pdf.filled(left, y + 78 - high, each - 1.5, high, shade(grey(i, len(blocks))), "DF")
        if block["pass"]:
            pdf.polyline([(left + 6, y + 59), (left + 8, y + 61), (left + 13, y + 55)])
        face, fill = ("Bold", BLACK) if block["pass"] else ("Regular", SOFT)
        pdf.words(left + each / 2, y + 86, block["label"], 6.6, face, fill, "C")
    pdf.words(x + 9, y + 96, strip["how"], 8)


def last_load(pdf, t, words, y):
    pdf.frame(LEFT, y, WIDTH, 36, 0.8)
    pdf.words(LEFT + 9, y + 21, t["last"]["each"], 9.4, "Bold")
    for x, word, figure in ((116, words["water"], t["last"]["water"]), (326, words["product"], t["last"]["product"])):
        pdf.caption(LEFT + x, y + 12, word, fill=BLACK)
        end = pdf.words(LEFT + x, y + 29, figure["big"], 19, "Narrow")
        pdf.words(end + 5, y + 29, figure["small"], 8, fill=SOFT)
    return y + 43


def table(pdf, y, heads, rows, widths, align, pad):
    """A table with rules between its rows; a cell is a text or a text with its face."""
    pdf.set_font("Regular", size=9.4)
    pdf.set_text_color(BLACK)
    pdf.set_draw_color(HAIR)
    pdf.set_fill_color(WHITE)
    pdf.set_line_width(0.4)
    pdf.set_xy(LEFT, y)
    with pdf.table(
        width=sum(widths), col_widths=widths, align="LEFT", text_align=align, borders_layout="HORIZONTAL_LINES", line_height=11,
        padding=(pad, 4), headings_style=HEADS,
    ) as made:
        row = made.row()
        for head in heads:
            row.cell(head.upper())
        for cells in rows:
            row = made.row()
            for cell in cells:
                row.cell(cell[0], style=cell[1]) if isinstance(cell, tuple) else row.cell(cell)
    return pdf.get_y()


def loads(pdf, t, words, y):
    heads = [words[key] for key in ("load", "load_water", "load_product", "expect", "read", "mixed_at", "lot", "initials")]
    rows = [[(l["load"], BOLD), (l["water"], BOLD), (l["product"], BOLD), l["expect"], "", "", "", ""] for l in t["loads"]]
    widths = (32, 66, 62, 62, 84, 70, 86, 65)
    low = table(pdf, y, heads, rows, widths, "LEFT", 5)
    for edge in (222, 306, 376, 462):
        pdf.line(LEFT + edge, y + 21, LEFT + edge, low)
    return low


def areas(pdf, t, words, y):
    heads = ["", *(words[key] for key in ("area", "size", "solution", "minutes", "start", "wet_until"))]
    rows = [
        ["", (a["name"], SEMI), a["size"], a["solution"], a["minutes"], a["start"], (a["wet_until"], BOLD)]
        for a in t["areas"]["rows"]
    ]
    total = t["areas"]["total"]
    if total:
        rows.append(["", *((total[key], BOLD) for key in ("name", "size", "solution", "minutes")), "", ""])
    align = ("LEFT", "LEFT", "RIGHT", "RIGHT", "RIGHT", "RIGHT", "RIGHT")
    low = table(pdf, y, heads, rows, (16, 102, 48, 50, 26, 38, 46), align, 2.5)
    each = (low - y) / (len(rows) + 1)
    pdf.set_draw_color(BLACK)
    pdf.set_line_width(0.7)
    for i in range(len(t["areas"]["rows"])):
        pdf.rect(LEFT + 4, y + each * (i + 1.5) - 3.5, 7, 7)
    return low


def clock(pdf, t, y):
    for part in t["bar"]:
        x, width, kind = LEFT + part["x"], part["width"], part["kind"]
        pdf.set_draw_color(BLACK)
        pdf.set_line_width(0.8)
        pdf.filled(x, y + 11, width, 17, shade({"spray": 0.22, "wet": 0.8}.get(kind, 1)), "DF")
        if kind == "air":
            hatch(pdf, x, y + 11, width, 17)
        if part["text"]:
            pdf.words(x + width / 2, y + 22, part["text"], 8, "SemiBold", WHITE if kind == "spray" else BLACK, "C")
        if part["clock"]:
            pdf.words(x, y + 8, part["clock"], 7)
    pdf.words(LEFT + MAIN, y + 8, t["timeline"]["end"], 7, "Bold", align="R")
    x = LEFT
    for number, text in t["key"]:
        x = pdf.words(x, y + 39, number, 7.4, "Bold")
        x = pdf.words(x + 2, y + 39, text, 7.4, fill=SOFT) + 9
    return y + 42


def hatch(pdf, x, y, width, height):
    with pdf.rect_clip(x, y, width, height):
        pdf.set_draw_color(shade(0.55))
        pdf.set_line_width(0.6)
        for i in range(int((width + height) / 5) + 1):
            pdf.line(x + i * 5 - height, y + height, x + i * 5, y)
    pdf.rect(x, y, width, height)


def wear(pdf, t, x, y):
    each = ASIDE / 4
    for i, thing in enumerate(t["wear"]):
        centre, top = x + each * (i % 4 + 0.5), y + 62 * (i // 4)
        pdf.picture(thing["sign"], centre - 17.5, top, 35, 35)
        for line, text in enumerate(thing["words"].split(" ") if len(thing["words"]) > 10 else [thing["words"]]):
            pdf.words(centre, top + 44 + 9 * line, text, 8, "SemiBold", align="C")
    return y + 62 * ((len(t["wear"]) + 3) // 4)


def steps(pdf, t, words, x, y, width, size):
    pdf.caption(x, y + 12, words["steps"], 7.4, BLACK)
    y += 17
    for number, text in enumerate(t["steps"], 1):
        pdf.words(x, y + size, str(number), size, "Bold")
        y = pdf.paragraph(x + 16, y, width - 16, text, size) + 3
    return y


def watch(pdf, t, words, x, y, width, size):
    pdf.caption(x, y + 12, words["cautions"], 7.4, BLACK)
    y += 17
    for caution in t["cautions"]:
        stop = caution["severity"] == "stop"
        pdf.set_draw_color(HAIR if caution["severity"] == "note" else BLACK)
        pdf.filled(x, y + 1, 38, 10, BLACK if stop else WHITE, "DF")
        pdf.words(x + 19, y + 8.4, caution["word"].upper(), 6.6, "Bold", WHITE if stop else BLACK, "C")
        y = pdf.paragraph(x + 44, y, width - 44, caution["text"], size, "Bold" if stop else "Regular") + 3
    return y


def stop_rules(pdf, data, x, y, width, size):
    low = y + 20
    pdf.caption(x + 9, y + 13, data["words"]["stop"], 8, BLACK)
    for text in data["stop"]:
        pdf.filled(x + 9, low + 3.5, 5, 5, BLACK)
        low = pdf.paragraph(x + 20, low, width - 29, text, size) + 2
    pdf.frame(x, y, width, low + 5 - y)
    return low + 5


def treatment(pdf, data, t, y):
    words = data["words"]
    y = facts(pdf, t["heading"], t["facts"], y)
    pdf.words(LEFT, y + 12, t["meaning"], 9.4)
    pdf.caption(LEFT, y + 24, t["each"], 7.4, BLACK)
    y += 29
    measured(pdf, LEFT, y, 152, "1", words["water"], t["water"])
    measured(pdf, LEFT + 161, y, 152, "2", words["product"], t["product"])
    measured(pdf, LEFT + 322, y, 205, "3", words["strip"], t["strip"], "Bold", (19, 19, 16, 16))
    strip(pdf, t["strip"], LEFT + 322, y, 205)
    y += 107
    if t["last"]:
        y = last_load(pdf, t, words, y)
    pdf.caption(LEFT, y + 10, words["loads"], 7.4, BLACK)
    y = loads(pdf, t, words, y + 15) + 4
    right = LEFT + MAIN + GAP
    pdf.caption(LEFT, y + 10, words["areas"], 7.4, BLACK)
    pdf.caption(right, y + 10, words["wear"], 7.4, BLACK)
    low = areas(pdf, t, words, y + 15)
    pdf.caption(LEFT, low + 14, words["timeline"], 7.4, BLACK)
    low = clock(pdf, t, low + 17)
    beside = wear(pdf, t, right, y + 17)
    if t["back"]:
        pdf.add_page()
        y, half = facts(pdf, t["heading"], t["facts"][:1], TOP), (WIDTH - GAP) / 2
        low = steps(pdf, t, words, LEFT, y, half, 10)
        beside = watch(pdf, t, words, LEFT + half + GAP, y, half, 10)
        return stop_rules(pdf, data, LEFT, max(low, beside) + 8, WIDTH, 10)
    low = steps(pdf, t, words, LEFT, low, MAIN, 8.4)
    beside = watch(pdf, t, words, right, beside, ASIDE, 8.4)
    return max(low, stop_rules(pdf, data, right, beside + 6, ASIDE, 8.4))


def make(data):
    pdf = Sheet(data)
    y = head(pdf, data)
    for i, t in enumerate(data["treatments"]):
        if i:
            pdf.add_page()
            y = TOP
        y = treatment(pdf, data, t, y)
    pdf.set_draw_color(HAIR)
    for x, width, text in zip((0, 240, 413), (220, 154, 114), (data["words"]["notes"], *data["signature"])):
        pdf.line(LEFT + x, y + 30, LEFT + x + width, y + 30)
        pdf.caption(LEFT + x, y + 38, text)
    return pdf.output()


run(make)
