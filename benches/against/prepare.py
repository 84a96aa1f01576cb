"""Writes what every library is given: jobs for decant, their sheets' data as JSON, static faces, signs.

    python prepare.py DECANT FOLDER COUNT
"""

import pathlib
import shutil
import subprocess
import sys

from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

ROOT = pathlib.Path(__file__).resolve().parents[2]
WEIGHTS = {"Regular": (400, 100), "SemiBold": (600, 100), "Bold": (700, 100), "Narrow": (700, 92)}


def write_jobs(jobs, count):
    """Jobs like the sample's, each at a site of its own, so that no two sheets are alike."""
    shutil.copy(ROOT / "samples/company.yaml", jobs.parent)
    shutil.copy(ROOT / "samples/logo.svg", jobs.parent)
    sample = (ROOT / "samples/ferry-terminal/job.yaml").read_text(encoding="utf-8").split("\napplied:")[0]
    for i in range(count):
        job = sample.replace("job: 2026-0413", f"job: B-{i:05}")
        job = job.replace("floor: 40 ft x 55 ft", f"floor: 40 ft x {40 + i % 30}.{i // 30 % 10} ft")
        (jobs / f"{i:05}.yaml").write_text(job.replace("Gull Point", f"Pier {i}") + "\n", encoding="utf-8")


def write_faces(fonts):
    """The weights and the width that the sheet uses, cut from the variable font as files that every library reads."""
    variable = ROOT / "fonts/IBMPlexSans[wdth,wght].ttf"
    for face, (weight, width) in WEIGHTS.items():
        font = instancer.instantiateVariableFont(TTFont(variable), {"wght": weight, "wdth": width})
        for record in font["name"].names:
            if record.nameID == 6:
                record.string = f"IBMPlexSans-{face}"
        font.save(fonts / f"{face}.ttf")


def main():
    """Writes everything into a new folder."""
    decant, folder, count = sys.argv[1], pathlib.Path(sys.argv[2]), int(sys.argv[3])
    for part in ("jobs", "sheets/fonts", "sheets/signs"):
        (folder / part).mkdir(parents=True)
    write_jobs(folder / "jobs", count)
    write_faces(folder / "sheets/fonts")
    shutil.copy(ROOT / "samples/logo.svg", folder / "sheets")
    for sign in (ROOT / "templates/signs").glob("*.svg"):
        shutil.copy(sign, folder / "sheets/signs")
    for job in sorted((folder / "jobs").iterdir()):
        data = subprocess.run([decant, "data", job, "mix-sheet"], capture_output=True, check=True).stdout
        (folder / f"sheets/{job.stem}.json").write_bytes(data)


if __name__ == "__main__":
    main()
