# Makes the project's virtual environment; sourced by tests/run, demo/run and .ci/run.
# shellcheck shell=bash

set -euo pipefail

# Hundreds of processes start in a run; one that may not keep what it compiled takes twice as long.
unset PYTHONDONTWRITEBYTECODE

say() { printf '%s\n' "$*" >&2; }

is_root_with_apt() { [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; }

# Installs Debian packages without a question and without starting the services in them.
apt_install() {
    local policy=/usr/sbin/policy-rc.d made=no failed=0
    if [ ! -e "$policy" ]; then
        printf '#!/bin/sh\nexit 101\n' >"$policy"
        chmod +x "$policy"
        made=yes
    fi
    {
        DEBIAN_FRONTEND=noninteractive apt-get update -qq &&
            DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
    } >/dev/null || failed=1
    [ "$made" = no ] || rm -f "$policy"
    return "$failed"
}

# Prints the first Python that is new enough.
find_python() {
    local name
    for name in python3 python3.13 python3.12 python3.11; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
    say "Python 3.11 or newer is needed, and none was found. Install it and try again."
    return 1
}

# Makes an empty environment in the folder given.
make_venv() {
    local python
    python="$(find_python)"
    rm -rf "$1"
    say "Making $1 with $("$python" --version) ..."
    "$python" -m venv "$1" >/dev/null 2>&1 && return
    if is_root_with_apt; then
        say "Installing python3-venv ..."
        apt_install python3-venv && "$python" -m venv "$1" >/dev/null && return
    fi
    rm -rf "$1"
    say "$python cannot make a virtual environment. On Debian: apt-get install python3-venv"
    return 1
}

# make_environment CHECKOUT EXTRAS: installs the project and what it needs, once.
make_environment() {
    local root="$1" extras="$2" venv="$1/.venv" constraints="$1/.ci/constraints.txt" stamp state
    stamp="$venv/installed-$extras"
    state="$root $(cat "$root/pyproject.toml" "$constraints" | cksum)"
    # The second test fails in an environment left half made, or moved with its checkout.
    if ! "$venv/bin/python" -c '' 2>/dev/null || ! grep -qsF "$venv/" "$venv/bin/pip"; then
        make_venv "$venv"
    fi
    if [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$state" ]; then
        return
    fi
    say "Installing what Steepwell needs into $venv ..."
    local pip=("$venv/bin/python" -m pip install -qq --disable-pip-version-check)
    "${pip[@]}" --constraint "$constraints" hatchling
    "${pip[@]}" --constraint "$constraints" --no-build-isolation --editable "$root[$extras]"
    printf '%s' "$state" >"$stamp"
}
