#!/bin/sh
# Every manual page, by an independent formatter of the man macros: it must find nothing to warn about.
# usage: check_manual.sh PROGRAM GROFF
for page in '' writing reading plating together file converting format; do
    # shellcheck disable=SC2086 # no page is no argument
    text=$("$1" help --man $page) || exit 1
    told=$(printf '%s\n' "$text" | "$2" -man -Tutf8 -Kutf8 -ww -z 2>&1)
    if [ -n "$told" ]; then
        printf 'FAIL %s: %s\n' "${page:-glassine}" "$told"
        exit 1
    fi
done
