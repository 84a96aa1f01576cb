"""The labels of a roll with ReportLab as its guide teaches it: a story of flowables for each label, which KeepInFrame
shrinks until it fits. Faces, styles and pictograms are made once."""

import io
import json
from xml.sax.saxutils import escape

from reportlab.lib.colors import black, white
from reportlab.lib.units import mm
from reportlab.platypus import HRFlowable, KeepInFrame, PageBreak, Paragraph, SimpleDocTemplate, Table

from parts import BARE, HAIR, SOFT, SOFT_HEX, caption, code_drawing, para, style, svg
from sheet import SIGNS, run

LARGEST = 10.5  # as decant's largest type on this stock
PICTOGRAMS = {path.stem: svg(path, 59) for path in SIGNS.glob("*.svg")}
BODY, BOLD, SECOND = style(LARGEST), style(LARGEST, "SemiBold"), style(LARGEST, color=SOFT)
NAME, TANK, TITLE = style(30, "Bold"), style(LARGEST, color=SOFT, alignment=2), style(7.8, "SemiBold")
STATE, KIND = style(13, "Bold", white), style(LARGEST, color=white, alignment=2)
BIG, SIGNAL, HAZARDS, VALUE = style(24, "Narrow"), style(20, "Bold"), style(11.3, "SemiBold"), style(11.5, "SemiBold")
NUMBER = style(7, "SemiBold", alignment=2)
BAR = BARE + [
    ("BACKGROUND", (0, 0), (-1, -1), black), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("LEFTPADDING", (0, 0), (0, 0), 7),
    ("RIGHTPADDING", (-1, 0), (-1, 0), 7), ("TOPPADDING", (0, 0), (-1, -1), 5), ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
]
MIDDLE = BARE + [("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
WRITTEN = BARE + [("LINEBELOW", (0, 0), (-1, -1), 0.5, HAIR), ("TOPPADDING", (0, 0), (-1, -1), 4)]


def bold(text):
    return f'<font name="Bold">{escape(text)}</font>'


def rule(thickness):
    return HRFlowable(width="100%", thickness=thickness, color=black, spaceBefore=4, spaceAfter=4)


def figure(word, cell):
    of = [para(cell["of"], BOLD)] if "of" in cell else []
    return [caption(word), para(cell["big"], BIG), *of, para(cell["small"], SECOND)]


def written(word):
    return [caption(word), para("\u00a0", VALUE)]


def label(d, words):
    ghs, pesticide, firm = d["ghs"], d["pesticide"], d["firm"]
    precautions = " ".join((bold(p["lead"]) + " " if p.get("lead") else "") + escape(p["text"]) for p in ghs["precautions"])
    actives = ", ".join(f"{a['name']} {a['content']}" for a in d["actives"])
    concentrate = f'{escape(pesticide["signal"])} {bold(pesticide["child"])} {escape(" ".join(pesticide["lines"]))}'
    foot = [
        Paragraph(f"{bold(d['site'])} · {bold(words['actives'])} {escape(actives)} · {bold(words['registration'])} {escape(d['registration'])}", BODY),
        Paragraph(f"{bold(firm['name'])} · {escape(firm['address'])} · {escape(firm['phone'])} · {escape(words['emergency'])} {bold(firm['emergency'])}", BODY),
        para(d["deference"], SECOND),
        para(d["follows"], BODY),
    ]
    return [
        Table([[para(d["product"], NAME), para(d["container"], TANK)]], colWidths=["65%", "35%"], style=BARE + [("VALIGN", (0, 0), (-1, -1), "BOTTOM")]),
        Table([[para(d["state"].upper(), STATE), para(d["kind"], KIND)]], colWidths=["62%", "38%"], style=BAR),
        Table([[figure(words[key], d[key]) for key in ("dilution", "strength", "contact")]], colWidths=["38%", "35%", "27%"], style=BARE),
        rule(1.4),
        caption(ghs["heading"], TITLE),
        Table([[[PICTOGRAMS[p["name"]] for p in ghs["pictograms"]], [para(ghs["signal"], SIGNAL), para(" ".join(ghs["hazards"]), HAZARDS)]]], colWidths=["22%", "78%"], style=MIDDLE),
        Paragraph(f'{precautions} <font color="{SOFT_HEX}">{escape(ghs["source"])}</font>', BODY),
        rule(0.6),
        caption(pesticide["heading"], TITLE),
        Paragraph(concentrate, BODY),
        rule(1.4),
        Table([[written(words["mixed"]), written(f"{words['discard']} ({d['keeps']})"), written(words["by"]), written(words["lot"])]], colWidths=["25%"] * 4, style=WRITTEN),
        Table([[foot, [code_drawing(d["qr"]["alt"].split()[-1], 60), para(d["record"], NUMBER)]]], colWidths=["75%", "25%"], style=BARE + [("VALIGN", (0, 0), (-1, -1), "BOTTOM")]),
    ]


def make(data):
    stock, inset = data["stock"], data["stock"]["insets_mm"]
    width, height = (stock[f"label_{side}_mm"] * mm for side in ("width", "height"))
    left, right, top, bottom = (inset[side] * mm for side in ("left", "right", "top", "bottom"))
    room, tall = width - left - right, height - top - bottom
    story = []
    for d in data["labels"]:
        story += [PageBreak()] if story else []
        story.append(KeepInFrame(room, tall, label(d, data["words"]), mode="shrink"))
    out = io.BytesIO()
    # a frame keeps 6 pt free inside its margins
    SimpleDocTemplate(
        out, pagesize=(width, height), leftMargin=left - 6, rightMargin=right - 6, topMargin=top - 6, bottomMargin=bottom - 6,
        title=data["title"], author=data["author"], pageCompression=1,
    ).build(story)
    return out.getvalue()


def read(path):
    """The labels of a job's only stock."""
    return next(iter(json.loads(path.read_text(encoding="utf-8")).values()))


run(make, read)
