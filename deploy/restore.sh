#!/bin/sh
# Brings a backup back into an empty folder. Stop the service first.
#
#   restore.sh BACKUP-FILE.tar.gz FOLDER-OF-DAYRUNG
set -eu
umask 077
backup=$1
home=$2
if [ -e "$home/dayrung.sqlite3" ]; then
    echo "There is a store in $home already. Move it away first." >&2
    exit 1
fi
mkdir -p "$home"
tar -C "$home" -xzf "$backup"
