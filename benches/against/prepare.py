"""Writes what every library is given: jobs for decant, their documents' data as JSON, static faces, drawings.

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


def write_jobs(jobs, count, treatments=slice(None)):
    """Jobs like the sample's, each at a site of its own, so that no two documents are alike."""
    jobs.mkdir(parents=True)
    sample = (ROOT / "samples/ferry-terminal/job.yaml").read_text(encoding="utf-8").split("\nlog:")[0]
    head, rest = sample.split("treatments:\n", 1)
    listed, areas = rest.split("\nareas:\n", 1)
    listed = ["  - product" + part for part in listed.split("  - product")[1:]][treatments]
    # an area that nothing is done to is an error
    named = "".join(listed)
    areas = [line for line in areas.splitlines() if line.split(":")[0].strip() in named]
    sample = f"{head}treatments:\n{named}\nareas:\n" + "\n".join(areas)
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
    write_jobs(folder / "jobs/mix-sheet", count)
    # the labels of the mister, all on one roll
    write_jobs(folder / "jobs/labels", count, slice(1, 2))
    for file in ("company.yaml", "logo.svg"):
        shutil.copy(ROOT / "samples" / file, folder / "jobs")
    (folder / "fonts").mkdir()
    write_faces(folder / "fonts")
    for kind, drawings in (("mix-sheet", "signs"), ("labels", "pictograms")):
        given = folder / "given" / kind
        shutil.copytree(folder / "fonts", given / "fonts")
        shutil.copytree(ROOT / "templates" / drawings, given / "signs")
        shutil.copy(ROOT / "samples/logo.svg", given)
        for job in sorted((folder / "jobs" / kind).iterdir()):
            data = subprocess.run([decant, "data", job, kind], capture_output=True, check=True).stdout
            (given / f"{job.stem}.json").write_bytes(data)


if __name__ == "__main__":
    main()
