#!/usr/bin/env bash
# From an empty folder to a certificate that verifies, as somebody new to it would go: twice, with a log that is typed and with one
# that is tapped in Chromium. `bash first-hour.sh DECANT FOLDER TOOLS`, of which TOOLS holds the node_modules that form.mjs asks for.
set -euo pipefail
decant=$(realpath "$1")
tools=$(realpath "$3")
tapping=$(realpath "$(dirname "$0")")/form.mjs
rm -rf "$2"
mkdir -p "$2"
cd "$2"

fail() {
    printf 'first hour: %s\n' "$1" >&2
    exit 1
}

ends_with() {
    local wanted=$1 status=0
    shift
    "$@" >>out.txt 2>>err.txt || status=$?
    [ $status = "$wanted" ] || fail "\`${*:2}\` ended with $status, not $wanted: $(tail -5 err.txt)"
}

ends_with 0 "$decant" new shop --no-questions --start 2026-04-13T18:00 --job first --licence T-1 --product "Solvary Q-75" --dilution "2 fl oz/gal"
ends_with 0 "$decant" plan shop/job.yaml
ends_with 0 "$decant" render shop/job.yaml --only labels --only mix-sheet
pdftotext shop/out/first-labels-sheet-2x2.pdf - | grep "DRAFT: Solvary Q-75" >/dev/null || fail "the label of an example does not say DRAFT"
# whoever has the label in hand has gone through the product
sed -i -e '0,/label_checked: no/s//label_checked: yes/' -e 's/records\.example/records.acme.example/' shop/company.yaml
ends_with 2 "$decant" plan shop/job.yaml
sed -i '0,/invented: .*/s//invented: []/' shop/company.yaml
ends_with 0 "$decant" render shop/job.yaml --only labels --only mix-sheet
! pdftotext shop/out/first-labels-sheet-2x2.pdf - | grep DRAFT >/dev/null || fail "a label that was compared says DRAFT"
# one bottle, at once and without a job
key=$(sed -n 's/^ *- product: //p' shop/job.yaml)
ends_with 0 "$decant" label --company shop/company.yaml --product "$key" --container 32floz --by "A. Example" --mixed 2026-04-13T17:40 --output bottle.pdf
pdftotext bottle.pdf - | grep "Solvary Q-75" >/dev/null || fail "the label of a bottle does not name its product"
ends_with 0 "$decant" new log shop/job.yaml
sed -i 's/^# log: .*/log: log.yaml/' shop/job.yaml
ends_with 3 "$decant" render shop/job.yaml
[ ! -e shop/out/first-certificate.pdf ] || fail "a log with blanks was certified"
# the crew fills it in
sed -i -e 's/^\( *mixed:\)$/\1 2026-04-13T18:05/' -e 's/^\( *by:\)$/\1 A. Example/' -e 's/^\( *lot:\)$/\1 L-1/' \
    -e 's/^\( *reading:\)$/\1 1600 ppm/' -e 's/^\( *started:\)$/\1 2026-04-13T18:06/' \
    -e 's/^\( *finished:\)$/\1 2026-04-13T18:12/' -e 's/^\( *wet_until:\)$/\1 2026-04-13T18:24/' shop/log.yaml
ends_with 0 "$decant" render shop/job.yaml
[ -s shop/out/first-certificate.pdf ] || fail "no certificate was made"
ends_with 0 "$decant" verify shop/out
# the same visit, tapped on a telephone
mkdir -p crew/given
cp shop/company.yaml crew
ends_with 0 "$decant" log shop/job.yaml --output crew/form.html
"$decant" plan --json shop/job.yaml >crew/plan.json
CHROMIUM=$(command -v chromium) ends_with 0 timeout 300 node "$tapping" "$tools" crew/form.html crew/given crew/plan.json
sed 's/^log: .*/log: given\/first.csv/' shop/job.yaml >crew/job.yaml
ends_with 0 "$decant" log crew/job.yaml
ends_with 0 "$decant" render crew/job.yaml
[ -s crew/out/first-certificate.pdf ] || fail "no certificate was made of what was tapped"
ends_with 0 "$decant" verify crew/out --job crew/job.yaml
printf 'Code,Site,Street,Hall\nmill,Old Mill,1 Mill Row,40 ft x 20 ft\n' >shop/sites.csv
ends_with 0 "$decant" new contract shop/sites.csv
ends_with 0 "$decant" expand shop/contract.yaml --output shop/jobs
echo "from an empty folder to a certificate that verifies"
