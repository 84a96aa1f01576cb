"""The mix sheet with WeasyPrint: a Jinja template compiled once, one parsed style sheet, one font configuration and one
cache of pictures for all sheets."""

import pathlib

import jinja2
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration

from sheet import FONTS, INPUT, code_svg, footer, grey, large, run

HERE = pathlib.Path(__file__).resolve().parent
JINJA = jinja2.Environment(loader=jinja2.FileSystemLoader(HERE), autoescape=True, trim_blocks=True, lstrip_blocks=True)
JINJA.globals.update(grey=grey, large=large, footer=footer)
PAGE = JINJA.get_template("sheet.html")
FACES = "".join(
    f"@font-face {{ font-family: '{name}'; font-weight: {weight}; src: url('{(FONTS / file).as_uri()}') }}\n"
    for name, weight, file in (
        ("Plex", 400, "Regular.ttf"), ("Plex", 600, "SemiBold.ttf"), ("Plex", 700, "Bold.ttf"), ("Plex Narrow", 700, "Narrow.ttf"),
    )
)
FONT_CONFIG = FontConfiguration()
STYLE = CSS(string=FACES + (HERE / "sheet.css").read_text(encoding="utf-8"), font_config=FONT_CONFIG)
PICTURES = {}


def make(data):
    html = PAGE.render(data=data, words=data["words"], code=code_svg(data["link"]))
    document = HTML(string=html, base_url=INPUT.as_uri() + "/")
    return document.write_pdf(stylesheets=[STYLE], font_config=FONT_CONFIG, cache=PICTURES)


run(make)
