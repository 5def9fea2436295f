# Sourced by deploy/demo and deploy/test: makes .venv in the checkout and installs into it what is not there yet.
# shellcheck shell=bash

here=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
venv="$here/.venv"

say() { printf 'coldberth: %s\n' "$*" >&2; }

can_apt() { [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; }

# install_packages PACKAGE...: by apt, where we may.
install_packages() {
    say "installing $* by apt"
    apt-get update -qq >&2 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >&2
}

find_python() {
    local name
    for name in python3 python3.13 python3.12 python3.11 /usr/bin/python3; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
    say "Python 3.11 or later is needed; on Debian 12 and later: apt-get install python3 python3-venv"
    return 1
}

make_venv() {
    [ -x "$venv/bin/python" ] && "$venv/bin/python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && return
    local python
    python=$(find_python) || return 1
    say "making $venv with $python"
    "$python" -m venv --clear "$venv" >/dev/null 2>&1 && return
    if can_apt; then
        install_packages python3-venv && "$python" -m venv --clear "$venv" && return
    fi
    rm -rf "$venv"
    say "Python's venv module is missing. As root: apt-get install python3-venv; then run this again."
    return 1
}

# install_into_venv EXTRAS: the project, editable, with its extras; at once where nothing has changed since last time.
install_into_venv() {
    make_venv || return 1
    local stamp="$venv/installed${1:+-$1}" wanted
    wanted=$(sha256sum <"$here/pyproject.toml")
    [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$wanted" ] && return
    say "installing what the project needs (a few minutes the first time)"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --editable "$here${1:+[$1]}" >&2 || {
        say "pip could not install; its message stands above. Is the package index reachable?"
        return 1
    }
    printf '%s\n' "$wanted" >"$stamp"
}
