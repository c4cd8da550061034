# shellcheck shell=bash disable=SC2154
# For scripts/build-windows: the libraries for Windows, static, from Debian's source packages into FOLDER/root, each built
# once; the build against them; the installer. Sourced after ground.sh and cross.sh.

windows_packages=(jansson utf8proc expat libdeflate libjpeg-turbo libpng1.6 tiff libarchive libxlsxwriter openssl cmocka)

# windows_source FOLDER PACKAGE: prints the folder where Debian's source package lies, its patches applied.
windows_source() {
    local folder=$1 package=$2
    mkdir -p "$folder/sources/$package"
    if [ ! -e "$folder/apt/complete" ]; then
        apt_beside "$folder/apt" amd64 deb-src
        APT_CONFIG=$folder/apt/apt.conf apt-get update -qq >>"$folder/apt.log" 2>&1 || stop "no lists of sources: $folder/apt.log"
        touch "$folder/apt/complete"
    fi
    rm -rf "${folder:?}/sources/$package"/*
    (cd "$folder/sources/$package" && APT_CONFIG=$folder/apt/apt.conf apt-get source -qq "$package" >>"$folder/apt.log" 2>&1) ||
        stop "no source of $package: $folder/apt.log"
    find "$folder/sources/$package" -mindepth 1 -maxdepth 1 -type d
}

# windows_cmake FOLDER SOURCE BUILD OPTION…: configures it for Windows.
windows_cmake() {
    local folder=$1 source=$2 build=$3
    shift 3
    PKG_CONFIG_LIBDIR=$folder/root/lib/pkgconfig cmake -S "$source" -B "$build" -G Ninja \
        -DCMAKE_TOOLCHAIN_FILE="$root/cmake/mingw-w64.cmake" -DGLASSINE_WINDOWS_ROOT="$folder/root" \
        -DCMAKE_PREFIX_PATH="$folder/root" -DCMAKE_INSTALL_PREFIX="$folder/root" -DCMAKE_BUILD_TYPE=Release \
        -DBUILD_SHARED_LIBS=OFF "$@"
}

# build_with_cmake FOLDER SOURCE BUILD OPTION…
build_with_cmake() {
    windows_cmake "$@" -DBUILD_TESTING=OFF
    cmake --build "$3" -j "$cores"
    cmake --install "$3"
}

# write_pc FOLDER NAME LINK: what pkg-config is told of a library that says nothing itself.
write_pc() {
    mkdir -p "$1/root/lib/pkgconfig"
    printf 'Name: %s\nDescription: %s\nVersion: 0\nLibs: -L%s %s\nCflags: -I%s\n' \
        "$2" "$2" "$1/root/lib" "$3" "$1/root/include" >"$1/root/lib/pkgconfig/$2.pc"
}

# Debian has this one built.
build_zlib() {
    mkdir -p "$1/root/lib" "$1/root/include"
    cp /usr/x86_64-w64-mingw32/lib/libz.a "$1/root/lib/"
    cp /usr/x86_64-w64-mingw32/include/{zlib,zconf}.h "$1/root/include/"
}

build_jansson() {
    build_with_cmake "$1" "$2" "$3" -DJANSSON_BUILD_DOCS=OFF -DJANSSON_WITHOUT_TESTS=ON -DJANSSON_EXAMPLES=OFF
}

build_utf8proc() {
    build_with_cmake "$1" "$2" "$3"
    sed -i 's/ -DUTF8PROC_EXPORTS//' "$1/root/lib/pkgconfig/libutf8proc.pc"
}

# A patch of Debian's asks for the value of XML_DTD, which its CMake build defines without one.
build_expat() {
    sed -i 's/^#cmakedefine XML_DTD$/#cmakedefine XML_DTD 1/' "$2/expat/expat_config.h.cmake"
    build_with_cmake "$1" "$2/expat" "$3" -DEXPAT_SHARED_LIBS=OFF -DEXPAT_BUILD_TOOLS=OFF -DEXPAT_BUILD_EXAMPLES=OFF \
        -DEXPAT_BUILD_TESTS=OFF -DEXPAT_BUILD_DOCS=OFF "-DCMAKE_C_FLAGS=-DXML_GE=1 -DXML_STATIC"
}

build_libdeflate() {
    make -C "$2" -j "$cores" CC=x86_64-w64-mingw32-gcc-posix AR=x86_64-w64-mingw32-ar libdeflatestatic.lib
    cp "$2/libdeflatestatic.lib" "$1/root/lib/libdeflate.a"
    cp "$2/libdeflate.h" "$1/root/include/"
    write_pc "$1" libdeflate -ldeflate
}

build_libjpeg-turbo() {
    build_with_cmake "$1" "$2" "$3" -DENABLE_SHARED=OFF -DWITH_SIMD=OFF -DWITH_TURBOJPEG=OFF
}

build_libpng1.6() {
    build_with_cmake "$1" "$2" "$3" -DPNG_SHARED=OFF -DPNG_TESTS=OFF
}

build_tiff() {
    build_with_cmake "$1" "$2" "$3" -Dtiff-tools=OFF -Dtiff-tests=OFF -Dtiff-contrib=OFF -Dtiff-docs=OFF -Djbig=OFF \
        -Dlzma=OFF -Dzstd=OFF -Dwebp=OFF -Dlerc=OFF -Dcxx=OFF
}

# Its question whether zlib is a DLL wants a program run; ours is none.
build_libarchive() {
    sed -i '/^IF(ZLIB_FOUND)/,/^ENDIF(ZLIB_FOUND)/ s/IF(WIN32 AND NOT CYGWIN)/IF(FALSE)/' "$2/CMakeLists.txt"
    windows_cmake "$1" "$2" "$3" -DENABLE_OPENSSL=OFF -DENABLE_TAR=OFF -DENABLE_CPIO=OFF -DENABLE_CAT=OFF -DENABLE_TEST=OFF \
        -DENABLE_WERROR=OFF -DENABLE_LIBXML2=OFF -DENABLE_EXPAT=OFF -DENABLE_CNG=OFF -DCMAKE_C_FLAGS=-DLIBARCHIVE_STATIC
    cmake --build "$3" -j "$cores" --target archive_static
    cp "$3/libarchive/libarchive_static.a" "$1/root/lib/libarchive.a"
    cp "$2"/libarchive/archive{,_entry}.h "$1/root/include/"
    write_pc "$1" libarchive "-larchive -lz"
}

build_cmocka() {
    windows_cmake "$1" "$2" "$3" -DWITH_STATIC_LIB=ON -DWITH_EXAMPLES=OFF
    cmake --build "$3" -j "$cores" --target cmocka-static
    cp "$3/src/libcmocka-static.a" "$1/root/lib/libcmocka.a"
    cp "$2/include/cmocka.h" "$1/root/include/"
    write_pc "$1" cmocka -lcmocka
}

build_libxlsxwriter() {
    build_with_cmake "$1" "$2" "$3"
}

# Digests, Ed25519 and the lock of a key: no protocols, nothing old.
build_openssl() {
    local without=(shared tests module engine legacy sock ssl tls dtls comp cms ts ocsp cmp ct srp psk gost idea seed camellia
        aria bf cast md4 mdc2 rc2 rc4 rmd160 sm2 sm3 sm4 whirlpool dsa dh ui-console stdio)
    mkdir -p "$3"
    (cd "$3" && "$2/Configure" mingw64 --cross-compile-prefix=x86_64-w64-mingw32- "${without[@]/#/no-}" --prefix=/ &&
        make -j "$cores" build_generated libcrypto.a)
    cp "$3/libcrypto.a" "$1/root/lib/"
    cp -r "$2/include/openssl" "$1/root/include/"
    cp "$3"/include/openssl/*.h "$1/root/include/openssl/"
}

# windows_libraries FOLDER: all of them; one that is there is not built again.
windows_libraries() {
    local folder=$1 package source
    for package in zlib "${windows_packages[@]}"; do
        [ ! -e "$folder/$package.complete" ] || continue
        say "$package"
        source=
        [ "$package" = zlib ] || source=$(windows_source "$folder" "$package")
        # In the background, so that the first failure ends it: what stands in a condition goes on.
        (set -e && "build_$package" "$folder" "$source" "$folder/$package") >"$folder/$package.log" 2>&1 &
        wait $! || { tail -n 5 "$folder/$package.log"; stop "$package cannot be built for Windows: $folder/$package.log"; }
        touch "$folder/$package.complete"
    done
}

# windows_icon FOLDER: FOLDER/glassine.ico, in the sizes that Explorer asks for.
windows_icon() {
    local size pictures=()
    for size in 16 24 32 48 64 256; do
        rsvg-convert -w $size -h $size -o "$1/icon-$size.png" "$root/packaging/glassine.svg"
        [ $size -eq 256 ] || pictures+=("$1/icon-$size.png")
    done
    icotool --create --output "$1/glassine.ico" "${pictures[@]}" --raw="$1/icon-256.png"
}

# windows_licences FOLDER: FOLDER/licences, with the terms of all that is linked into the program.
windows_licences() {
    local folder=$1 package
    rm -rf "${folder:?}/licences"
    mkdir "$folder/licences"
    cp "$root/LICENSE" "$folder/licences/glassine.txt"
    cp /usr/share/doc/libz-mingw-w64-dev/copyright "$folder/licences/zlib.txt"
    cp /usr/share/doc/mingw-w64-common/copyright "$folder/licences/mingw-w64.txt"
    cp /usr/share/doc/gcc-mingw-w64-base/copyright "$folder/licences/gcc.txt"
    cp /usr/share/common-licenses/Apache-2.0 "$folder/licences/Apache-2.0.txt"
    for package in "${windows_packages[@]}"; do
        [ "$package" = cmocka ] || cp "$folder/sources/$package"/*/debian/copyright "$folder/licences/$package.txt"
    done
}

# windows_setup FOLDER: FOLDER/glassine-VERSION-setup.exe, of FOLDER/glassine.exe; prints its name.
windows_setup() {
    local folder=$1 version out
    version=$(sed -n 's/^CMAKE_PROJECT_VERSION:STATIC=//p' "$folder/build/CMakeCache.txt")
    out=$folder/glassine-$version-setup.exe
    windows_licences "$folder"
    makensis -V2 "-DVERSION=$version" "-DFOLDER=$folder" "-DOUT=$out" "$root/packaging/windows/setup.nsi" >"$folder/setup.log" 2>&1 ||
        { tail "$folder/setup.log" >&2; stop "no installer: $folder/setup.log"; }
    printf '%s\n' "$out"
}

# windows_configure FOLDER: the tree's own build, in FOLDER/build.
windows_configure() {
    windows_cmake "$1" "$root" "$1/build" -DGLASSINE_WERROR=ON -DOPENSSL_ROOT_DIR="$1/root" -DOPENSSL_USE_STATIC_LIBS=ON \
        -DGLASSINE_ICON="$1/glassine.ico"
}
