"""Holds the sample's Kubernetes Job against the API's schema, and writes what its container runs as a shell script.

    python manifest.py JOB.yaml POD.sh

Prints the number of pods. The script takes from its surroundings what the manifest's `env` does not set there already.
Exit 1 if the manifest breaks the schema, if a misspelt field or value is not noticed, or if shards and pods differ.
"""

import copy
import pathlib
import shlex
import sys

import kubernetes_validate
import yaml

VERSION = "1.33"  # since which a policy may fail a single index


def faults_of(manifest):
    """What the schema finds, in words."""
    try:
        kubernetes_validate.validate(manifest, VERSION, strict=True)
    except kubernetes_validate.ValidationError as fault:
        return str(fault.message)
    return None


def main():
    """Reads, checks, writes."""
    manifest = yaml.safe_load(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"))
    fault = faults_of(manifest)
    if fault:
        raise SystemExit(f"{sys.argv[1]}: {fault}")
    misspelt, mistyped = copy.deepcopy(manifest), copy.deepcopy(manifest)
    misspelt["spec"]["completionmode"] = misspelt["spec"].pop("completionMode")
    mistyped["spec"]["completions"] = "sixteen"
    if not faults_of(misspelt) or not faults_of(mistyped):
        raise SystemExit("the schema does not notice a planted fault")

    spec = manifest["spec"]
    (container,) = spec["template"]["spec"]["containers"]
    env = {variable["name"]: variable["value"] for variable in container["env"]}
    if spec["completionMode"] != "Indexed" or env["SHARDS"] != str(spec["completions"]):
        raise SystemExit(f"{sys.argv[1]}: {spec['completions']} pods but {env['SHARDS']} shards")
    lines = [f': "${{{name}:={value}}}"\n' for name, value in env.items()]
    lines.append(shlex.join([*container["command"], *container["args"]]) + "\n")
    lines.insert(-1, f"export {' '.join(env)}\n")
    pathlib.Path(sys.argv[2]).write_text("".join(lines), encoding="utf-8")
    print(spec["completions"])


if __name__ == "__main__":
    sys.exit(main())
