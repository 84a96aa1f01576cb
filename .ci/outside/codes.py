"""Reads the QR codes off the printed pages with two decoders and compares them with the record's link.

    python codes.py PLAN.txt FILE.pdf...

PLAN.txt is the text of `decant plan`; its line starting with 'Record' ends in the link. Every page is drawn in grey at
203 dpi (thermal label printers) and 300 dpi (office printers). At each resolution zbarimg and ZXing must find the same
number of codes on a page, each must read as the link, every page of a label file must carry at least one, and every
document at least one. Exit 1 if not.
"""

import pathlib
import subprocess
import sys
import tempfile

import zxingcpp
from PIL import Image

RESOLUTIONS = (203, 300)
NOTHING_FOUND = 4  # zbarimg's exit code for a picture without a code


def link_of(plan):
    """The link on the plan's only line that starts with 'Record'."""
    lines = [line.split() for line in plan.read_text(encoding="utf-8").splitlines() if line.startswith("Record ")]
    if len(lines) != 1 or not lines[0][-1].startswith("https://"):
        raise SystemExit(f"{plan}: no record link")
    return lines[0][-1]


def by_zbar(picture):
    """What zbarimg reads, code by code."""
    command = ["zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", str(picture)]
    run = subprocess.run(command, capture_output=True, text=True)
    if run.returncode not in (0, NOTHING_FOUND):
        raise SystemExit(f"zbarimg failed on {picture.name}: {run.stderr}")
    return run.stdout.split()


def by_zxing(picture):
    """What ZXing reads, code by code."""
    with Image.open(picture) as page:
        return [code.text for code in zxingcpp.read_barcodes(page.convert("L"), formats=zxingcpp.BarcodeFormat.QRCode)]


def faults_of(document, link, folder):
    """Checks one document at every resolution; returns the faults in words and the number of readings."""
    faults, readings = [], 0
    for dpi in RESOLUTIONS:
        stem = folder / f"{document.stem}-{dpi}"
        subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", "-png", document, stem], check=True, stderr=subprocess.DEVNULL)
        pages = sorted(folder.glob(f"{stem.name}-*.png"))
        on_document = 0
        for number, picture in enumerate(pages, 1):
            place = f"{document.name} page {number} at {dpi} dpi"
            zbar, zxing = by_zbar(picture), by_zxing(picture)
            faults += [f"{place}: reads '{text}'" for text in zbar + zxing if text != link]
            if len(zbar) != len(zxing):
                faults.append(f"{place}: zbarimg finds {len(zbar)}, ZXing {len(zxing)}")
            if "-labels-" in document.name and not zbar:
                faults.append(f"{place}: a label page without a code")
            on_document += len(zbar)
            readings += len(zbar) + len(zxing)
        if on_document == 0:
            faults.append(f"{document.name} at {dpi} dpi: no code on {len(pages)} pages")
    return faults, readings


def main():
    """Checks all documents; prints a line each."""
    plan, *documents = map(pathlib.Path, sys.argv[1:])
    link = link_of(plan)
    if not documents:
        raise SystemExit("no documents given")
    failed = False
    for document in documents:
        with tempfile.TemporaryDirectory() as folder:
            faults, readings = faults_of(document, link, pathlib.Path(folder))
        print(f"{'FAULTY' if faults else 'good'}  {document.name}: {readings} readings of {link}")
        for fault in faults:
            print(f"       {fault}")
        failed = failed or bool(faults)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
