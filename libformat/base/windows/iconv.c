/* iconv into UTF-8: of Unicode's other forms by hand, of a code page by Windows. */
#include <iconv.h>

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <windows.h>

enum { ASCII = 20127, UNIT_2 = 1, UNIT_4 = 2, MOST_UTF8 = 4 };

typedef struct known {
    const char *name;
    UINT page; /* 0: Unicode, of units… */
    uint8_t unit;
    bool big, by_mark; /* the order of their bytes; told by a byte order mark */
} known;

struct gl_posix_iconv {
    known form;
    bool begun;
};

static const known FORMS[] = {
    {"UTF-16LE", 0, UNIT_2, false, false}, {"UTF-16BE", 0, UNIT_2, true, false},
    {"UTF-16", 0, UNIT_2, false, true},    {"UTF-32LE", 0, UNIT_4, false, false},
    {"UTF-32BE", 0, UNIT_4, true, false},  {"UTF-32", 0, UNIT_4, false, true},
    {.name = "ASCII", .page = ASCII},      {.name = "US-ASCII", .page = ASCII},
    {.name = "LATIN1", .page = 28591},     {.name = "MACINTOSH", .page = 10000},
    {.name = "KOI8-R", .page = 20866},     {.name = "KOI8-U", .page = 21866},
    {.name = "SHIFT_JIS", .page = 932},    {.name = "SJIS", .page = 932},
    {.name = "GBK", .page = 936},          {.name = "EUC-KR", .page = 949},
    {.name = "BIG5", .page = 950},
};

/* "Windows-1252", "CP850", "IBM437", "ISO-8859-15": the number is the code page, or counts from one. */
static UINT page_of(const char *name) {
    static const struct {
        const char *head;
        UINT from;
    } families[] = {{"WINDOWS-", 0}, {"CP", 0}, {"IBM", 0}, {"ISO-8859-", 28590}, {"ISO8859-", 28590}};
    for (size_t i = 0; i < sizeof families / sizeof *families; i++) {
        size_t length = strlen(families[i].head);
        if (_strnicmp(name, families[i].head, length) == 0 && name[length] >= '1' && name[length] <= '9') {
            char *end;
            unsigned long number = strtoul(name + length, &end, 10);
            return *end == '\0' && number < 65000 ? families[i].from + (UINT)number : 0;
        }
    }
    return 0;
}

static bool find(const char *name, known *form) {
    for (size_t i = 0; i < sizeof FORMS / sizeof *FORMS; i++) {
        if (_stricmp(name, FORMS[i].name) == 0) {
            *form = FORMS[i];
            return form->page == 0 || IsValidCodePage(form->page);
        }
    }
    *form = (known){.page = page_of(name)};
    return form->page && IsValidCodePage(form->page);
}

iconv_t iconv_open(const char *to, const char *from) {
    known form;
    bool good = _stricmp(to, "UTF-8") == 0 && find(from, &form);
    iconv_t with = good ? malloc(sizeof *with) : NULL;
    if (!with) {
        errno = good ? ENOMEM : EINVAL;
        return (iconv_t)-1;
    }
    *with = (struct gl_posix_iconv){.form = form};
    return with;
}

int iconv_close(iconv_t with) {
    free(with);
    return 0;
}

static uint32_t unit_at(const known *form, const char *at) {
    const uint8_t *b = (const uint8_t *)at;
    if (form->unit == UNIT_2)
        return form->big ? (uint32_t)(b[0] << 8 | b[1]) : (uint32_t)(b[1] << 8 | b[0]);
    return form->big ? (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3]
                     : (uint32_t)b[3] << 24 | (uint32_t)b[2] << 16 | (uint32_t)b[1] << 8 | b[0];
}

/* The character at `at` and how many bytes it takes; 0 with errno set. */
static size_t unicode(const known *form, const char *at, size_t left, uint32_t *code) {
    size_t size = form->unit == UNIT_2 ? 2 : 4;
    errno = EINVAL;
    if (left < size)
        return 0;
    *code = unit_at(form, at);
    errno = EILSEQ;
    if (*code < 0xd800 || (*code > 0xdfff && *code <= 0x10ffff))
        return size;
    if (form->unit == UNIT_4 || *code > 0xdbff)
        return 0;
    errno = EINVAL;
    if (left < 4)
        return 0;
    uint32_t low = unit_at(form, at + 2);
    errno = EILSEQ;
    if (low < 0xdc00 || low > 0xdfff)
        return 0;
    *code = 0x10000 + ((*code & 0x3ff) << 10) + (low & 0x3ff);
    return 4;
}

static size_t of_page(UINT page, const char *at, size_t left, uint32_t *code) {
    wchar_t wide[2];
    size_t size = IsDBCSLeadByteEx(page, (BYTE)*at) ? 2 : 1;
    errno = EINVAL;
    if (left < size)
        return 0;
    int units = MultiByteToWideChar(page, MB_ERR_INVALID_CHARS, at, (int)size, wide, 2);
    errno = EILSEQ;
    if (units != 1)
        return 0;
    *code = wide[0];
    /* Bytes that these pages do not use are controls to Windows, and of what is no ASCII it takes seven bits.
     */
    bool unused = page >= 1250 && page <= 1258 && *code >= 0x80 && *code <= 0x9f;
    return unused || (page == ASCII && (unsigned char)*at >= 0x80) ? 0 : size;
}

static size_t as_utf8(uint32_t code, char *out) {
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    size_t length = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    for (size_t i = length - 1; i > 0; i--, code >>= 6)
        out[i] = (char)(0x80 | (code & 0x3f));
    out[0] = (char)((0xf00 >> length & 0xff) | code);
    return length;
}

static void take_mark(iconv_t with, char **from, size_t *left) {
    size_t size = with->form.unit == UNIT_2 ? 2 : 4;
    if (!with->begun && with->form.by_mark && *left >= size) {
        with->form.big = unit_at(&with->form, *from) != 0xfeff;
        if (unit_at(&with->form, *from) == 0xfeff) {
            *from += size;
            *left -= size;
        } else {
            with->form.big = false;
        }
    }
    with->begun = true;
}

size_t iconv(iconv_t with, char **from, size_t *left, char **to, size_t *room) {
    take_mark(with, from, left);
    while (*left) {
        uint32_t code;
        char utf8[MOST_UTF8];
        size_t size = with->form.page ? of_page(with->form.page, *from, *left, &code)
                                      : unicode(&with->form, *from, *left, &code);
        if (!size)
            return (size_t)-1;
        size_t length = as_utf8(code, utf8);
        if (length > *room) {
            errno = E2BIG;
            return (size_t)-1;
        }
        memcpy(*to, utf8, length);
        *to += length;
        *room -= length;
        *from += size;
        *left -= size;
    }
    return 0;
}
