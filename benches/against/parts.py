"""What the two scripts with ReportLab's platypus have in common: faces, paragraphs, drawings, and the printed code."""

from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Path
from reportlab.lib.colors import HexColor, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Paragraph
from svglib.svglib import svg2rlg

import sheet
from sheet import FACES, FONTS, code

for face in FACES:
    pdfmetrics.registerFont(TTFont(face, FONTS / f"{face}.ttf"))
SOFT_HEX = sheet.SOFT
SOFT, HAIR = HexColor(sheet.SOFT), HexColor(sheet.HAIR)
BARE = [("VALIGN", (0, 0), (-1, -1), "TOP")] + [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]


def style(size, face="Regular", color=black, **more):
    return ParagraphStyle("", fontName=face, fontSize=size, leading=size * 1.22, textColor=color, **more)


CAPTION = style(7.4, "SemiBold", SOFT)


def svg(path, width):
    """A drawing of a file, as wide as told."""
    drawing = svg2rlg(str(path))
    scale = width / drawing.width
    drawing.scale(scale, scale)
    drawing.width, drawing.height = width, drawing.height * scale
    return drawing


def para(text, look):
    return Paragraph(escape(text), look)


def caption(text, look=CAPTION):
    return Paragraph(escape(text.upper()), look)


def code_drawing(link, across):
    side, runs = code(link)
    step, drawing = across / side, Drawing(across, across)
    path = Path(fillColor=black, strokeColor=None)
    for x, y, n in runs:
        path.moveTo(x * step, across - y * step)
        path.lineTo((x + n) * step, across - y * step)
        path.lineTo((x + n) * step, across - (y + 1) * step)
        path.lineTo(x * step, across - (y + 1) * step)
        path.closePath()
    drawing.add(path)
    return drawing
