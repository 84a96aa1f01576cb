"""Mix sheets and certificates of made-up jobs, in every shape a job can have: each page measured, each code read.

    python sheets.py DECANT SAMPLES FOLDER [all]

Shapes (few areas or many, one load or many, food, flammable, no strip, no re-entry time, long names) times languages times units,
from the company file of the samples with a few products more. Each job is planned, its log written from its plan, and both documents
are rendered. Then, on every page: no word outside the page, no two words over each other, nothing under 7.5 pt (7 pt on certificates)
but figures, no page less than a quarter full but the first; and every document carries a code that three decoders read as the
record's link. Without `all` a part of the jobs is looked at, another part of shapes in each language and system of units.
Exit 1 if anything is wrong.
"""

import collections
import concurrent.futures
import json
import os
import pathlib
import shutil
import subprocess
import sys

import pdfplumber
import yaml

import codes

LANGUAGES = ("en", "es", "fr")
UNITS = ("us", "si")
SMALLEST = {"mix-sheet": 7.5, "certificate": 7.0}
FULL = 0.25  # of the height between the margins
AROUND = 8.0  # pt that a line of words or a rule holds above and below it
TOP, FOOT = 31.0, 46.0  # pt: the page's margins
AIR = {"temperature": "72 F", "humidity": "45 %", "changes_per_hour": 6, "mixing_factor": 3, "cleared": "99 %"}

ALCOHOL = {
    "name": "Clarion Wipe-Down 70", "kind": "alcohol", "form": "ready-to-use", "registration": "00000-90", "label_signal": "WARNING",
    "flash_point": "21 C", "density": "0.87 kg/L", "keeps": "24 h", "never_with": ["chlorine bleach"],
    "ingredients": [{"name": "ethanol", "cas": "64-17-5", "content": "70 % v/v", "density": "0.789 kg/L", "hazards": ["Flam. Liq. 2", "Eye Irrit. 2"]}],
    "sds": {"revised": "2026-01-12", "hazards": ["Flam. Liq. 2", "Eye Irrit. 2"], "protective_equipment": ["goggles", "gloves"]},
    "directions": {"wipe": {"title": "Touch points", "dilution": "ready to use", "contact_time": "1 min", "coverage": "300 ft2/gal", "methods": ["wipe"], "surface": "hard", "reentry": "5 min"}},
}
POWDER = {
    "name": "Morrow Alkaline Powder Disinfectant, Professional Strength", "kind": "other", "form": "powder", "registration": "00000-77",
    "ingredients": [{"name": "sodium percarbonate", "cas": "15630-89-4", "content": "30 %", "hazards": ["Eye Dam. 1"]}],
    "sds": {"revised": "2026-01-12", "hazards": ["Eye Dam. 1"], "use_solution_hazards": "not classified", "protective_equipment": ["goggles", "gloves", "mask"]},
    "directions": {"floors": {"title": "Floors", "dilution": "0.5 oz wt/gal", "contact_time": "10 min", "coverage": "200 ft2/gal", "methods": ["mop", "spray", "mist"], "surface": "hard"}},
}


def areas(count, size="floor: 24 ft x 15 ft", name="Area"):
    key, value = size.split(": ")
    return {f"{name} {n}": {key: value} for n in range(1, count + 1)}


def treatment(product, directions, sprayer, names, **more):
    return {"product": product, "directions": directions, "sprayer": sprayer, "areas": list(names), **more}


QUAT = ("solvary-q75", "hard-surface")
ONE, FOUR, TWELVE = areas(1), areas(4), areas(12)
HALL, BIG = areas(2, "floor: 60 ft x 90 ft", "Hall"), areas(6, "floor: 60 ft x 60 ft", "Shed")
LONG = {
    "Fußbodenreinigungsmaschinenabstellraum beside the loading dock": {"floor": "24 ft x 15 ft"},
    "Wash-down corridor between packing line 4 and the cold store, both sides": {"floor": "24 ft x 15 ft"},
}
SHAPES = {
    "one": ([treatment(*QUAT, "pump", ONE)], ONE, {}),
    "four": ([treatment(*QUAT, "mister", FOUR)], FOUR, {"air": AIR}),
    "twelve": ([treatment(*QUAT, "pump", TWELVE)], TWELVE, {"air": AIR}),
    "many-loads": ([treatment(*QUAT, "mister", BIG)], BIG, {"air": AIR}),
    "poured": ([treatment(*QUAT, "bottle", ONE, mixed_in="pail")], ONE, {}),
    "food": (
        [treatment("solvary-q75", "food-plant", "pump", ["Area 1", "Area 2"]), treatment("ostrane-p5", "floors", "bucket", ["Area 3", "Area 4"])],
        FOUR,
        {"air": {"temperature": "59 F", "humidity": "70 %"}, "food_place": "processing"},
    ),
    "rewetted": ([treatment("harbour-tabs", "kitchen", "cloth", FOUR)], FOUR, {"air": {"temperature": "68 F", "humidity": "50 %"}, "food_place": "eating-place"}),
    "flammable": ([treatment("clarion", "wipe", "cloth", ONE)], ONE, {"air": AIR}),
    "no-strip": ([treatment("morrow", "floors", "bucket", HALL)], HALL, {}),
    "no-reentry": ([treatment("morrow", "floors", "mister", HALL)], HALL, {}),
    "three": (
        [treatment(*QUAT, "mister", ["Area 1"]), treatment("ostrane-p5", "floors", "bucket", ["Area 2"]), treatment("harbour-tabs", "kitchen", "cloth", ["Area 3", "Area 4"])],
        FOUR,
        {"air": AIR},
    ),
    "long-names": (
        [treatment("morrow", "floors", "bucket", LONG)],
        LONG,
        {"name": "Donaudampfschifffahrtsgesellschaft Maintenance and Passenger Handling Facility, Building 12, East Wing", "address": "12 Quay of the Northern Fishermen's Cooperative, Port Ansel"},
    ),
}


class Dumper(yaml.SafeDumper):
    """YAML in which every scalar is as it was written: `1:32` and `on` are no number and no truth."""

    yaml_implicit_resolvers = {}


def as_written(value):
    if isinstance(value, dict):
        return {key: as_written(inner) for key, inner in value.items()}
    return [as_written(inner) for inner in value] if isinstance(value, list) else str(value)


def write(path, content):
    path.write_text(yaml.dump(as_written(content), Dumper=Dumper, allow_unicode=True, sort_keys=False, width=4000), encoding="utf-8")


def log_of(plan):
    """A log that says that all was done as planned, a spot watched in every second area."""
    log = {"loads": [], "areas": [], "checks": []}
    for treatment in plan["treatments"]:
        number, strip = treatment["number"], treatment["strip"]
        reading = f"{strip['blocks'][strip['passes'][0]]['value']:g} ppm" if strip and strip["passes"] else None
        for load in treatment["loads"]:
            entry = {"treatment": number, "load": load["number"], "lot": "L-2603-07", "mixed": load["mixed_at"][:16], "by": "R. Okafor"}
            log["loads"].append(entry | ({"reading": reading} if reading else {}))
        for n, area in enumerate(treatment["areas"]):
            entry = {"treatment": number, "area": area["name"], "started": area["start"][:16], "finished": area["done"][:16], "wet_until": area["wet_until"][:16]}
            if treatment["wetness"] and treatment["wetness"]["applications"] > 1:
                entry["rewets"] = treatment["wetness"]["applications"] - 1
            if treatment["rinse"]:
                entry["rinsed"] = area["wet_until"][:16]
            log["areas"].append(entry)
            if n % 2 == 0:
                log["checks"].append({"treatment": number, "area": area["name"], "spot": "by the door", "wetted": area["start"][:16], "seen_wet": area["wet_until"][:16]})
    return log


def run(decant, *arguments, may=(0,)):
    made = subprocess.run([decant, *map(str, arguments)], capture_output=True, text=True)
    if made.returncode not in may:
        raise SystemExit(f"decant {' '.join(map(str, arguments))}: exit {made.returncode}\n{made.stderr}")
    return made.stdout


def make(decant, samples, folder, shape, language, units):
    """Renders both documents of a job; returns them and the record's link."""
    home = folder / f"{shape}-{language}-{units}"
    home.mkdir(parents=True)
    company = yaml.load((samples / "company.yaml").read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    company |= {"units": units, "page": "us-letter" if units == "us" else "a4", "regime": "united-states" if units == "us" else "eu-uk"}
    company["products"] |= {"clarion": ALCOHOL, "morrow": POWDER}
    for product in company["products"].values():
        product.pop("lots", None)
        product.get("strip", {}).pop("lots", None)
    for stock in company["stock"].values():
        stock.pop("regime", None)
    write(home / "company.yaml", company)
    shutil.copy(samples / "logo.svg", home)
    treatments, places, site = SHAPES[shape]
    job = {
        "job": f"{list(SHAPES).index(shape) + 1:02}-{language}-{units}", "company": "company.yaml", "language": language,
        "client": {"name": "Port Ansel Harbor Board", "contact": "M. Castellane"},
        "site": {"name": "Gull Point Ferry Terminal", "address": "1 Breakwater Road, Port Ansel"} | site,
        "visit": {"start": "2026-04-13T18:00", "crew": ["okafor", "lindqvist"]}, "treatments": treatments, "areas": places,
    }
    write(home / "job.yaml", job)
    write(home / "log.yaml", log_of(json.loads(run(decant, "plan", "--json", home / "job.yaml"))))
    write(home / "job.yaml", job | {"log": "log.yaml"})
    run(decant, "render", home / "job.yaml", "--only", "mix-sheet", "--only", "certificate", "--output", home / "out", may=(0, 3))
    (home / "plan.txt").write_text(run(decant, "plan", home / "job.yaml", "--language", "en"), encoding="utf-8")
    made = sorted((home / "out").glob("*.pdf"))
    if len(made) != 2:
        raise SystemExit(f"{home}: {len(made)} documents, not 2")
    return made, codes.link_of(home / "plan.txt")


def held(page, words):
    """The share of a page's height that lines of words and rules hold, between its margins."""
    spans = [(w["top"], w["bottom"]) for w in words] + [(r["top"], r["bottom"]) for r in page.lines + page.rects + page.curves]
    low, high = TOP, page.height - FOOT
    spans = sorted((max(a - AROUND, low), min(b + AROUND, high)) for a, b in spans)
    covered, reached = 0.0, low
    for a, b in spans:
        if b > max(reached, a):
            covered += b - max(reached, a)
            reached = b
    return covered / (high - low)


def overlaps(words):
    """Pairs of words whose letters lie over each other; boxes are cut to the height of small letters."""
    boxes = []
    for w in words:
        tall = w["bottom"] - w["top"]
        boxes.append((w["top"] + tall * 0.38, w["bottom"] - tall * 0.3, w["x0"], w["x1"], w["text"]))
    boxes.sort()
    for i, (top, bottom, left, right, text) in enumerate(boxes):
        for other in boxes[i + 1 :]:
            if other[0] >= bottom - 0.3:
                break
            if min(right, other[3]) - max(left, other[2]) > 0.6:
                yield f"'{text}' and '{other[4]}' lie over each other"


def faults_of(document):
    """The faults of the pages of a document, how many pages it has, and how full the emptiest page but the first is."""
    kind = "certificate" if "-certificate" in document.name else "mix-sheet"
    faults, emptiest = [], 1.0
    with pdfplumber.open(document) as pdf:
        for page in pdf.pages:
            place = f"page {page.page_number}"
            words = page.extract_words(extra_attrs=["size"])
            if not words:
                faults.append(f"{place}: no words")
            for w in words:
                if w["x0"] < 0 or w["top"] < 0 or w["x1"] > page.width or w["bottom"] > page.height:
                    faults.append(f"{place}: '{w['text']}' lies outside")
                # numerals of the strip's scale may be smaller
                if w["size"] < SMALLEST[kind] - 0.01 and not all(c.isdigit() or c in ",.\u202f" for c in w["text"]):
                    faults.append(f"{place}: '{w['text']}' of {w['size']:.2f} pt")
            faults += [f"{place}: {told}" for told in overlaps(words)]
            share = held(page, words)
            if page.page_number > 1:
                emptiest = min(emptiest, share)
                if share < FULL:
                    faults.append(f"{place}: only {share:.0%} full")
        return faults, len(pdf.pages), emptiest


def main():
    """Makes and checks all documents; prints a line each and a sum."""
    decant, samples, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
    whole = sys.argv[4:] == ["all"]
    shutil.rmtree(folder, ignore_errors=True)
    chosen = [(s, l, u) for i, s in enumerate(SHAPES) for j, l in enumerate(LANGUAGES) for k, u in enumerate(UNITS) if whole or (i + j * 2 + k) % 6 == 0]

    def one(job):
        documents, link = make(decant, samples, folder, *job)
        return [(document, *faults_of(document), *codes.faults_of(document, link)) for document in documents]

    failed, pages, readings, emptiest = 0, collections.Counter(), 0, 1.0
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for rows in pool.map(one, chosen):
            for document, faults, count, share, misread, read in rows:
                kind = "certificate" if "-certificate" in document.name else "mix sheet"
                pages[kind] += count
                pages[f"{kind}s"] += 1
                readings += read
                emptiest = min(emptiest, share)
                print(f"{'FAULTY' if faults + misread else 'good'}  {document.parent.parent.name}/{document.name}: {count} pages, {read} readings", flush=True)
                for fault in faults + misread:
                    print(f"       {fault}")
                failed += bool(faults + misread)
    print(
        f"{len(chosen)} jobs: {pages['mix sheets']} mix sheets of {pages['mix sheet']} pages, {pages['certificates']} certificates of "
        f"{pages['certificate']} pages, {readings} readings of codes, the emptiest page but a first {emptiest:.0%} full, {failed} faulty"
    )
    return 1 if failed or not chosen else 0


if __name__ == "__main__":
    sys.exit(main())
