#!/usr/bin/env bash
# Installs what is missing and starts the demo: a pinion of 21 teeth for an old cider mill.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
bash config/install.sh
exec .venv/bin/tallyhand run config/jobs/pinion.toml "$@"
