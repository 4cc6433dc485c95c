#!/usr/bin/env bash
# A private PostgreSQL server from the system's packages (Debian: apt-get install postgresql) for the tests
# of the ledger: in a new folder, over a socket alone, with every write synced. It is stopped at the end.
#
#   tests/ledger/postgres.sh              the tests that need a server; its exit code is theirs
#   tests/ledger/postgres.sh COMMAND …    another command, with the server named in LEVERARM_POSTGRES
#
# LEVERARM_POSTGRES_CRASH names a script that lets the server die and starts it again.
set -euo pipefail
cd "$(dirname "$0")/../.."

programs=$(find /usr/lib/postgresql /usr/pgsql-* /usr/local/pgsql -maxdepth 3 -name initdb 2> /dev/null | sort -V | tail -1 || true)
programs=$(dirname "${programs:-$(command -v initdb || true)}")
[ -x "$programs/initdb" ] || { echo 'there is no PostgreSQL server: apt-get install postgresql' >&2; exit 1; }

work=$(mktemp -d)
as=()
if [ "$(id -u)" = 0 ]; then
  # The server refuses to run as root.
  as=(runuser -u postgres --)
  chown postgres: "$work"
fi
server() { (cd "$work" && "${as[@]}" "$programs/pg_ctl" --silent -D "$work/data" "$@"); }
finish() {
  server -m immediate stop > /dev/null 2>&1 || true
  rm -rf "$work"
}
trap finish EXIT
trap 'exit 130' INT TERM

port=$((20000 + RANDOM % 40000))
(cd "$work" && "${as[@]}" "$programs/initdb" -D "$work/data" -U postgres --auth=trust --encoding=UTF8 \
  --locale=C.UTF-8 --data-checksums > "$work/initdb.log")
"${as[@]}" tee -a "$work/data/postgresql.conf" > /dev/null << CONFIGURATION
listen_addresses = ''
unix_socket_directories = '$work'
unix_socket_permissions = 0700
port = $port
fsync = on
synchronous_commit = on
full_page_writes = on
CONFIGURATION
server -w -l "$work/server.log" start > /dev/null || { cat "$work/server.log" >&2; exit 1; }

{
  echo '#!/usr/bin/env bash'
  echo "cd '$work'"
  echo "${as[*]} '$programs/pg_ctl' --silent -D '$work/data' -m immediate stop"
  # A backend that waits for the disk may outlive its parent for a moment.
  echo "for try in 1 2 3 4 5 6 7 8 9 10; do"
  echo "  ${as[*]} '$programs/pg_ctl' --silent -w -D '$work/data' -l '$work/server.log' start > /dev/null 2>&1 && exit 0"
  echo '  sleep 0.5'
  echo 'done'
  echo 'exit 1'
} > "$work/crash"
chmod +x "$work/crash"
export LEVERARM_POSTGRES="host=$work port=$port user=postgres dbname=postgres"
export LEVERARM_POSTGRES_CRASH="$work/crash"

if [ $# -gt 0 ]; then
  "$@"
else
  # The server's own death comes last, and alone: every other test would notice it.
  cargo test --release -p leverarm-ledger --test ledger -- --ignored --nocapture postgres \
    --skip server_dies --skip write_dump
  cargo test --release -p leverarm-ledger --test ledger -- --ignored --nocapture server_dies
fi
