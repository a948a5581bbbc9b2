#!/usr/bin/env bash
# Which lines and branches of assistant/ and solver/ the tests reach, in every process that they start.
#   bash tests/cover.sh [PYTEST ARGUMENTS]
# Processes that a test kills leave no record, or half of one: that is said, and left out.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
python=.venv/bin/python
[ -x "$python" ] || python=python3
"$python" -c 'import coverage' 2>/dev/null || "$python" -m pip install --quiet --editable '.[measure]'

folder=${TALLYHAND_COVERAGE:-$(mktemp -d)}
export COVERAGE_FILE=$folder/.coverage
failed=0
"$python" -m coverage run -m pytest "$@" || failed=$?
"$python" -m coverage combine --quiet 2>&1 | grep -v -e 'data._warn' -e CoverageWarning || true
"$python" -m coverage report
echo "Kept in $folder"
exit "$failed"
