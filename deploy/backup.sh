#!/bin/sh
# Backs a practice up while its service runs: the store, the key file, the spool and its own rungs.
#
#   backup.sh FOLDER-OF-DAYRUNG BACKUP-FILE [PASSPHRASE-FILE]
#
# The file appears when it has been written, read again and opened with its key. With a passphrase
# (a file that holds one) it is sealed by GnuPG; without, whoever has it can read everything, since
# it holds the key where the key file is in use. DAYRUNG_DATABASE names a store that is elsewhere.
set -eu
umask 077
home=$1
backup=$2
DAYRUNG_HOME=$home exec "${DAYRUNG_PYTHON:-/opt/dayrung/bin/python}" \
    -c 'from bot.cli.start import main; main()' backup "$backup" ${3:+--passphrase-file "$3"}
