/* The forms are those of "Naming Files, Paths, and Namespaces" (Microsoft Learn), section "Maximum Path
 * Length Limitation":
 * "\\?\D:\very long path", "\\?\UNC\server\share" (from memory). */
#include "unit.h"

#include <wchar.h>

#include "base/windows/long_name.h"

static void names_of_drives_and_shares_lose_their_limit(void **state) {
    (void)state;
    static const struct {
        const wchar_t *whole, *unlimited;
    } cases[] = {
        {L"C:\\stamps\\b.glassine", L"\\\\?\\C:\\stamps\\b.glassine"},
        {L"C:\\", L"\\\\?\\C:\\"},
        {L"\\\\server\\share\\b.glassine", L"\\\\?\\UNC\\server\\share\\b.glassine"},
        {L"\\\\?\\C:\\b.glassine", L"\\\\?\\C:\\b.glassine"},
        {L"\\\\?\\UNC\\server\\share\\b.glassine", L"\\\\?\\UNC\\server\\share\\b.glassine"},
        {L"\\\\.\\NUL", L"\\\\.\\NUL"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        wchar_t made[64];
        gl_windows_long_name(cases[i].whole, made);
        assert_int_equal(wcscmp(made, cases[i].unlimited), 0);
        assert_true(wcslen(made) <= wcslen(cases[i].whole) + GL_LONG_NAME_MORE);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(names_of_drives_and_shares_lose_their_limit)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
