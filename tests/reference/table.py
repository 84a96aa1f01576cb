"""Writes a reference table: comment lines, the column names, the rows."""

from importlib.metadata import version
from pathlib import Path


def write(name, comments, packages, columns, rows):
    """Writes NAME beside this file. Cells are text already, so that the same versions write the same bytes."""
    lines = [f"# {comment}" for comment in comments]
    lines += [f"# {package} {version(package)}" for package in packages]
    lines += [",".join(columns)]
    lines += [",".join(row) for row in rows]
    Path(__file__).with_name(name).write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
