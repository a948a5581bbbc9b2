#!/usr/bin/env bash
# Installs what is missing and runs every check: style, types, tests.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
bash config/install.sh -y test
.venv/bin/ruff check .
.venv/bin/ruff format --check .
.venv/bin/mypy
exec .venv/bin/python -m pytest "$@"
