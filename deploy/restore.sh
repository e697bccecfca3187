#!/bin/sh
# Brings a backup back into an empty place. Stop the service first.
#
#   restore.sh BACKUP-FILE FOLDER-OF-DAYRUNG [PASSPHRASE-FILE]
#
# Everything is proven before anything is brought: the backup's files, the store from end to end, and
# the key. DAYRUNG_DATABASE names an empty database elsewhere, DAYRUNG_KEY a key that is in no file.
set -eu
umask 077
backup=$1
home=$2
DAYRUNG_HOME=$home exec "${DAYRUNG_PYTHON:-/opt/dayrung/bin/python}" \
    -c 'from bot.cli.start import main; main()' restore "$backup" ${3:+--passphrase-file "$3"}
