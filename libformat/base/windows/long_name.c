#include "base/windows/long_name.h"

#include <stdbool.h>
#include <wchar.h>

static bool begins(const wchar_t *name, const wchar_t *with) {
    return wcsncmp(name, with, wcslen(with)) == 0;
}

void gl_windows_long_name(const wchar_t *whole, wchar_t *out) {
    bool as_it_is = begins(whole, L"\\\\?\\") || begins(whole, L"\\\\.\\");
    bool on_share = !as_it_is && begins(whole, L"\\\\");
    wcscpy(out, as_it_is ? L"" : on_share ? L"\\\\?\\UNC\\" : L"\\\\?\\");
    wcscat(out, on_share ? whole + 2 : whole);
}
