"""The mix sheet with the Python binding of Typst: one compiler for all sheets, each given its data as an input.

With the word `variable` behind the folder it takes the project's variable face as it is, else the static ones.
"""

import json
import pathlib
import sys

import typst

from sheet import FONTS, INPUT, code_svg, grey, large, run

HERE = pathlib.Path(__file__).resolve().parent
VARIABLE = sys.argv[2:] == ["variable"]
TEMPLATE = INPUT / "sheet.typ"
TEMPLATE.write_bytes((HERE / "sheet.typ").read_bytes())  # beside the signs, since Typst reads nothing outside its root
COMPILER = typst.Compiler(
    str(TEMPLATE),
    root=str(INPUT),
    font_paths=[str(HERE.parents[1] / "fonts" if VARIABLE else FONTS)],
    ignore_system_fonts=True,
)


def make(data):
    for t in data["treatments"]:
        for figure in (t["water"], t["product"]):
            figure["size"] = large(figure["big"])
        t["strip"]["size"] = large(t["strip"]["big"], (19, 19, 16, 16))
        for i, block in enumerate(t["strip"]["blocks"]):
            block["grey"] = grey(i, len(t["strip"]["blocks"]))
    return COMPILER.compile(sys_inputs={"data": json.dumps(data), "code": code_svg(data["link"])})


run(make)
