#!/usr/bin/env bash
# Certificates through two mail servers of other people's make, over STARTTLS and TLS, and as drafts; all of it read back by Python's own
# library. Usage: mail.sh DECANT PYTHON NODE_MODULES
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
decant=$(realpath "$1") python=$(realpath --no-symlinks "$2") modules=$(realpath "$3")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -r "$here"/../../samples/. "$work"
cd "$work"
# a name with everything that must not break out of a header
awk '{ sub("contact: M. Castellane", "contact: \"Zoë \\\"Z\\\" <z@evil.example>, Ñandú \\& Söhne ; =?utf-8?q?x?= and so on and on and on and on\"") } 1' \
    ferry-terminal/job.yaml >job && mv job ferry-terminal/job.yaml
grep -q 'Zoë' ferry-terminal/job.yaml
for job in */job.yaml; do
    "$decant" render "$job" --only certificate --output certificates >/dev/null 2>&1
done
umask 077
echo secret >password
echo wrong >wrong-password
cp company.yaml company.start

fail() {
    printf 'mail: %s\n' "$1" >&2
    exit 1
}

# The company file with a server: SECURITY PORT PASSWORD_FILE CA_FILE
firm() {
    { cat company.start; echo "mail: { from: records@tern-and-tide.example, server: localhost, security: $1, port: $2, user: office, password_file: $3${4:+, ca_file: $4} }"; } >company.yaml
}

# Sends everything by a log: LOG EXIT WORDS_WANTED
send() {
    local status=0
    "$decant" mail */job.yaml --documents certificates --send --log "$1" >said 2>&1 || status=$?
    [ $status = "$2" ] || { cat said; fail "exit $status, not $2"; }
    grep -q "$3" said || { cat said; fail "'$3' is not said"; }
}

jobs=$(ls -d */job.yaml | wc -l)
for server in aiosmtpd smtp-server; do
    for security in starttls tls; do
        box=$work/$server-$security
        mkdir "$box"
        if [ $server = aiosmtpd ]; then
            coproc "$python" -W ignore "$here/mailserver.py" "$box" $security 2>"$box/said"
        else
            cp "$work/aiosmtpd-$security"/{ca,server}.pem "$box"
            coproc node "$here/mailserver.mjs" "$modules" "$box" $security 2>"$box/said"
        fi
        running=$COPROC_PID
        hold=${COPROC[1]}
        for _ in $(seq 100); do [ -s "$box/port" ] && break; sleep 0.1; done
        [ -s "$box/port" ] || { cat "$box/said"; fail "$server does not listen"; }
        port=$(cat "$box/port")
        firm $security "$port" wrong-password "$box/ca.pem"
        send "$box/log" 1 'does not accept the user and password: 535'
        firm $security "$port" password ""
        send "$box/log" 1 'is not accepted: UnknownIssuer'
        [ ! -e "$box/001.eml" ] || fail "$server was sent something"
        firm $security "$port" password "$box/ca.pem"
        send "$box/log" 0 ': sent (250'
        send "$box/log" 0 'sent already'
        [ "$(ls "$box"/*.eml | wc -l)" = "$jobs" ] || fail "$server took $(ls "$box"/*.eml | wc -l) messages, not $jobs"
        "$python" "$here/mailread.py" certificates "$box"/*.eml
        # closing its standard input ends it
        eval "exec $hold>&-"
        wait "$running" || fail "$server ended badly"
    done
done
"$decant" mail */job.yaml --documents certificates --drafts drafts --log none >/dev/null
"$python" "$here/mailread.py" certificates drafts/*.eml
# what is read back was really looked at
sed 's/^JVBERi0/JVBERi1/' drafts/2026-0420-mail.eml >drafts/spoilt.eml
! "$python" "$here/mailread.py" certificates drafts/spoilt.eml >/dev/null 2>&1 || fail "a spoilt attachment was not noticed"
echo "mail: $jobs certificates through two servers, each once, and as drafts"
