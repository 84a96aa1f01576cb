"""A folder's record against its schema, its seal, and the certificate that carries both.

Usage: record.py SCHEMA FOLDER [PUBLIC_KEY_FILE]
"""

import hashlib
import json
import pathlib
import sys

import jsonschema
import pikepdf
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


def only(folder, pattern):
    """The one file of that name."""
    found = sorted(folder.glob(pattern))
    assert len(found) == 1, f"{folder}: {len(found)} files are called {pattern}"
    return found[0]


def main():
    schema = json.loads(pathlib.Path(sys.argv[1]).read_text())
    folder = pathlib.Path(sys.argv[2])
    record = only(folder, "*-record.json").read_bytes()
    seal_bytes = only(folder, "*-seal.json").read_bytes()
    seal = json.loads(seal_bytes)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.loads(record))
    assert seal["record"] == hashlib.sha256(record).hexdigest(), "the seal's digest"
    if len(sys.argv) > 3:
        key = pathlib.Path(sys.argv[3]).read_text().split()[-1]
        assert seal["key"] == key, "the seal's key"
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(key))
        public.verify(bytes.fromhex(seal["signature"]), record)
        try:
            public.verify(bytes.fromhex(seal["signature"]), record + b" ")
            raise AssertionError("the signature is of anything")
        except InvalidSignature:
            pass
    else:
        assert seal["key"] is None and seal["signature"] is None
    with pikepdf.open(only(folder, "*-certificate.pdf")) as pdf:
        within = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
        assert within["record.json"] == record, "the record within"
        assert within["seal.json"] == seal_bytes, "the seal within"
        assert pdf.attachments["record.json"].relationship == pikepdf.Name.Source, "its relationship"
    print(f"good  {folder}")


main()
