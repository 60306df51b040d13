#!/bin/sh
# Brings this clone to the point where it can run, be tested or drive a browser; quick when it is.
#   scripts/setup.sh run       virtual environment, pinned packages, what WeasyPrint needs, web fonts
#   scripts/setup.sh dev       the same and the tools of tests and checks
#   scripts/setup.sh browser   a Chromium for the browser tests (no failure when there is none)
#   scripts/setup.sh devices   the TLS terminator that docker-compose.yml names, for the test of
#                              several devices, and what makes a browser trust it (likewise)
# System packages are installed by apt as root or with a sudo that asks no password; otherwise one
# sentence says what to install.
set -eu
cd "$(dirname "$0")/.."
venv=.venv
python=$venv/bin/python
apt_is_fresh=
if [ "$(uname)" = Darwin ]; then
    export DYLD_FALLBACK_LIBRARY_PATH=/opt/homebrew/lib:/usr/local/lib  # where Homebrew puts Pango
fi

say() { printf '%s\n' "$*" >&2; }
stop() { say "$*"; exit 1; }

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"
    elif sudo -n true 2>/dev/null; then sudo -n "$@"
    else return 1
    fi
}

apt_install() {
    command -v apt-get >/dev/null || return 1
    as_root true || return 1
    say "Installing from the system's packages: $*"
    if [ -z "$apt_is_fresh" ]; then
        quietly as_root apt-get update || return 1
        apt_is_fresh=yes
    fi
    quietly as_root env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y --no-install-recommends "$@"
}

quietly() { # shows what a command said only when it fails
    if ! said=$("$@" 2>&1); then
        say "$said"
        return 1
    fi
}

python_on_the_machine() {
    for name in ${PYTHON:-python3 python3.14 python3.13 python3.12 python3.11}; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
    stop "Tarebook needs Python 3.11 or newer: install the package python3."
}

make_venv() {
    base=$(python_on_the_machine)
    if ! "$base" -c 'import ensurepip, venv' 2>/dev/null; then
        package=$("$base" -c 'import sys; print("python%d.%d-venv" % sys.version_info[:2])')
        apt_install "$package" || stop "Please install the package $package, then say make again."
    fi
    rm -rf "$venv"
    "$base" -m venv "$venv"
}

# A stamp holds the checksum of the requirements it was made from, and where this clone lies,
# because a virtual environment cannot be moved.
fingerprint() { { pwd; cat "$@"; } | cksum; }
is_installed() { [ "$(cat "$venv/$1.stamp" 2>/dev/null)" = "$(fingerprint $2)" ]; }

install() { # name, requirement files
    is_installed "$1" "$2" && return
    [ -x "$python" ] && "$python" -m pip --version >/dev/null 2>&1 || make_venv
    say "Installing the pinned packages into $venv (about half a minute)"
    if command -v uv >/dev/null; then
        uv pip install -q --python "$python" --require-hashes $(dashed_r "$2")
    else
        "$python" -m pip install -q --disable-pip-version-check --require-hashes $(dashed_r "$2")
    fi
    fingerprint $2 >"$venv/$1.stamp"
    fingerprint requirements.txt >"$venv/run.stamp"
}
dashed_r() { for file in $1; do printf -- '-r %s ' "$file"; done; }

# Web fonts, cut from the packages: not kept in the repository, remade when packages or letters change.
need_web_fonts() {
    maker=workshop/core/paper/typefaces.py
    [ static/type/serif-600.woff2 -nt $maker ] && [ static/type/serif-600.woff2 -nt requirements.txt ] && return
    "$python" -m workshop.core.paper.typefaces static/type
}

need_pango() {
    [ -f "$venv/system.stamp" ] && return
    # Without HarfBuzz's own subsetter WeasyPrint still works, and warns that one day it will not.
    if ! can_make_pdf -W "error:HarfBuzz-Subset:DeprecationWarning"; then
        apt_install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core || true
        can_make_pdf || stop "Labels need the Pango library: install libpango-1.0-0," \
            "libpangoft2-1.0-0, libharfbuzz-subset0 and fonts-dejavu-core (on macOS: brew install" \
            "pango), then say make again."
    fi
    : >"$venv/system.stamp"
}
can_make_pdf() { "$python" "$@" -c 'import weasyprint' >/dev/null 2>&1; }

need_chromium() {
    command -v "${TAREBOOK_CHROMIUM:-chromium}" >/dev/null && return
    command -v google-chrome >/dev/null && return
    [ "$(uname)" = Linux ] || return 0
    apt_install chromium || say "No browser for the browser tests: install the package chromium."
}

# Unpacked below the virtual environment, not installed: an installed terminator would start serving.
need_terminator() {
    for wanted in caddy:caddy certutil:libnss3-tools; do
        name=${wanted%%:*} package=${wanted#*:}
        command -v "$name" >/dev/null && continue
        [ -x "$venv/devices/usr/bin/$name" ] && continue
        unpack "$package" || say "No test of several devices: install the package $package."
    done
}
unpack() { # package
    command -v apt-get >/dev/null && command -v dpkg-deb >/dev/null || return 1
    kept=$(mktemp -d)
    say "Unpacking from the system's packages: $1"
    if download "$1" "$kept" || { as_root apt-get -q update >&2 && download "$1" "$kept"; }; then
        mkdir -p "$venv/devices" && dpkg-deb -x "$kept/$1"_*.deb "$venv/devices" && done_well=yes
    fi
    rm -rf "$kept"
    [ -n "${done_well:-}" ]
}
download() { (cd "$2" && apt-get download "$1" >/dev/null 2>&1); }

case ${1:-} in
run) install run requirements.txt; need_pango; need_web_fonts ;;
dev) install dev "requirements.txt requirements-dev.txt"; need_pango; need_web_fonts ;;
browser) need_chromium ;;
devices) need_terminator ;;
*) stop "scripts/setup.sh run, dev, browser or devices" ;;
esac
