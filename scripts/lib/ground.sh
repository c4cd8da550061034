# shellcheck shell=bash disable=SC2034
# What scripts/test and scripts/demo share. Sourced with bash, after `set -euo pipefail`.

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
cores=$(nproc)

say() { printf '%s\n' "$*"; }
stop() { printf '%s: %s\n' "${0##*/}" "$*" >&2; exit 1; }

# need WHAT…: installs what is missing. WHAT is a Debian package, or COMMAND:PACKAGE where any program of that name
# will do, whoever installed it.
need() {
    local what missing=()
    for what in "$@"; do
        case $what in
        *:*) command -v "${what%%:*}" >/dev/null || missing+=("${what#*:}") ;;
        *) dpkg-query -W -f='${db:Status-Abbrev}' "$what" 2>/dev/null | grep -q '^.i' || missing+=("$what") ;;
        esac
    done
    [ ${#missing[@]} -eq 0 ] && return
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null || stop "these packages are missing, and there is no sudo to install them with: ${missing[*]}"
        as_root=(sudo)
    fi
    say "Installing what is missing: ${missing[*]}"
    local told
    told=$({ "${as_root[@]}" apt-get update -qq &&
        "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
            apt-get install -y -qq --no-install-recommends "${missing[@]}"; } 2>&1) ||
        { printf '%s\n' "$told" | tail -n 20; stop "apt-get could not install them"; }
}

# need_for_building [WHAT…]: all that the build needs, and these.
need_for_building() {
    need "$@" cc:gcc libc6-dev cmake:cmake ninja:ninja-build pkg-config:pkg-config zlib1g-dev libdeflate-dev libssl-dev libarchive-dev \
        libjansson-dev libutf8proc-dev libjpeg-dev libpng-dev libtiff-dev libxlsxwriter-dev libexpat1-dev
}
