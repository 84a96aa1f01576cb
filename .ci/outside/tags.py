#!/usr/bin/env python3
"""What a screen reader is given of every sample page, compared with tests/pages.

Usage: tags.py RENDERED_FOLDER; with DECANT_BLESS=1 it writes the expected texts. The tag tree is read with pdfplumber: one
line an element that means something, in reading order, with its text, alternative text and language. Whatever was expected,
a figure has an alternative text, a table has header cells, a list has items, and no heading skips a level.
"""

import os
import sys
from pathlib import Path

import pdfplumber

# elements that group or decorate; what is in them is shown in their place
PLAIN = {"Document", "Div", "Span", "NonStruct", "Sect", "Part", "THead", "TBody", "Lbl", "LBody"}


class Reader:
    def __init__(self, pdf):
        self.texts = {}
        for number, page in enumerate(pdf.pages, 1):
            for char in page.chars:
                if char.get("mcid") is not None:
                    key = (number, char["mcid"])
                    text, right, bottom = self.texts.get(key, ("", None, None))
                    # another line, or a gap: a reader hears two words
                    apart = right is not None and (abs(char["bottom"] - bottom) > char["size"] * 0.6 or char["x0"] - right > char["size"] * 0.4)
                    self.texts[key] = (text + (" " if apart else "") + char["text"], char["x1"], char["bottom"])
        self.lines = []
        self.faults = []
        self.level = 0

    def own_text(self, element, page):
        return " ".join(self.texts.get((page, mcid), ("",))[0] for mcid in element.get("mcids", []))

    def text(self, element, page):
        page = element.get("page_number") or page
        inner = " ".join(filter(None, (self.text(child, page) for child in element.get("children", []))))
        return " ".join(f"{self.own_text(element, page)} {inner}".split())

    def walk(self, element, depth=0, page=1):
        kind = element["type"]
        page = element.get("page_number") or page
        children = element.get("children", [])
        self.check(element, kind, children)
        marks = "".join(f" ({name}: {element[key]})" for key, name in (("lang", "language"), ("alt_text", "alt")) if element.get(key))
        if kind == "TR":
            cells = [f"{'*' if cell['type'] == 'TH' else ''}{self.text(cell, page)}" for cell in children]
            self.line(depth, "row: " + " | ".join(cells))
            return
        # an inline element goes with the words around it
        words = " ".join(self.own_text(element, page).split())
        if kind in PLAIN and not marks:
            if words:
                self.line(depth, words)
            for child in children:
                self.walk(child, depth, page)
            return
        blocks = [child for child in children if child["type"] not in PLAIN or child.get("lang") or child.get("children")]
        if not blocks:
            self.line(depth, f"{kind}{marks}: {self.text(element, page)}".rstrip(": "))
            return
        self.line(depth, f"{kind}{marks}: {words}".rstrip(": "))
        for child in children:
            self.walk(child, depth + 1, page)

    def line(self, depth, text):
        self.lines.append("  " * depth + text)

    def check(self, element, kind, children):
        kinds = {child["type"] for child in children}
        if kind == "Figure" and not element.get("alt_text"):
            self.faults.append("a figure has no alternative text")
        if kind == "Table" and not any(cell["type"] == "TH" for cell in descendants(element)):
            self.faults.append("a table has no header cells")
        if kind == "L" and kinds - {"LI", "Caption"}:
            self.faults.append(f"a list holds {sorted(kinds)}")
        if kind[:1] == "H" and kind[1:].isdigit():
            level = int(kind[1:])
            if level > self.level + 1:
                self.faults.append(f"after a heading of level {self.level} comes one of level {level}")
            self.level = level


def descendants(element):
    for child in element.get("children", []):
        yield child
        yield from descendants(child)


def main(folder):
    here = Path(__file__).resolve().parents[2] / "tests" / "pages"
    bless = os.environ.get("DECANT_BLESS") == "1"
    wrong = compared = 0
    for file in sorted(Path(folder).glob("*/*.pdf")):
        with pdfplumber.open(file) as pdf:
            reader = Reader(pdf)
            for element in pdf.structure_tree:
                reader.walk(element)
        found = "\n".join(reader.lines) + "\n"
        for fault in dict.fromkeys(reader.faults):
            print(f"{file.name}: {fault}")
            wrong += 1
        golden = here / f"{file.stem}.tags.txt"
        if bless:
            golden.write_text(found)
        elif not golden.exists() or golden.read_text() != found:
            expected = golden.read_text().splitlines() if golden.exists() else []
            at = next((n for n, (a, b) in enumerate(zip(expected, reader.lines)) if a != b), min(len(expected), len(reader.lines)))
            print(f"{file.name}: other than {golden.name} from line {at + 1}: {(reader.lines + [''])[at]!r}")
            wrong += 1
        compared += 1
    if not compared:
        sys.exit("no document was compared")
    print(f"tags: {compared} documents read, {wrong} faults")
    sys.exit(1 if wrong else 0)


main(sys.argv[1])
