#!/bin/sh
# Backs up a practice on SQLite while the service runs: the store, the key and the spool.
#
#   backup.sh FOLDER-OF-DAYRUNG BACKUP-FILE.tar.gz
#
# The backup holds the key (when the key file is in use), so whoever has it can read everything.
# Keep it encrypted and away from this machine.
set -eu
umask 077
home=$1
backup=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# SQLite's own backup takes a whole, consistent copy beside a running writer; cp does not.
"${DAYRUNG_PYTHON:-python3}" - "$home/dayrung.sqlite3" "$work/dayrung.sqlite3" <<'PYTHON'
import sqlite3
import sys
from contextlib import closing

source, copy = sys.argv[1:]
with closing(sqlite3.connect(f"file:{source}?mode=ro", uri=True)) as store:
    with closing(sqlite3.connect(copy)) as target:
        store.backup(target)
        (state,) = target.execute("PRAGMA integrity_check").fetchone()
if state != "ok":
    sys.exit(f"the copy is damaged: {state}")
PYTHON

for file in key spool spool.taken spool.aside; do
    if [ -e "$home/$file" ]; then cp -p "$home/$file" "$work/$file"; fi
done
tar -C "$work" -czf "$backup.part" .
mv "$backup.part" "$backup"
