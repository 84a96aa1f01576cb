"""Makes labels of many kinds and looks at each as it is printed: stock x rules x language x product.

    python many_labels.py DECANT FOLDER [EVERY]      every one of them, or each EVERY-th

Nothing lies outside its label or over something else; no type is smaller than 6 pt, and under EU rules what CLP asks for is
no smaller, narrower, paler or closer than it says; pictograms are as large and as red; each line to write on is 20 mm long;
product, signal word, statements and firm are all there; a code reads as the record's link with two decoders; and a label is
refused only where no smaller stock carries it. Exit 1 if not.
"""

import collections
import concurrent.futures
import csv
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import pdfplumber

from codes import by_zbar, by_zxing_and_opencv
from layout import points

HERE = pathlib.Path(__file__).resolve().parent
MM = 72 / 25.4
LINK = "https://r.example/"
# by area; what is filled, and whether the smallest label that it is to be found on must carry a product of one hazard
STOCKS = [
    ("2.25 in", "1.25 in", "0.5 L", True),
    ("74 mm", "52 mm", "1 L", True),
    ("52 mm", "74 mm", "1 L", True),
    ("3 in", "2 in", "1 L", True),
    ("4 in", "2 in", "1 L", True),
    ("105 mm", "74 mm", "3 L", True),
    ("74 mm", "105 mm", "11 L", False),
    ("4 in", "6 in", "11 L", True),
    ("6 in", "4 in", "11 L", False),
    ("148 mm", "210 mm", "60 L", True),
    ("210 mm", "148 mm", "60 L", True),
    ("8 in", "11 in", "200 L", True),
    ("210 mm", "297 mm", "200 L", True),
]
REGIMES = {
    "united-states": (["en"], ["es", "en"], ["en", "fr"]),
    "united-states-general": (["en"], ["fr", "en"]),
    "eu-uk": (["en"], ["es"], ["fr"], ["fr", "es"]),
    "canada": (["en", "fr"], ["fr", "en"]),
}
FACTS = "kind: quat, form: liquid, density: 0.99 kg/L, registration: 00000-75, label_signal: DANGER, keeps: 7 days"
DIRECTIONS = "directions: { use: { title: Use, dilution: 1:64, contact_time: 10 min, coverage: 200 ft2/gal, methods: [wipe], surface: hard } }"
INGREDIENTS = "ingredients: [{ name: didecyldimethylammonium chloride, content: 7.5 %, nature: surfactant }]"
# by name: the hazards of the dilution, its statements, its pictograms
PRODUCTS = {
    "Solvary Q-75": ("[Eye Irrit. 2]", ["H319"], 1),
    "Ostrane P5": ("[Skin Irrit. 2, Eye Irrit. 2]", ["H315", "H319"], 1),
    "Limpiador Desinfectante Ñandú Éclat des Îles": ("[Skin Corr. 1B, Aquatic Acute 1]", ["H314", "H400"], 2),
    "Harbour 12": ("not classified", [], 0),
}
# CLP Annex I, Table 1.3: up to so many liters, the least x-height of type and side of the square in millimeters
CLP = [(0.5, 1.2, 10), (3, 1.4, 10), (50, 1.8, 23), (500, 2.0, 32)]
X_HEIGHT = 0.516  # of IBM Plex Sans, in ems
SIGNALS = {"en": ("Danger", "Warning"), "es": ("Peligro", "Atención"), "fr": ("Danger", "Attention")}


def key_of(text):
    return re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")


def cases():
    """Every kind of label: its job's number, stock, rules, languages and product."""
    kinds = ((stock, regime, languages, product) for stock in STOCKS for regime in REGIMES for languages in REGIMES[regime] for product in PRODUCTS)
    for number, kind in enumerate(kinds):
        yield f"M-{number:03}", *kind


def told(case):
    """What kind a label is of, for who reads of its faults."""
    number, (width, height, holds, _), regime, languages, product = case
    return f"{number}: {width} x {height} for {holds}, {regime}, {'+'.join(languages)}, {product}"


def write(folder, some):
    """A company file for each country's rules, and a job for each kind."""
    for regime in REGIMES:
        (folder / f"{regime}.yaml").write_text("\n".join([f"regime: {regime}", *company(regime)]) + "\n", encoding="utf-8")
    (folder / "jobs").mkdir()
    for number, stock, regime, languages, product in some:
        (folder / "jobs" / f"{number}.yaml").write_text(
            f"job: {number}\ncompany: ../{regime}.yaml\nclient: {{ name: Harbour Board }}\nsite: {{ name: Pier, address: 1 Quay }}\n"
            f"visit: {{ start: 2026-04-13T18:00, crew: [okafor] }}\nlanguages: {{ labels: [{', '.join(languages)}] }}\n"
            f"areas: {{ Tops: {{ surfaces: 20 ft2 }} }}\ntreatments:\n"
            f"  - {{ product: {key_of(product)}, directions: use, sprayer: cloth, mixed_in: v{key_of(stock[2])}, poured_into: v{key_of(stock[2])},"
            f" stock: s{STOCKS.index(stock):02}, areas: [Tops] }}\n",
            encoding="utf-8",
        )


def company(regime):
    """The lines of a company file."""
    lines = ["company: { name: Tern & Tide Hygiene, address: '14 Quay Lane, Port Ansel', phone: 555-0142 }", f"record_link: {LINK}{{record}}", "units: us"]
    lines += ["crew: { okafor: { name: R. Okafor } }", "products:"]
    for name, (hazards, _, _) in PRODUCTS.items():
        sds = f"sds: {{ revised: 2026-02-01, hazards: [Skin Corr. 1B], use_solution_hazards: {hazards}, protective_equipment: [goggles, gloves] }}"
        lines.append(f"  {key_of(name)}: {{ name: '{name}', {FACTS}, {INGREDIENTS}, {sds}, {DIRECTIONS} }}")
    lines += ["sprayers:", "  cloth: { name: Cloth, method: wipe, tank: 500 L, pace: { speed: 20 ft/min, swath: 1 ft }, graduations: { water: 10 mL, product: 0.2 mL } }"]
    lines.append("vessels:")
    for holds in sorted({holds for _, _, holds, _ in STOCKS}):
        lines.append(f"  v{key_of(holds)}: {{ name: Bottle, holds: {holds}, graduations: {{ water: 10 mL, product: 0.2 mL }} }}")
    lines.append("stock:")
    for at, (width, height, _, _) in enumerate(STOCKS):
        lines.append(f"  s{at:02}: {{ label: {width} x {height}, regime: {regime} }}")
    return lines


def statements():
    """What is printed of a code, by code and language tag."""
    rows = (HERE.parents[1] / "templates/ghs/statements.csv").read_text(encoding="utf-8").splitlines()
    return {(row["code"], row["lang"]): row["printed"] or row["text"] for row in csv.DictReader(r for r in rows if not r.startswith("#"))}


STATEMENTS = statements()


def ink_of(char):
    """Around the ink of a letter, about, from its baseline."""
    text, size, base = char["text"], char["size"], char["matrix"][5]
    # a place to hyphenate goes with the letter before it
    text = text.replace("\u00ad", "") or text
    marked = text.isupper() and ord(text) > 191 and text not in "ÇØÆ"
    up = 0.9 if marked else 0.52 if text in "acegmnopqrsuvwxyzçñ-·." else 0.7
    down = 0.2 if text in "gjpqyçÇ,;()Q" else 0
    return char["x0"] + 0.3, base - down * size + 0.3, char["x1"] - 0.3, base + up * size - 0.3


def crossings(chars):
    """Letters that lie over one another, as pairs of texts."""
    boxes = sorted(((ink_of(c), c) for c in chars if c["text"].strip() and c["upright"]), key=lambda it: it[0][0])
    found, near = [], collections.deque()
    for box, char in boxes:
        near = collections.deque(other for other in near if other[0][2] > box[0])
        for other, before in near:
            # letters of a line may reach under one another
            if abs(char["matrix"][5] - before["matrix"][5]) > 0.1 and box[1] < other[3] and other[1] < box[3]:
                found.append(before["text"] + char["text"])
        near.append((box, char))
    return found


def faults_of(case, document, link):
    """What is wrong with a label, in words."""
    _, (width, height, holds, _), regime, languages, product = case
    faults = []
    with pdfplumber.open(document) as pdf:
        page = pdf.pages[0]
        chars = page.chars
        words = page.extract_words()
        text = "".join(c["text"] for c in chars)
        if abs(page.width - points(width)) + abs(page.height - points(height)) > 0.5:
            faults.append("not the stock's size")
        for word in words:
            if not (0 <= word["x0"] and word["x1"] <= page.width and 0 <= word["top"] and word["bottom"] <= page.height):
                faults.append(f"'{word['text']}' lies outside")
        faults += [f"letters cross: {pair}" for pair in crossings(chars)[:5]]
        if (small := min(c["size"] for c in chars if c["text"].strip())) < 5.99:
            faults.append(f"type of {small} pt")
        if "\u200b" in text:
            faults.append("a space without width is copied")
        found = squeezed(text)
        hazards, codes, pictograms = PRODUCTS[product]
        wanted = [product, "Tern & Tide Hygiene", "555-0142"]
        for tag in languages:
            english = {"united-states": "en-US", "united-states-general": "en-US", "canada": "en-CA"}.get(regime) if tag == "en" else None
            wanted += [STATEMENTS.get((code, english)) or STATEMENTS[code, tag] for code in codes]
            if codes and not any(squeezed(word) in found for word in SIGNALS[tag]):
                faults.append(f"no signal word in {tag}")
        faults += [f"'{part}' is missing" for part in wanted if squeezed(part) not in found]
        red = [c for c in page.curves + page.rects if is_red(c["non_stroking_color"])]
        if len(red) != pictograms:
            faults.append(f"{len(red)} pictograms, not {pictograms}")
        if regime == "eu-uk":
            faults += clp_faults(chars, found, red, holds, [STATEMENTS[code, tag] for code in codes for tag in languages])
        # lines to write on are grey, and rules are not
        lines = [r for r in page.rects if r["height"] < 0.6 and isinstance(r["non_stroking_color"], float) and 0.5 < r["non_stroking_color"] < 0.7]
        faults += [f"a line of {line['width'] / MM:.1f} mm to write on" for line in lines if line["width"] < 19.9 * MM]
        has_code = len(page.rects) > 60
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["pdftoppm", "-r", "203", "-gray", "-png", document, f"{folder}/p"], check=True, stderr=subprocess.DEVNULL)
        picture = next(pathlib.Path(folder).glob("*.png"))
        zbar, (zxing, _) = by_zbar(picture), by_zxing_and_opencv(picture)
    if zbar != zxing or any(code != link for code in zbar) or (has_code and not zbar):
        faults.append(f"codes read {zbar} and {zxing}, not {link}")
    return faults, bool(zbar)


def squeezed(text):
    """Without blanks, since text runs on a page end where lines do, and without places to hyphenate, which are no letters."""
    return re.sub(r"[\s\u00ad]+", "", text)


def is_red(color):
    return isinstance(color, tuple) and len(color) == 3 and color[0] > 0.6 and color[1] < 0.2


def clp_faults(chars, found, red, holds, texts):
    """Where the letters of statements and the pictograms are not as CLP has them."""
    liters = float(holds.split()[0])
    x, side = next((x, side) for most, x, side in CLP if liters <= most)
    least, faults = x * MM / X_HEIGHT - 0.02, []
    faults += [f"a pictogram of {c['width'] / MM:.1f} mm" for c in red if c["width"] < side * 2**0.5 * MM - 0.1]
    # a glyph for each letter of `found`
    inked = [c for c in chars for _ in squeezed(c["text"])]
    for text in map(squeezed, texts):
        begins = found.find(text)
        letters = inked[begins : begins + len(text)] if begins >= 0 else []
        if any(c["size"] < least for c in letters):
            faults.append(f"a statement in {min(c['size'] for c in letters):.2f} pt, not {least:.2f}")
        if any(set(c["non_stroking_color"]) - {0, 0.0} for c in letters):
            faults.append("a statement that is not black")
        bases = sorted({round(c["matrix"][5], 2) for c in letters})
        pitch = min((b - a for a, b in zip(bases, bases[1:])), default=None)
        if pitch and pitch < 1.2 * letters[0]["size"] - 0.03:
            faults.append(f"lines {pitch:.2f} pt apart in type of {letters[0]['size']:.2f} pt")
    return faults


def main():
    """Makes and looks at all; prints what was found."""
    decant = pathlib.Path(sys.argv[1]).resolve()
    folder = pathlib.Path(sys.argv[2])
    some = list(cases())[:: int(sys.argv[3]) if len(sys.argv) > 3 else 1]  # no divisor of what a kind of stock has
    folder.mkdir(parents=True)
    write(folder, some)
    made = folder / "made"
    run = subprocess.run([decant, "batch", folder / "jobs", "--only", "labels", "-o", made], capture_output=True, text=True)
    files = {case[0]: next(made.rglob(f"{case[0]}-labels-*.pdf"), None) for case in some}
    links = {path.name.removesuffix("-record.json"): LINK + json.loads(path.read_text(encoding="utf-8"))["number"] for path in made.rglob("*-record.json")}
    wrong, coded = [], 0
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        printed = [case for case in some if files[case[0]]]
        for case, (faults, has_code) in zip(printed, pool.map(lambda case: faults_of(case, files[case[0]], links[case[0]]), printed)):
            wrong += [f"{told(case)}: {fault}" for fault in faults]
            coded += has_code
    reasons = dict(re.findall(r"^(\S+?)-labels-\S+: (.*)$", run.stderr, re.MULTILINE))
    refused = [case for case in some if not files[case[0]]]
    for case in refused:
        number, stock, regime, languages, product = case
        if "does not fit" not in reasons.get(number, ""):
            wrong.append(f"{told(case)}: refused for another reason than its size: {reasons.get(number)}")
        area = points(stock[0]) * points(stock[1])
        smaller = [
            other[0] for other in printed
            if other[2:] == (regime, languages, product) and all(points(other[1][i]) <= points(stock[i]) for i in (0, 1))
            and float(other[1][2].split()[0]) >= float(stock[2].split()[0])
        ]
        if smaller:
            wrong.append(f"{told(case)}: refused, though {smaller[0]} carries the same on less: {reasons.get(number)}")
        if stock[3] and len(languages) == 1 and len(PRODUCTS[product][1]) < 2 and (regime != "eu-uk" or area > 50 * 70 * MM**2):
            wrong.append(f"{told(case)}: refused, though this stock is to carry a product of one hazard: {reasons.get(number)}")
    print(f"{len(some)} labels: {len(printed)} printed, {coded} of them with a code, {len(refused)} refused; {len(wrong)} faults")
    for line in wrong:
        print("  " + line)
    if not printed or run.returncode not in (0, 1):
        print(run.stderr[-3000:])
        return 1
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
