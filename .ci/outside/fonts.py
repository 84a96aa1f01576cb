"""Asks poppler's pdffonts whether every font of every document is embedded.

    python fonts.py FILE.pdf...

Exit 1 if a font is not embedded or a document has no font at all.
"""

import re
import subprocess
import sys


def main():
    """Checks all documents; prints a line each."""
    failed = not sys.argv[1:]
    for document in sys.argv[1:]:
        run = subprocess.run(["pdffonts", document], capture_output=True, text=True, check=True)
        fonts = run.stdout.splitlines()[2:]
        # The columns from the right: embedded, subset, Unicode map, object number, generation.
        bare = [font for font in fonts if not re.search(r"\byes\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+$", font)]
        print(f"{'FAULTY' if bare or not fonts else 'good'}  {document}: {len(fonts)} fonts, {len(bare)} not embedded")
        failed = failed or bool(bare) or not fonts
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
