#!/usr/bin/env bash
# Everything that tallyhand needs on Debian or Ubuntu: system packages, a virtual environment in
# .venv, the program in it. Run again at any time; what is there already is left alone.
#   bash config/install.sh [test]     "test" adds what the tests need
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
extra=${1:-}

python=${PYTHON:-python3}
if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    echo "tallyhand needs Python 3.11 or newer; set PYTHON=/path/to/it (found: $("$python" -V 2>&1))" >&2
    exit 1
fi

wanted=$(grep -hv '^#' config/packages.txt)
[ "$extra" != test ] || wanted="$wanted $(grep -hv '^#' tests/packages.txt)"
if command -v apt-get >/dev/null; then
    missing=()
    for package in $wanted; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
    done
    if [ ${#missing[@]} -gt 0 ]; then
        echo "Installing system packages: ${missing[*]}"
        as_root=(env DEBIAN_FRONTEND=noninteractive)
        [ "$(id -u)" = 0 ] || as_root=(sudo "${as_root[@]}")
        "${as_root[@]}" apt-get update -q
        "${as_root[@]}" apt-get install -yq --no-install-recommends "${missing[@]}"
    fi
else
    echo "No apt-get here: install by hand what these Debian packages hold: $wanted" >&2
fi

[ -x .venv/bin/python ] || "$python" -m venv .venv
echo "Installing tallyhand into .venv"
how=(.)
[ "$extra" != test ] || how=(--editable ".[test]")
.venv/bin/python -m pip install --quiet --disable-pip-version-check "${how[@]}"
# Compiled once here, also where the environment forbids it: a start then takes half the time.
.venv/bin/python -m compileall -q assistant solver
