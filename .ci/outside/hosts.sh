#!/usr/bin/env bash
# Shards on engines that are not ours: the samples for GNU parallel, Slurm and Kubernetes, each compared with one run.
#
#   hosts.sh DECANT PYTHON
#
# GNU parallel goes over ssh to two hosts, and a third that is lost in the middle of its shard. They are all this machine: a
# server on a free port of the loopback with keys made for the occasion, where each host's key leads to a folder of its own. Of Slurm and Kubernetes there is only what
# they would start, run here task by task as they would number it; the manifest is compared with the API's own schema.
# Exit 1 unless every document of the joined shards is byte for byte that of the one run.
set -euo pipefail
cd "$(dirname "$0")/../.."
decant=$(realpath "$1")
python=$(realpath --no-symlinks "$2")
engines=$PWD/samples/engines
work=$(mktemp -d)
server=
trap '[ -z "$server" ] || kill "$server" 2>/dev/null || true; rm -rf "$work"' EXIT

fail() {
    printf 'hosts: %s\n' "$1" >&2
    exit 1
}

# The names and SHA-256 of every PDF below the folders, whatever folder each lies in.
documents() {
    find "$@" -name '*.pdf' -exec sha256sum {} + | sed 's|  .*/|  |' | sort -k 2
}

same_as_whole() {
    local what=$1
    shift
    documents "$@" >"$work/found.txt"
    diff -u "$work/expected.txt" "$work/found.txt" || fail "$what: other documents than in one run"
    echo "same: $what, $(wc -l <"$work/found.txt") documents"
}

# --- the jobs, and one run of all of them on one machine
mkdir "$work/bin" "$work/source"
ln -s "$decant" "$work/bin/decant"
export PATH=$work/bin:$PATH
cp -R samples/harbour-contract samples/company.yaml samples/logo.svg "$work/source"
decant expand "$work/source/harbour-contract/contract.yaml" --output "$work/source/jobs" >"$work/jobs.txt"
tail -n +13 "$work/jobs.txt" | xargs rm # a dozen visits are enough
decant batch "$work/source/jobs" --output "$work/whole" >/dev/null 2>&1
documents "$work/whole" >"$work/expected.txt"
[ "$(wc -l <"$work/expected.txt")" -ge 24 ] || fail "a dozen jobs made only $(wc -l <"$work/expected.txt") documents"

# --- two hosts
ssh-keygen -q -t ed25519 -N '' -f "$work/server"
for host in host-a host-b; do
    mkdir "$work/$host"
    cp -R "$work/source/." "$work/$host"
    ssh-keygen -q -t ed25519 -N '' -f "$work/$host.key"
    # the key of a host leads into that host's folder, and there every command is run as it was sent
    # shellcheck disable=SC2016
    printf 'restrict,command="cd %s && export PATH=%s:$PATH && eval \\"$SSH_ORIGINAL_COMMAND\\"" %s\n' \
        "$work/$host" "$work/bin" "$(cat "$work/$host.key.pub")" >>"$work/authorized"
done
# a third host takes a shard and is lost a second later
ssh-keygen -q -t ed25519 -N '' -f "$work/host-c.key"
# shellcheck disable=SC2016
printf 'restrict,command="touch %s; sleep 1; kill -9 $PPID" %s\n' "$work/lost" "$(cat "$work/host-c.key.pub")" >>"$work/authorized"
# the server gives up its rights in this folder; the system makes it when it starts a server of its own
[ "$(id -u)" != 0 ] || mkdir -p /run/sshd
for attempt in 1 2 3 4 5; do
    port=$((20000 + RANDOM % 10000))
    /usr/sbin/sshd -D -e -f /dev/null -p $port -h "$work/server" -o ListenAddress=127.0.0.1 -o PidFile=none \
        -o AuthorizedKeysFile="$work/authorized" -o StrictModes=no -o PasswordAuthentication=no \
        -o KbdInteractiveAuthentication=no -o PermitRootLogin=prohibit-password 2>"$work/server.log" &
    server=$!
    for _ in $(seq 50); do
        grep -q 'Server listening' "$work/server.log" && break 2
        kill -0 "$server" 2>/dev/null || break # the port is taken
        sleep 0.1
    done
    [ "$attempt" != 5 ] || fail "no ssh server: $(cat "$work/server.log")"
done
for host in host-a host-b host-c; do
    printf '[127.0.0.1]:%s %s\n' "$port" "$(cut -d ' ' -f 1-2 "$work/server.pub")" >"$work/known"
    printf 'Host %s\n HostName 127.0.0.1\n Port %s\n IdentityFile %s\n' $host "$port" "$work/$host.key"
    printf ' IdentitiesOnly yes\n UserKnownHostsFile %s\n StrictHostKeyChecking yes\n' "$work/known"
done >"$work/ssh-config"
printf '1/host-a\n1/host-b\n1/host-c\n' >"$work/hosts"
export PARALLEL_SSH="ssh -F $work/ssh-config"

bash "$engines/parallel.sh" "$work/hosts" 4 jobs "$work/by-parallel" >"$work/parallel.txt" 2>&1 ||
    { cat "$work/parallel.txt" >&2; fail "GNU parallel ended in failure"; }
for host in host-a host-b; do
    cut -f 2 "$work/by-parallel/parallel.log" | grep -q "^$host\$" || fail "GNU parallel gave $host no shard"
done
[ -e "$work/lost" ] || fail "the third host was never given a shard to lose"
same_as_whole "GNU parallel over ssh, 4 shards on 2 hosts, a third being lost with its shard" "$work/by-parallel"
cmp "$work/whole/summary.csv" "$work/by-parallel/summary.csv" || fail "GNU parallel: another summary"

# a shard that is not there must be noticed
if decant merge "$work"/by-parallel/decant-shard-[124] --output "$work/without-3" >"$work/without-3.txt" 2>&1; then
    fail "merge did not miss the third shard"
fi
grep -q '3/4' "$work/without-3.txt" || fail "merge does not name the shard that is missing: $(cat "$work/without-3.txt")"
[ ! -e "$work/without-3/manifest.json" ] || fail "merge wrote a manifest without the third shard"
echo "noticed: a shard that is missing"

# --- Slurm and Kubernetes
shellcheck "$engines"/*.sh .ci/outside/hosts.sh
cd "$work/source"
tasks=$(sed -n 's/^#SBATCH --array=1-//p' "$engines/slurm-array.sh")
for task in $(seq "$tasks"); do
    SLURM_ARRAY_TASK_ID=$task SLURM_CPUS_PER_TASK=2 bash "$engines/slurm-array.sh" jobs "$work/by-slurm" >/dev/null 2>&1
done
decant merge "$work/by-slurm" --output "$work/by-slurm" >/dev/null 2>&1
same_as_whole "what a Slurm array starts, $tasks tasks" "$work/by-slurm"
if SLURM_ARRAY_TASK_ID=$((tasks + 1)) bash "$engines/slurm-array.sh" jobs "$work/by-slurm" 2>/dev/null; then
    fail "a Slurm task beyond the last shard was not refused"
fi

"$python" "$OLDPWD/.ci/outside/manifest.py" "$engines/kubernetes-job.yaml" "$work/pod.sh" >"$work/completions.txt"
read -r completions <"$work/completions.txt"
for index in $(seq 0 $((completions - 1))); do
    JOB_COMPLETION_INDEX=$index JOBS=jobs OUT=$work/by-kubernetes bash "$work/pod.sh" >/dev/null 2>&1
done
decant merge "$work/by-kubernetes" --output "$work/by-kubernetes" >/dev/null 2>&1
same_as_whole "what a Kubernetes Job starts, $completions pods" "$work/by-kubernetes"
