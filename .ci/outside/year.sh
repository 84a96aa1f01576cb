#!/usr/bin/env bash
# The year of 43 stores (tests/suite/year), its certificates through a mail server of other people's make. Usage: year.sh PYTHON
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
python=$(realpath --no-symlinks "$1")
box=$(mktemp -d)
trap 'rm -rf "$box"' EXIT
coproc "$python" -W ignore "$here/mailserver.py" "$box" starttls 2>"$box/said"
running=$COPROC_PID
hold=${COPROC[1]}
for _ in $(seq 100); do [ -s "$box/port" ] && break; sleep 0.1; done
[ -s "$box/port" ] || { cat "$box/said"; exit 1; }
DECANT_YEAR=43 DECANT_YEAR_MAIL=$box cargo test --release --locked --test main year::
# closing its standard input ends it
eval "exec $hold>&-"
wait "$running"
echo "year: $(find "$box" -name '*.eml' | wc -l) messages"
