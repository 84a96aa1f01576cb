"""Plants one fault in a copy of a sound PDF, so that a checker can be seen to notice it.

    python plant.py language|alternative GOOD.pdf BAD.pdf

`language` takes the document language out of the catalog; `alternative` takes the alternative text from the figures.
Exit 2 if the document has nothing to take: a control that changes nothing proves nothing.
"""

import sys

import pikepdf


def take_language(pdf):
    """Removes /Lang from the catalog; returns how many were removed."""
    if "/Lang" not in pdf.Root:
        return 0
    del pdf.Root["/Lang"]
    return 1


def take_alternative(pdf):
    """Removes /Alt and /ActualText from every figure of the tag tree; returns how many figures lost theirs."""
    taken = 0
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure" and "/Alt" in thing:
            del thing["/Alt"]
            if "/ActualText" in thing:
                del thing["/ActualText"]
            taken += 1
    return taken


FAULTS = {"language": take_language, "alternative": take_alternative}


def main():
    """Reads, spoils, writes."""
    fault, good, bad = sys.argv[1:]
    with pikepdf.open(good) as pdf:
        taken = FAULTS[fault](pdf)
        if taken == 0:
            print(f"{good}: nothing to take for the fault '{fault}'", file=sys.stderr)
            return 2
        pdf.save(bad)
    print(f"planted: {fault}, {taken} taken")
    return 0


if __name__ == "__main__":
    sys.exit(main())
