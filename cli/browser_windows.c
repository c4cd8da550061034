#include <windows.h>
/* After windows.h, whose types it takes. */
#include <shellapi.h>

#include "browser.h"
#include "refuse.h"

/* What the user has chosen to open pages with; BROWSER is not asked. */
glassine_status cli_browser_show(cli_pool *pool, const char *path, const char **with, glassine_error *error) {
    wchar_t name[4096], whole[4096];
    (void)pool;
    (void)error;
    *with = NULL;
    if (MultiByteToWideChar(CP_UTF8, MB_ERR_INVALID_CHARS, path, -1, name, 4096) > 0) {
        DWORD length = GetFullPathNameW(name, 4096, whole, NULL);
        /* More than 32 says that it was started. */
        if (length > 0 && length < 4096 &&
            (INT_PTR)ShellExecuteW(NULL, L"open", whole, NULL, NULL, SW_SHOWNORMAL) > 32) {
            *with = "the program for pages";
        }
    }
    return GLASSINE_OK;
}
