#!/usr/bin/env bash
# Everything that tallyhand needs on Debian or Ubuntu: system packages, a virtual environment in
# .venv, the program in it. Run again at any time; what is there already is left alone.
#   bash config/install.sh [-y | -n] [test]
#     -y    install every system package that is missing, without asking
#     -n    install none but those without which the program can't be built
#     test  add what the tests need
# It asks before it installs system packages. Where there is no terminal to ask on, it is as with -y.
# Who may not install any is told what to ask the administrator for; the rest goes on without.
# Python packages come at the versions in config/program.lock (or, for the tests,
# config/requirements.lock), and only when their hashes are those written there.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

answer=ask extra=
for word in "$@"; do
    case $word in
    -y | --yes) answer=yes ;;
    -n | --no) answer=no ;;
    test) extra=test ;;
    *)
        echo "usage: bash config/install.sh [-y | -n] [test]; there is no ${word@Q}" >&2
        exit 2
        ;;
    esac
done
[ "$answer" != ask ] || [ -t 0 ] || answer=yes

# missing FILE GROUP: the packages of a group that are not here; GROUP "" is a file without groups.
missing() {
    awk -v group="$2" '/^#/ {next} /^\[/ {here = substr($1, 2, length($1) - 2); next}
                       here == group {print $1}' "$1" |
        while read -r package; do
            dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
                echo "$package"
        done
}

# consent WHAT PACKAGES: whether these may be installed.
consent() {
    [ "$answer" = ask ] || { [ "$answer" = yes ]; return; }
    local said
    echo "Not here: $2"
    echo "  for $1."
    read -rp "Install them with apt-get? [Y/n] " said || said=n
    case $said in "" | y | Y | yes | Yes) ;; *) return 1 ;; esac
}

# may_sudo: whether this user can install packages: without a password, or asked for one here.
may_sudo() {
    command -v sudo >/dev/null || return 1
    sudo -n true 2>/dev/null || { [ -t 0 ] && sudo -v; }
}

ask_the_administrator() {
    echo "You may not install system packages here. Ask the administrator for this, once:"
    echo "    apt-get install --no-install-recommends $*"
    echo "Going on with what can be done without them."
}

system_packages() {
    local wanted=() group lacking
    for group in needed sound paper; do
        lacking=$(missing config/packages.txt "$group" | xargs)
        [ -n "$lacking" ] || continue
        if consent "$(sed -n "s/^\[$group\] //p" config/packages.txt)" "$lacking"; then
            wanted+=($lacking)
        elif [ "$group" = needed ]; then
            if [ "$answer" = no ]; then
                wanted+=($lacking)
            else
                echo "The program can't be installed without these; nothing was." >&2
                exit 1
            fi
        else
            echo "Left out: $lacking"
        fi
    done
    [ "$extra" != test ] || wanted+=($(missing tests/packages.txt ""))
    [ ${#wanted[@]} -gt 0 ] || return 0
    local as_root=(env DEBIAN_FRONTEND=noninteractive)
    if [ "$(id -u)" != 0 ]; then
        if ! may_sudo; then
            ask_the_administrator "${wanted[@]}"
            return 0
        fi
        as_root=(sudo "${as_root[@]}")
    fi
    echo "Installing system packages, a few minutes on a slow line: ${wanted[*]}"
    "${as_root[@]}" apt-get update -qq
    # Its hundreds of lines would hide everything else; what fails is still told.
    "${as_root[@]}" apt-get install -yqq --no-install-recommends -o Dpkg::Use-Pty=0 \
        "${wanted[@]}" >/dev/null
}

if command -v apt-get >/dev/null; then
    system_packages
else
    echo "No apt-get here: install by hand what these Debian packages hold:" \
        "$(grep -hv '^[#[]' config/packages.txt | xargs)" >&2
fi

python=${PYTHON:-python3}
if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    echo "tallyhand needs Python 3.11 or newer; set PYTHON=/path/to/it (found: $("$python" -V 2>&1))" >&2
    exit 1
fi
if ! "$python" -c 'import sys; sys.exit(sys.version_info >= (3, 15))'; then
    echo "Python $("$python" -c 'import platform; print(platform.python_version())') is newer than those" \
        "that tallyhand was tried with (3.11 to 3.14). What has no build for it is left out below." >&2
fi
if [ ! -x .venv/bin/python ] && ! "$python" -m venv .venv >/dev/null 2>&1; then
    rm -rf .venv
    echo "Python has no environments here: install python3-venv (Debian), or ask the administrator" \
        "for it, then run this again" >&2
    exit 1
fi

# editable: whether the program in .venv is this checkout itself, as those have it who work on it.
editable() {
    .venv/bin/python - <<'PYTHON'
import json, sys
from importlib.metadata import PackageNotFoundError, distribution
try:
    told = distribution("tallyhand").read_text("direct_url.json") or "{}"
except PackageNotFoundError:
    sys.exit(1)
sys.exit(not json.loads(told).get("dir_info", {}).get("editable"))
PYTHON
}

if [ "$extra" != test ] && editable; then
    echo "tallyhand in .venv is this checkout itself (editable): left as it is"
    exit 0
fi
pip=(.venv/bin/python -m pip install --quiet --disable-pip-version-check)

# locked LOCK WHAT...: everything at the versions and hashes of that file, then the program.
locked() {
    local lock=$1
    shift
    # What builds comes first: pip would otherwise fetch a builder of its own choice.
    "${pip[@]}" --require-hashes --requirement config/build.lock &&
        "${pip[@]}" --require-hashes --no-build-isolation --requirement "$lock" &&
        "${pip[@]}" --no-build-isolation --no-deps "$@"
}

# needs: what the program needs, a line each; first those without which nothing of it works.
needs() {
    .venv/bin/python - <<'PYTHON'
import re, tomllib
core = ("platformdirs", "filelock", "tomlkit", "num2words", "segno", "wcwidth")
with open("pyproject.toml", "rb") as file:
    lines = tomllib.load(file)["project"]["dependencies"]
for line in sorted(lines, key=lambda line: re.match(r"[\w-]+", line)[0] not in core):
    print("core" if line.startswith(core) else "device", line)
PYTHON
}

# one_by_one: each package by itself, and the program also where one can't be had: no device that
# is missing keeps it from being installed.
one_by_one() {
    local kind what out=()
    while read -r kind what; do
        if ! "${pip[@]}" "$what" >/dev/null 2>&1; then
            [ "$kind" = device ] || { "${pip[@]}" "$what" || return 1; }
            out+=("${what%%[>=<;]*}")
        fi
    done < <(needs)
    "${pip[@]}" --no-deps . || return 1
    [ ${#out[@]} = 0 ] || echo "Left out, since they can't be had for this Python on this machine:" \
        "${out[*]}. What works without them: .venv/bin/tallyhand doctor" >&2
}

echo "Installing tallyhand into .venv, a minute or two"
failed() {
    echo "tallyhand could not be installed; the lines above say why. Is there a network? Then run this" \
        "again; or set PYTHON=/path/to a Python from 3.11 to 3.14" >&2
    exit 1
}
if [ "$extra" = test ]; then
    if [ "$(uname -sm)" = "Linux x86_64" ]; then
        locked config/requirements.lock --editable . || failed
    else
        "${pip[@]}" --editable ".[test]" || failed
    fi
elif [ "$(uname -sm)" = "Linux x86_64" ] &&
    .venv/bin/python -c 'import sys; sys.exit(sys.version_info >= (3, 15))'; then
    locked config/program.lock . || failed
else
    echo "The lock files are for Linux on x86_64 and the Pythons that were tried: here the newest" \
        "versions that fit are taken." >&2
    # What builds comes first, and once: pip would fetch it anew for each package that comes as source.
    once=()
    "${pip[@]}" hatchling setuptools wheel >/dev/null 2>&1 && once=(--no-build-isolation)
    "${pip[@]}" "${once[@]}" . 2>/dev/null || one_by_one || failed
fi
# Compiled once here, also where the environment forbids it: a start then takes half the time.
.venv/bin/python -m compileall -q assistant solver
