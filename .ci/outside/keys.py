"""The files of the samples against the schemas that decant prints, by a validator that nobody here wrote.

Usage: keys.py DECANT

Exit 1 if a schema is none, if a sample does not fit, or if a planted fault is not noticed.
"""

import json
import pathlib
import re
import subprocess
import sys

import jsonschema
import yaml


class Core(yaml.SafeLoader):
    """YAML 1.2, core schema: `no` is text, and so are dates and `1:64`."""


Core.yaml_implicit_resolvers = {}
for tag, pattern, first in [
    ("null", r"^(~|null|Null|NULL|)$", ["~", "n", "N", ""]),
    ("bool", r"^(true|True|TRUE|false|False|FALSE)$", list("tTfF")),
    ("int", r"^[-+]?[0-9]+$", list("-+0123456789")),
    ("float", r"^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$", list("-+.0123456789")),
    ("merge", r"^<<$", ["<"]),
]:
    Core.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), first)

SAMPLES = {
    "company": ["company.yaml"],
    "job": ["*/job.yaml"],
    "log": ["*/log.yaml", "*/logs/*.yaml"],
    "contract": ["*/contract.yaml"],
}


def main():
    decant = sys.argv[1]
    for file, patterns in SAMPLES.items():
        printed = subprocess.run([decant, "schema", file], check=True, capture_output=True, text=True).stdout
        schema = json.loads(printed)
        jsonschema.Draft202012Validator.check_schema(schema)
        validator = jsonschema.Draft202012Validator(schema)
        paths = sorted(path for pattern in patterns for path in pathlib.Path("samples").glob(pattern))
        assert paths, f"no sample of a {file}"
        for path in paths:
            value = yaml.load(path.read_text(), Core)
            for error in validator.iter_errors(value):
                sys.exit(f"{path}: {error.json_path}: {error.message}")
            value["nobody_knows_this"] = 1
            assert not validator.is_valid(value), f"{path}: an unknown key is not noticed"
            print("good ", path)


main()
