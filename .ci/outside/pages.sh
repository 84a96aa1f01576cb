#!/usr/bin/env bash
# The words of every sample page, compared with tests/pages. Usage: pages.sh RENDERED_FOLDER; with DECANT_BLESS=1 it writes them anew.
set -euo pipefail
here=$(cd "$(dirname "$0")/../.." && pwd)
rendered=$1
compared=0
for pdf in "$rendered"/*/*.pdf; do
    golden="$here/tests/pages/$(basename "${pdf%.pdf}").txt"
    words=$(pdftotext -layout "$pdf" - 2>/dev/null | sed 's/[[:space:]]*$//')
    if [ "${DECANT_BLESS:-}" = 1 ]; then
        printf '%s\n' "$words" >"$golden"
    else
        diff -u "$golden" <(printf '%s\n' "$words")
    fi
    compared=$((compared + 1))
done
[ "$compared" -gt 0 ] || { echo "no page was compared" >&2; exit 1; }
echo "pages: the words of $compared documents are as expected"
