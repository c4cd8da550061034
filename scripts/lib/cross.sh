# shellcheck shell=bash disable=SC2154
# For scripts/check-portability and scripts/build-windows: Debian's libraries of another architecture, unpacked beside the system and never
# installed, and a build against them. Sourced after ground.sh.

# apt_beside FOLDER ARCHITECTURE KIND: an apt that knows only FOLDER, and Debian's packages of that KIND (deb, deb-src).
# It is used with APT_CONFIG=FOLDER/apt.conf.
apt_beside() {
    local apt=$1 architecture=$2 kind=$3
    mkdir -p "$apt"/{etc/preferences.d,etc/apt.conf.d,state/lists/partial,cache/archives/partial}
    : >"$apt/status"
    printf '%s [signed-by=/usr/share/keyrings/debian-archive-keyring.gpg] %s bookworm main\n' \
        "$kind" "${MIRROR:-http://deb.debian.org/debian}" >"$apt/etc/sources.list"
    cat >"$apt/apt.conf" <<EOF
Dir::Etc "$apt/etc"; Dir::Etc::main "none"; Dir::Etc::parts "$apt/etc/apt.conf.d";
Dir::State "$apt/state"; Dir::State::status "$apt/status"; Dir::Cache "$apt/cache";
APT::Architecture "$architecture"; APT::Architectures { "$architecture"; };
APT::Install-Recommends "false"; Debug::NoLocking "true"; APT::Sandbox::User "root";
EOF
}

# foreign_root FOLDER ARCHITECTURE: fills FOLDER/root with what the build needs, by an apt that knows only FOLDER.
foreign_root() {
    local folder=$1 architecture=$2 apt=$1/apt
    [ ! -e "$folder/complete" ] || return 0
    mkdir -p "$folder/root"
    apt_beside "$apt" "$architecture" deb
    APT_CONFIG=$apt/apt.conf apt-get update -qq >"$folder/apt.log" 2>&1 &&
        APT_CONFIG=$apt/apt.conf apt-get install -y -qq --download-only libc6-dev zlib1g-dev libssl-dev libarchive-dev \
            libjansson-dev libutf8proc-dev libjpeg-dev libpng-dev libtiff-dev libxlsxwriter-dev libexpat1-dev \
            libcmocka-dev >>"$folder/apt.log" 2>&1 || { tail "$folder/apt.log"; stop "no packages for $architecture"; }
    local package
    for package in "$apt"/cache/archives/*.deb; do
        dpkg -x "$package" "$folder/root"
    done
    # Links to /lib/… would lead out of the root.
    local link to
    while read -r link; do
        to=$(readlink "$link")
        [[ $to != /* ]] || ln -sfnr "$folder/root$to" "$link"
    done < <(find "$folder/root" -type l)
    touch "$folder/complete"
}

# cross_build FOLDER COMPILER LIBRARIES EMULATOR…: the program, the library and the unit tests, in FOLDER/build.
# LIBRARIES: the folder of Debian's libraries for that machine, below lib.
cross_build() {
    local folder=$1 compiler=$2 triplet=$3 processor=${3%%-*} libraries=$1/root/usr/lib/$3
    shift 3
    local emulator
    emulator=$(IFS=';'; printf '%s' "$*")
    PKG_CONFIG_LIBDIR=$libraries/pkgconfig:$folder/root/usr/share/pkgconfig PKG_CONFIG_SYSROOT_DIR=$folder/root \
        cmake -S "$root" -B "$folder/build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DGLASSINE_WERROR=ON \
        -DCMAKE_SYSTEM_NAME=Linux -DCMAKE_SYSTEM_PROCESSOR="$processor" -DCMAKE_C_COMPILER="$compiler" \
        -DCMAKE_SYSROOT="$folder/root" -DCMAKE_LIBRARY_ARCHITECTURE="$triplet" \
        -DCMAKE_FIND_ROOT_PATH="$folder/root" -DCMAKE_FIND_ROOT_PATH_MODE_PROGRAM=NEVER \
        -DCMAKE_FIND_ROOT_PATH_MODE_LIBRARY=ONLY -DCMAKE_FIND_ROOT_PATH_MODE_INCLUDE=ONLY \
        -DCMAKE_EXE_LINKER_FLAGS="-Wl,-rpath-link,$libraries:$folder/root/lib/$triplet" \
        -DCMAKE_CROSSCOMPILING_EMULATOR="$emulator" &&
        cmake --build "$folder/build" -j "$cores"
}
