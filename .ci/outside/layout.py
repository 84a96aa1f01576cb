"""Measures the words of the printed pages: inside the page, inside their label, and large enough to read.

    python layout.py COMPANY.yaml FILE.pdf...

Every word lies inside its page. On a label document every word lies inside one label: the labels' places are worked out
here from the company file's own figures, not from the program. On labels no type is smaller than 6 pt. Exit 1 if not.
"""

import pathlib
import re
import sys

import pdfplumber
import yaml

POINTS = {"in": 72.0, "mm": 72.0 / 25.4, "cm": 72.0 / 2.54}
PAGES = {"us-letter": "8.5 in x 11 in", "a4": "210 mm x 297 mm"}
SMALLEST = 6.0
EDGE = 0.25  # pt: word boxes are cut from font-wide ascent and descent
SIZE_EPSILON = 0.01  # pt: sizes are read back from rounded matrices


def points(text):
    """A length such as `0.156 in` in points."""
    number, unit = re.fullmatch(r"([0-9.]+) ?(in|mm|cm)", str(text).strip()).groups()
    return float(number) * POINTS[unit]


def size(text):
    """Width and height of `4 in x 2 in` in points."""
    return [points(side) for side in text.split(" x ")]


def stocks_of(company):
    """By the stock's key: the page's size, and the labels as (left, top, right, bottom), all in points."""
    stocks = {}
    for key, stock in yaml.safe_load(company.read_text(encoding="utf-8"))["stock"].items():
        width, height = size(stock["label"])
        page = size(PAGES.get(stock.get("sheet"), stock.get("sheet", stock["label"])))
        margins, gaps = stock.get("margins", {}), stock.get("gaps", {})
        left, top = points(margins.get("left", "0 in")), points(margins.get("top", "0 in"))
        across = width + points(gaps.get("across", "0 in"))
        down = height + points(gaps.get("down", "0 in"))
        corners = [
            (left + column * across, top + row * down)
            for row in range(int(stock.get("rows", 1)))
            for column in range(int(stock.get("columns", 1)))
        ]
        stocks[key] = (page, [(x, y, x + width, y + height) for x, y in corners])
    return stocks


def inside(word, box):
    """Whether a word's box lies in another box."""
    left, top, right, bottom = box
    across = left - EDGE <= word["x0"] and word["x1"] <= right + EDGE
    return across and top - EDGE <= word["top"] and word["bottom"] <= bottom + EDGE


def faults_of(document, stocks):
    """The faults of one document in words, the number of words measured, and the smallest type size."""
    stock = None
    if "-labels-" in document.name:
        stock = stocks[document.stem.split("-labels-")[1]]  # a stock that is not in the company file stops the run
    faults, measured, sizes = [], 0, []
    with pdfplumber.open(document) as pdf:
        for page in pdf.pages:
            place = f"page {page.page_number}"
            boxes = [(0, 0, page.width, page.height)]
            if stock:
                if max(abs(page.width - stock[0][0]), abs(page.height - stock[0][1])) > EDGE:
                    faults.append(f"{place}: {page.width} x {page.height} pt is not the stock's size")
                boxes = stock[1]
            words = page.extract_words()
            if not words:
                faults.append(f"{place}: no words")
            measured += len(words)
            faults += [
                f"{place}: '{word['text']}' at {word['x0']:.1f}, {word['top']:.1f} pt lies outside"
                for word in words
                if not any(inside(word, box) for box in boxes)
            ]
            sizes += [letter["size"] for letter in page.chars if letter["text"].strip()]
            if stock:
                small = [c for c in page.chars if c["text"].strip() and c["size"] < SMALLEST - SIZE_EPSILON]
                for size in sorted({round(c["size"], 2) for c in small}):
                    text = "".join(c["text"] for c in small if round(c["size"], 2) == size)
                    faults.append(f"{place}: {len(text)} letters of {size} pt: {text[:60]}")
    return faults, measured, min(sizes, default=0.0)


def main():
    """Checks all documents; prints a line each."""
    company, *documents = map(pathlib.Path, sys.argv[1:])
    stocks = stocks_of(company)
    failed = not documents
    for document in documents:
        faults, measured, smallest = faults_of(document, stocks)
        print(f"{'FAULTY' if faults else 'good'}  {document.name}: {measured} words, smallest type {smallest:.2f} pt")
        for fault in faults:
            print(f"       {fault}")
        failed = failed or bool(faults)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
