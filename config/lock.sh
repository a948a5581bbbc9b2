#!/usr/bin/env bash
# Renews the three lock files: what builds the program, what it needs, what its tests need too.
# Pins already there are kept; `bash config/lock.sh --upgrade` takes the newest of everything.
# Uses `uv` where it is installed, else fetches it into a folder that goes away again.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

uv=$(command -v uv || true)
if [ -z "$uv" ]; then
    tools=$(mktemp -d)
    trap 'rm -rf "$tools"' EXIT
    "${PYTHON:-python3}" -m venv "$tools"
    "$tools/bin/python" -m pip install --quiet --disable-pip-version-check uv
    uv=$tools/bin/uv
fi

# lock FILE WHAT SOURCE...: SOURCE is read from standard input where it is "-".
lock() {
    local file=$1 what=$2 new
    shift 2
    new=$(mktemp)
    [ ! -f "$file" ] || cp "$file" "$new"
    "$uv" pip compile "$@" "${upgrade[@]}" --quiet --universal --python-version 3.11 \
        --fork-strategy fewest --generate-hashes --no-header --no-annotate \
        --no-emit-index-url --output-file "$new"
    {
        echo "# $what"
        echo "# Each at one version and with the hashes of its files; for Python 3.11 and newer on Linux,"
        echo "# x86_64. Renew with: bash config/lock.sh"
        grep -v '^#' "$new"
    } >"$file"
    rm -f "$new"
}

upgrade=("$@")
lock config/requirements.lock "Everything that tallyhand and its tests need." pyproject.toml --extra test
lock config/program.lock "Everything that tallyhand needs to run." \
    pyproject.toml --constraints config/requirements.lock
# editables: for the tests the program is installed as it lies here.
printf 'hatchling\neditables\nsetuptools\nwheel\n' |
    lock config/build.lock "What builds tallyhand, and those of its packages that come as source." \
        - --constraints config/requirements.lock
