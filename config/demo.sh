#!/usr/bin/env bash
# Installs what is missing and starts the demo: a pinion of 21 teeth for an old cider mill.
#   bash config/demo.sh [-y | -n] [OPTIONS OF tallyhand run]     -y and -n as in config/install.sh
# With a head of your own in the settings it is worked out for that one.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
answer=()
case ${1:-} in -y | --yes | -n | --no)
    answer=("$1")
    shift
    ;;
esac
bash config/install.sh "${answer[@]}"
exec .venv/bin/tallyhand run config/jobs/pinion.toml --own-head "$@"
