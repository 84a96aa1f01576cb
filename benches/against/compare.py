"""Times decant and the scripts in turn, checks that their documents say the same, and prints a table for each kind.

    python compare.py DECANT FOLDER COUNT ROUNDS

FOLDER is what prepare.py wrote. Every run is held to one processor. Exit 1 if a sheet lacks words or its code.
"""

import collections
import os
import pathlib
import re
import resource
import subprocess
import sys
import time
import unicodedata

import pikepdf
import zxingcpp
from PIL import Image

HERE = pathlib.Path(__file__).resolve().parent
SCRIPTS = {kind: {"ReportLab, platypus": (script,)} for kind, script in (("mix-sheet", "with_platypus.py"), ("labels", "with_label_platypus.py"))}
CHECKED = 5  # sheets of each that are read, spread over all
TOLERANCE = 0.005  # share of a sheet's words that may be missing or too many: a number that a time line had no room for


def one_processor():
    """Holds a process that is about to start to the last processor, where the system can."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})


def time_decant(decant, folder, kind, out):
    """Seconds by clock and by processor of a whole batch, the start of the process with it."""
    command = [decant, "batch", folder / "jobs" / kind, "-o", out, "--only", kind, "--workers", "1"]
    before, clock = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, preexec_fn=one_processor)
    clock, after = time.perf_counter() - clock, resource.getrusage(resource.RUSAGE_CHILDREN)
    return clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def time_script(script, folder, kind, out):
    """Seconds by clock and by processor that a script says its sheets took; its start and imports are not counted."""
    command = [sys.executable, HERE / script[0], out, *script[1:]]
    environment = {**os.environ, "SHEETS": str(folder / "given" / kind)}
    run = subprocess.run(command, env=environment, check=True, stdout=subprocess.PIPE, text=True, preexec_fn=one_processor)
    clock, processor = run.stdout.split()
    return float(clock), float(processor)


def words_of(pdf):
    """Every word of a PDF, in small letters, with how often it stands there."""
    text = subprocess.run(["pdftotext", pdf, "-"], capture_output=True, check=True).stdout.decode()
    return collections.Counter(unicodedata.normalize("NFKC", text).lower().split())


def codes_of(pdf, scratch):
    """What the codes on the first page say, and the error level of each."""
    subprocess.run(["pdftoppm", "-r", "200", "-gray", "-png", "-singlefile", pdf, scratch], check=True, stderr=subprocess.DEVNULL)
    with Image.open(f"{scratch}.png") as page:
        return [(code.text, code.ec_level) for code in zxingcpp.read_barcodes(page) if code.format == zxingcpp.BarcodeFormat.QRCode]


def kind_of(pdf):
    """Whether a PDF is tagged, and which archive and accessibility standards it names."""
    with pikepdf.open(pdf) as document:
        tagged = bool(document.Root.get("/MarkInfo", {}).get("/Marked", False)) and "/StructTreeRoot" in document.Root
        metadata = document.Root.Metadata.read_bytes().decode() if "/Metadata" in document.Root else ""
    part = re.search(r"pdfaid:part(?:>|=\")(\d)", metadata)
    names = [f"PDF/A-{part[1]}"] if part else []
    names += ["PDF/UA"] if "pdfuaid:part" in metadata else []
    return "yes" if tagged else "no", " + ".join(names) or "no"


def check(name, ours, theirs, scratch):
    """Whether sheets say the same as decant's; prints what was found."""
    missing, extra, total, sound = collections.Counter(), collections.Counter(), 0, True
    for our, their in zip(ours, theirs):
        expected, found = words_of(our), words_of(their)
        missing += expected - found
        extra += found - expected
        total += expected.total()
        if codes_of(our, scratch) != codes_of(their, scratch):
            print(f"  {name}: another code than decant's in {their.name}")
            sound = False
    sound = sound and total > 0 and max(missing.total(), extra.total()) <= TOLERANCE * total
    print(f"  {'same' if sound else 'DIFFERS'}  {name}: {total} words, {missing.total()} missing, {extra.total()} too many", end="")
    odd = [*(f"-{word}" for word in missing), *(f"+{word}" for word in extra)]
    print(f" ({' '.join(sorted(odd)[:12])})" if odd else "")
    return sound


def compare(kind, decant, folder, count, rounds):
    """Times and checks one kind of document; whether all say the same."""
    scripts, best = SCRIPTS[kind], {}
    out = lambda turn, number: folder / f"out-{kind}-{turn}-{number}"
    for turn in range(rounds):
        print(f"{kind}, round {turn + 1} of {rounds}", file=sys.stderr, flush=True)
        for number, name in enumerate(["decant", *scripts]):
            where = (folder, kind, out(turn, number))
            taken = time_script(scripts[name], *where) if name in scripts else time_decant(decant, *where)
            best[name] = tuple(map(min, best.get(name, taken), taken))
    made = [sorted(out(rounds - 1, number).rglob("*.pdf")) for number in range(len(scripts) + 1)]
    if any(len(documents) != count for documents in made):
        raise SystemExit(f"not every run made {count} documents: {[len(documents) for documents in made]}")

    picked = range(0, count, max(count // CHECKED, 1))
    ours = [made[0][i] for i in picked]
    print(f"\nWords (pdftotext, {len(ours)} of each, at most {TOLERANCE:.1%} may differ) and code of `{kind}`, against decant's:")
    sound = [check(name, ours, [made[n][i] for i in picked], folder / "page") for n, name in enumerate(scripts, 1)]

    print(f"\n{count} × `{kind}` in one process on one processor, the fastest of {rounds} rounds taken in turn:\n")
    print("| made with | docs/s | ms/doc | CPU ms/doc | decant is, by clock | by CPU | KiB | pages | tagged | archive, accessible |")
    print("| --- | --: | --: | --: | --: | --: | --: | --: | --- | --- |")
    for number, (name, (clock, processor)) in enumerate(best.items()):
        pdf = made[number][0]
        with pikepdf.open(pdf) as document:
            pages = len(document.pages)
        tagged, standards = kind_of(pdf)
        print(
            f"| {name} | {count / clock:.1f} | {1000 * clock / count:.1f} | {1000 * processor / count:.1f} "
            f"| {clock / best['decant'][0]:.2f} × as fast | {processor / best['decant'][1]:.2f} × "
            f"| {pdf.stat().st_size / 1024:.0f} | {pages} | {tagged} | {standards} |"
        )
    rate = count / best["decant"][0]
    print(f"\nA million at decant's {rate:.1f} a second and core: {1e6 / rate / 3600:.1f} core hours.")
    return all(sound)


def main():
    """Times, checks, prints."""
    decant, folder, count, rounds = sys.argv[1], pathlib.Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    sound = [compare(kind, decant, folder, count, rounds) for kind in SCRIPTS]
    return 0 if all(sound) else 1


if __name__ == "__main__":
    sys.exit(main())
