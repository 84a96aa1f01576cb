"""Reads the QR codes off the printed pages with three decoders and compares them with the record's link.

    python codes.py PLAN.txt FILE.pdf|FILE.png...

PLAN.txt is the text of `decant plan`; the link stands behind the record's number, there or on the next line. Every page of a PDF is drawn in
grey at 203 dpi (thermal label printers) and 300 dpi (office printers); a PNG must have one bit a dot and is read as it
is. zbarimg and ZXing must find the same number of codes on a page. OpenCV, whose search loses codes on a full page, is
shown each code that ZXing found by itself, as a telephone would be. Each code must read as the link with all three;
every page of labels must carry at least one, and every document at least one. Exit 1 if not.
"""

import concurrent.futures
import os
import pathlib
import subprocess
import re
import sys
import tempfile

import cv2
import numpy
import zxingcpp
from PIL import Image

RESOLUTIONS = (203, 300)
NOTHING_FOUND = 4  # zbarimg's exit code for a picture without a code


def link_of(plan):
    """The link behind the plan's only `Record`."""
    text = plan.read_text(encoding="utf-8")
    found = re.findall(r"^Record \S+\s+(https://\S+)$", text, re.MULTILINE)
    if len(found) != 1:
        raise SystemExit(f"{plan}: no record link")
    return found[0]


def by_zbar(picture):
    """What zbarimg reads, code by code."""
    command = ["zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", str(picture)]
    run = subprocess.run(command, capture_output=True, text=True)
    if run.returncode not in (0, NOTHING_FOUND):
        raise SystemExit(f"zbarimg failed on {picture.name}: {run.stderr}")
    return run.stdout.split()


def by_opencv(code):
    """What OpenCV reads, nearer and farther, as a telephone is moved: it misses one code in some hundreds at a single size."""
    for scale in (1.0, 0.75, 1.5):
        text = cv2.QRCodeDetector().detectAndDecode(cv2.resize(code, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))[0]
        if text:
            return text
    return ""


def by_zxing_and_opencv(picture):
    """What ZXing reads, code by code, and what OpenCV reads where ZXing found one."""
    with Image.open(picture) as page:
        dots = numpy.array(page.convert("L"))
    zxing, opencv = [], []
    for code in zxingcpp.read_barcodes(dots, formats=zxingcpp.BarcodeFormat.QRCode):
        at = code.position
        corners = (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
        left, right = min(c.x for c in corners), max(c.x for c in corners)
        top, bottom = min(c.y for c in corners), max(c.y for c in corners)
        quiet = (right - left) // 6  # more than four modules of the smallest code that holds a link
        alone = dots[max(0, top - quiet) : bottom + quiet, max(0, left - quiet) : right + quiet]
        zxing.append(code.text)
        opencv.append(by_opencv(alone))
    return zxing, opencv


def faults_of_page(picture, place, link, must_carry):
    """The faults of one page in words, the number of codes on it, and of readings."""
    zbar, (zxing, opencv) = by_zbar(picture), by_zxing_and_opencv(picture)
    faults = [f"{place}: reads '{text}'" for text in zbar + zxing + opencv if text != link]
    if len(zbar) != len(zxing):
        faults.append(f"{place}: zbarimg finds {len(zbar)}, ZXing {len(zxing)}")
    if must_carry and not zbar:
        faults.append(f"{place}: a label page without a code")
    return faults, len(zbar), len(zbar) + len(zxing) + len(opencv)


def pages_of(document, folder):
    """Every picture to be read of a document, with its place in words; and by resolution, if it has to be drawn."""
    if document.suffix == ".png":
        with Image.open(document) as page:
            if page.mode != "1":
                raise SystemExit(f"{document}: not one bit a dot but '{page.mode}'")
        yield document.parent.name, [(document, f"{document.parent.name}/{document.name}")]
        return
    for dpi in RESOLUTIONS:
        stem = folder / f"{document.stem}-{dpi}"
        subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", "-png", document, stem], check=True, stderr=subprocess.DEVNULL)
        pages = sorted(folder.glob(f"{stem.name}-*.png"))
        yield f"{dpi} dpi", [(page, f"{document.name} page {n} at {dpi} dpi") for n, page in enumerate(pages, 1)]


def faults_of(document, link):
    """Checks one document at every resolution; returns the faults in words and the number of readings."""
    faults, readings = [], 0
    with tempfile.TemporaryDirectory() as folder:
        for resolution, pages in pages_of(document, pathlib.Path(folder)):
            on_document = 0
            for picture, place in pages:
                told, codes, read = faults_of_page(picture, place, link, "-labels-" in document.name)
                faults += told
                on_document += codes
                readings += read
            if on_document == 0:
                faults.append(f"{document.name}, {resolution}: no code on {len(pages)} pages")
    return faults, readings


def main():
    """Checks all documents; prints a line each."""
    plan, *documents = map(pathlib.Path, sys.argv[1:])
    link = link_of(plan)
    if not documents:
        raise SystemExit("no documents given")
    failed = False
    # the decoders do their work outside Python, so threads are enough to keep all processors busy
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for document, (faults, readings) in zip(documents, pool.map(lambda it: faults_of(it, link), documents)):
            name = f"{document.parent.name}/{document.name}" if document.suffix == ".png" else document.name
            print(f"{'FAULTY' if faults else 'good'}  {name}: {readings} readings of {link}")
            for fault in faults:
                print(f"       {fault}")
            failed = failed or bool(faults)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
