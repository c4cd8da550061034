#include "spaces.h"

static size_t space_at(const char *text, size_t length) {
    if (length && memchr(" \t\r\n\v\f", *text, 6))
        return 1;
    if (length >= 2 && memcmp(text, "\xc2\xa0", 2) == 0)
        return 2;
    return length >= 3 && memcmp(text, "\xe2\x80\xaf", 3) == 0 ? 3 : 0;
}

glassine_span spaces_trim(glassine_span text) {
    size_t space;
    while ((space = space_at(text.text, text.length)) != 0) {
        text.text += space;
        text.length -= space;
    }
    for (size_t width = 1; width <= 3 && width <= text.length; width++) {
        if (space_at(text.text + text.length - width, width) != width)
            continue;
        text.length -= width;
        width = 0;
    }
    return text;
}
