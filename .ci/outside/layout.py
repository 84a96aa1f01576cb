"""Measures the words of the printed pages: inside the page, inside their label, and large enough to read.

    python layout.py FILE.pdf...

Every word lies inside its page. On a label sheet every word lies inside one label cell: the cells are worked out here
from the sheet's published die, not from the program. On label files no type is smaller than 6 pt. Exit 1 if not.
"""

import pathlib
import sys

import pdfplumber

INCH = 72.0
SMALLEST = 6.0
EDGE = 0.25  # pt: word boxes are cut from font-wide ascent and descent
SIZE_EPSILON = 0.01  # pt: sizes are read back from rounded matrices

# Stock by the name in the file: page, label, columns, rows, left, top, pitch across, pitch down, in inches.
# The sheet is the common 2 by 5 die of 4 in x 2 in labels on US letter.
STOCKS = {
    "roll-4x6": ((4.0, 6.0), (4.0, 6.0), 1, 1, 0.0, 0.0, 4.0, 6.0),
    "sheet-4x2": ((8.5, 11.0), (4.0, 2.0), 2, 5, 0.156, 0.5, 4.188, 2.0),
}


def cells_of(stock):
    """The label cells of a page as (left, top, right, bottom) in points."""
    _, (width, height), columns, rows, left, top, across, down = stock
    corners = [(left + c * across, top + r * down) for r in range(rows) for c in range(columns)]
    return [(x * INCH, y * INCH, (x + width) * INCH, (y + height) * INCH) for x, y in corners]


def inside(word, box):
    """Whether a word's box lies in another box."""
    left, top, right, bottom = box
    across = left - EDGE <= word["x0"] and word["x1"] <= right + EDGE
    return across and top - EDGE <= word["top"] and word["bottom"] <= bottom + EDGE


def faults_of(document):
    """The faults of one document in words, the number of words measured, and the smallest type size."""
    stock = None
    if "-labels-" in document.name:
        stock = STOCKS[document.stem.split("-labels-")[1]]  # a stock nobody described here stops the run
    faults, measured, sizes = [], 0, []
    with pdfplumber.open(document) as pdf:
        for page in pdf.pages:
            place = f"page {page.page_number}"
            boxes = [(0, 0, page.width, page.height)]
            if stock:
                if max(abs(page.width - stock[0][0] * INCH), abs(page.height - stock[0][1] * INCH)) > EDGE:
                    faults.append(f"{place}: {page.width} x {page.height} pt is not the stock's size")
                boxes = cells_of(stock)
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
    failed = not sys.argv[1:]
    for document in map(pathlib.Path, sys.argv[1:]):
        faults, measured, smallest = faults_of(document)
        print(f"{'FAULTY' if faults else 'good'}  {document.name}: {measured} words, smallest type {smallest:.2f} pt")
        for fault in faults:
            print(f"       {fault}")
        failed = failed or bool(faults)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
