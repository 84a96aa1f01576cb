"""The mix sheet with the Python binding of Typst: one compiler for all sheets, each given its data as an input.

A word behind the folder changes one thing: `variable` takes the project's variable face as it is in the place of the
static ones; `same` takes that face, decant's own template and its two standards, and so differs from decant in the
program alone.
"""

import json
import pathlib
import shutil
import sys

import typst

from sheet import FONTS, INPUT, LOGO, code_svg, grey, large, run

HERE = pathlib.Path(__file__).resolve().parent
WAY = sys.argv[2] if len(sys.argv) > 2 else "static"
STANDARDS = ["a-3b", "ua-1"] if WAY == "same" else []


def template():
    """The template's path and its root: Typst reads nothing outside it, so the drawings lie there too."""
    if WAY != "same":
        return shutil.copy(HERE / "sheet.typ", INPUT), INPUT
    root = shutil.copytree(HERE.parents[1] / "templates", INPUT / "templates", dirs_exist_ok=True)
    (root / "house").mkdir(exist_ok=True)
    shutil.copy(LOGO, root / "house")
    main = root / "main.typ"
    main.write_text('#import "mix-sheet.typ": render\n#render(json(bytes(sys.inputs.data)))\n', encoding="utf-8")
    return main, root


PATH, ROOT = template()
COMPILER = typst.Compiler(
    str(PATH),
    root=str(ROOT),
    font_paths=[str(FONTS if WAY == "static" else HERE.parents[1] / "fonts")],
    ignore_system_fonts=True,
)


def make(data):
    code = code_svg(data["link"])
    data["header"]["qr"]["svg"] = code
    for t in data["treatments"]:
        for figure in (t["water"], t["product"]):
            figure["size"] = large(figure["big"])
        t["strip"]["size"] = large(t["strip"]["big"], (19, 19, 16, 16))
        for i, block in enumerate(t["strip"]["blocks"]):
            block["grey"] = grey(i, len(t["strip"]["blocks"]))
    inputs = {"data": json.dumps(data), "code": code}
    return COMPILER.compile(sys_inputs=inputs, pdf_standards=STANDARDS, timestamp=0)


run(make)
