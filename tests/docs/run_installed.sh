#!/bin/sh
# Runs a document with what an installation into a fresh folder gives: program, library, pkg-config, CMake package.
# Before that: no link between the documents that are installed leads nowhere.
# usage: run_installed.sh BUILD LIBDIR DOCUMENT
set -eu
build=$1 libraries=$2 document=$3
stage=$(mktemp -d)
trap 'rm -rf "$stage"' EXIT
cmake --install "$build" --prefix "$stage" >/dev/null
python3 "$(dirname "$0")/check_links.py" "$stage/share/doc/glassine"
PATH=$stage/bin:$PATH
LD_LIBRARY_PATH=$stage/$libraries
PKG_CONFIG_PATH=$stage/$libraries/pkgconfig
CMAKE_PREFIX_PATH=$stage
export PATH LD_LIBRARY_PATH PKG_CONFIG_PATH CMAKE_PREFIX_PATH
python3 "$(dirname "$0")/run_docs.py" --program "$stage/bin/glassine" "$document"
