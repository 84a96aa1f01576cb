#!/usr/bin/env bash
# A batch on several hosts with GNU parallel over ssh; the hosts share no file system.
#
#   parallel.sh HOSTS SHARDS JOBS OUT [OPTION…]
#
# HOSTS is a file with a host a line, `1/name`: one shard at a time, which then uses all its processors. Each host has
# decant on its path and, in the folder that ssh arrives in, the folder JOBS. Take a few times as many SHARDS as hosts:
# whichever is done first takes the next. What a shard made comes back as an archive and is unpacked in OUT, where
# `decant merge` then finds every shard or says which is missing. Each OPTION goes to `decant batch`. Ends with the number of
# shards that failed.
set -euo pipefail
hosts=$1 shards=$2 jobs=$3 out=$4
shift 4
mkdir -p "$out"

# A shard in which some documents failed still sends back the others. A host that cannot be reached, or is lost, leaves
# its shard to the next one.
options=$(printf '%q ' "$jobs" "$@")
failed=0
seq "$shards" | parallel --sshloginfile "$hosts" --retries 2 --joblog "$out/parallel.log" --results "$out/shard-{}.tar" \
    "decant batch $options -o decant-shard-{} --shard {}/$shards >&2; status=\$?; tar -c decant-shard-{}; exit \$status" \
    >/dev/null || failed=$?
for archive in "$out"/shard-*.tar; do
    [ ! -s "$archive" ] || tar -x -f "$archive" -C "$out"
    rm "$archive"
done
decant merge "$out"/decant-shard-* -o "$out"
exit "$failed"
