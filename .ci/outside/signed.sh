#!/usr/bin/env bash
# Records of samples, unsigned and signed with a new key, compared with other people's JSON Schema, Ed25519 and PDF reader; then `decant verify`
# on all of it. Usage: signed.sh DECANT RENDERED_FOLDER PYTHON
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
decant=$1 rendered=$2 python=$3
signed=$(mktemp -d)
trap 'rm -rf "$signed"' EXIT
cp -r "$here"/../../samples/. "$signed"
echo 'signing_key: company.key' >>"$signed/company.yaml"
"$decant" key --company "$signed/company.yaml" >/dev/null 2>&1
"$decant" schema >"$signed/schema.json"
for job in "$signed"/*/job.yaml; do
    "$decant" render "$job" >/dev/null 2>&1
    out=$(dirname "$job")/out
    "$python" "$here/record.py" "$signed/schema.json" "$out" "$signed/company.key.pub"
    "$decant" verify "$out" --key "$signed/company.key.pub" --job "$job" >/dev/null
done
for out in "$rendered"/*/; do
    "$python" "$here/record.py" "$signed/schema.json" "$out"
    # the folders below it hold labels alone, without the certificate that their record speaks of
    "$decant" verify "$out"*-certificate.pdf "$out"*-record.json >/dev/null
done
echo "records: schema, digest, signature and attachments hold"
