#!/usr/bin/env bash
# Installs what is missing and runs every check: style, types, tests.
#   bash tests/run.sh [--quick | --release] [PYTEST ARGUMENTS]
#     --quick    before each commit: nothing is installed, and no test waits for a device
#     --release  before a release: what takes too long for every day (DEVELOPERS.md)
# The tests run side by side; `-n 0` at the end has them one after the other.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
lane=day
case "${1:-}" in --quick | --release) lane=${1#--} && shift ;; esac
[ "$lane" = quick ] && [ -x .venv/bin/python ] || bash config/install.sh -y test
# Meanwhile the tests are compiled once, by the other core: else each worker does it.
.venv/bin/python -m pytest -n 0 --collect-only -qq --lane "$lane" >/dev/null 2>&1 &
.venv/bin/ruff check .
.venv/bin/ruff format --check .
.venv/bin/mypy
wait
exec .venv/bin/python -m pytest -n auto --lane "$lane" "$@"
