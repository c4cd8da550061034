/* What people type for a date -> EDTF. The forms are listed in spec/dates.md. */
#include "base/edtf.h"
#include "base/edtf_words.h"
#include "base/error.h"
#include "base/text.h"

#define TOKENS_MOST 24
#define TYPED_MOST 200

/* One date, perhaps without what the other end of a range says. */
typedef struct part {
    bool has_year;
    int year;
    unsigned unknown; /* digits of the year that are X */
    int century;      /* 19: 1801 to 1900 */
    int month, season, day;
    int bare; /* a number of one or two digits alone: a day, or the end of "1861-62" */
    bool about, perhaps;
} part;

typedef struct reader {
    gl_typed_token tokens[TOKENS_MOST];
    size_t count;
    const char *trouble, *remedy; /* static text; NULL: not understood */
} reader;

static bool refuse(reader *r, const char *trouble, const char *remedy) {
    if (!r->trouble) {
        r->trouble = trouble;
        r->remedy = remedy;
    }
    return false;
}

static const char look_again[] = "Look at the day, the month and the order of the dates";
static const char four_digits[] = "Write the year with four digits: 14 Mar 1860";

/* ------------------------------------------------------------------------------------- one date's shape */

/* A date's tokens as letters (shape_letter), and what each says: y year, m month, s season, d day, n a number
 * that the other end of a range explains, a and b day and month in unknown order, c century, ! a year that is
 * too short, any other nothing. What parts the words of a date with a month's name is left out before. */
static const struct {
    const char *shape, *means;
} shapes[] = {
    {"Y", "y"},         {"X", "y"},         {"D", "y"},         {"oC", "c."},       {"MY", "my"},
    {"YM", "ym"},       {"SY", "sy"},       {"YS", "ys"},       {"nMY", "dmy"},     {"oMY", "dmy"},
    {"MnY", "mdy"},     {"MoY", "mdy"},     {"YMn", "ymd"},     {"YMo", "ymd"},     {"nRY", "dmy"},
    {"Y-n-n", "y-m-d"}, {"Y/n/n", "y/m/d"}, {"Y.n.n", "y.m.d"}, {"n.n.Y", "A.B.y"}, {"n/n/Y", "a/b/y"},
    {"n-n-Y", "a-b-y"}, {"Y-n", "y-m"},     {"n/Y", "m/y"},     {"n.Y", "m.y"},     {"n-Y", "m-y"},
    {"n", "n"},         {"o", "d"},         {"M", "m"},         {"S", "s"},         {"nM", "dm"},
    {"oM", "dm"},       {"Mn", "md"},       {"Mo", "md"},       {"nY", "dy"},       {"oY", "dy"},
    {"nMn", "..!"},     {"Mnn", "..!"},     {"n/n/n", "....!"}, {"n.n.n", "....!"}, {"n-n-n", "....!"},
};

static char shape_letter(const gl_typed_token *token) {
    switch (token->kind) {
    case GL_TYPED_NUMBER:
        return token->digits == 4 ? 'Y' : token->digits < 3 ? 'n' : '#';
    case GL_TYPED_DECADE:
        return 'D';
    case GL_TYPED_UNKNOWN:
        return 'X';
    case GL_TYPED_ORDINAL:
        return 'o';
    case GL_TYPED_MONTH:
        return 'M';
    case GL_TYPED_ROMAN:
        return 'R';
    case GL_TYPED_SEASON:
        return 'S';
    case GL_TYPED_CENTURY:
        return 'C';
    case GL_TYPED_MARK:
        return (char)token->value;
    default:
        return '#';
    }
}

static bool set_year(reader *r, part *p, const gl_typed_token *token) {
    p->has_year = true;
    p->year = token->value;
    if (token->kind == GL_TYPED_UNKNOWN)
        p->unknown = token->digits;
    if (token->kind != GL_TYPED_DECADE)
        return true;
    p->unknown = 1;
    if (p->year % 100 == 0)
        return refuse(r, "may be ten years or a hundred",
                      "Write 180X for the ten years, 18XX for the hundred");
    return p->year % 10 == 0;
}

/* 14/3 and 3/14 can be told; 3/4 cannot. With dots, the day stands first wherever it can. */
static bool set_day_month(reader *r, part *p, int first, int second, bool dots) {
    bool month_first = first <= 12 && second > 12;
    if (!dots && first <= 12 && second <= 12 && first != second)
        return refuse(r, "day and month could be either way round", "Write the month as a word: 3 Apr 1860");
    p->day = month_first ? second : first;
    p->month = month_first ? first : second;
    return p->day >= 1 && p->month >= 1;
}

static bool set_role(reader *r, part *p, char role, const gl_typed_token *token) {
    switch (role) {
    case 'y':
        return set_year(r, p, token);
    case 'm':
        p->month = token->value;
        return p->month >= 1 && p->month <= 12; /* "1861-62" is a range */
    case 's':
        p->season = token->value;
        return true;
    case 'd':
        p->day = token->value;
        return p->day >= 1;
    case 'n':
        p->bare = token->value;
        return p->bare >= 1;
    case 'c':
        p->century = token->value;
        return true;
    case 'a':
    case 'A':
        return set_day_month(r, p, token[0].value, token[2].value, role == 'A');
    case '!':
        return refuse(r, "the year is too short", four_digits);
    default:
        return true;
    }
}

/* "14-Mar-1860", "14. Mar. 1860.": a mark between two words, or a full stop behind the last, says nothing. */
static bool only_parts(const gl_typed_token *tokens, size_t count, size_t at) {
    char mark = tokens[at].kind == GL_TYPED_MARK ? (char)tokens[at].value : '\0';
    return mark == '.' ? at > 0 : (mark == '-' || mark == '/') && at > 0 && at + 1 < count;
}

static bool read_shape(reader *r, const gl_typed_token *tokens, size_t count, part *p) {
    gl_typed_token kept[TOKENS_MOST];
    char shape[TOKENS_MOST + 1] = "";
    bool named = false;
    size_t length = 0;
    for (size_t i = 0; i < count; i++)
        named |= tokens[i].kind == GL_TYPED_MONTH || tokens[i].kind == GL_TYPED_ROMAN;
    for (size_t i = 0; i < count; i++) {
        if (named && only_parts(tokens, count, i))
            continue;
        kept[length] = tokens[i];
        shape[length++] = shape_letter(&tokens[i]);
    }
    for (size_t s = 0; s < sizeof shapes / sizeof *shapes; s++) {
        if (strcmp(shapes[s].shape, shape) != 0)
            continue;
        for (size_t i = 0; i < length; i++) {
            if (!set_role(r, p, shapes[s].means[i], &kept[i]))
                return false;
        }
        return true;
    }
    return false;
}

static bool is_mark(const gl_typed_token *token, char mark) {
    return token->kind == GL_TYPED_MARK && token->value == mark;
}

/* "about", "~", "?" … before or after a date. */
static bool qualifies(const gl_typed_token *token, part *p) {
    bool both = is_mark(token, '%');
    bool about = both || token->kind == GL_TYPED_ABOUT || is_mark(token, '~');
    bool perhaps = both || token->kind == GL_TYPED_PERHAPS || is_mark(token, '?');
    p->about |= about;
    p->perhaps |= perhaps;
    return about || perhaps;
}

static bool read_part(reader *r, const gl_typed_token *tokens, size_t count, part *p) {
    *p = (part){0};
    while (count && qualifies(&tokens[0], p))
        tokens++, count--;
    while (count && qualifies(&tokens[count - 1], p))
        count--;
    return read_shape(r, tokens, count, p);
}

/* --------------------------------------------------------------------------------------------- writing */

static bool is_whole(reader *r, const part *p) {
    if (!p->has_year)
        return refuse(r, "the year is missing", four_digits);
    return !p->day || p->month || refuse(r, "the month is missing", "Write 14 Mar 1860");
}

static void add_year(gl_buf *out, const part *p) {
    if (p->unknown)
        gl_buf_printf(out, "%0*d%.*s", (int)(4 - p->unknown), p->year / (p->unknown == 2 ? 100 : 10),
                      (int)p->unknown, "XX");
    else
        gl_buf_printf(out, "%s%04d", p->year < 0 ? "-" : "", p->year < 0 ? -p->year : p->year);
}

static void add_part(gl_buf *out, const part *p) {
    add_year(out, p);
    if (p->month || p->season)
        gl_buf_printf(out, "-%02d", p->month ? p->month : p->season);
    if (p->day)
        gl_buf_printf(out, "-%02d", p->day);
    if (p->about || p->perhaps)
        gl_buf_add_char(out, p->about ? p->perhaps ? '%' : '~' : '?');
}

/* Is it in the calendar? */
static bool exists(reader *r, const part *p) {
    gl_buf written = GL_BUF_EMPTY;
    gl_date date;
    const char *fault = NULL;
    add_part(&written, p);
    bool good = gl_edtf_parse(gl_buf_span(&written), &date, NULL, &fault);
    gl_buf_free(&written);
    return good || refuse(r, fault, look_again);
}

/* The day, month or years just outside `p`, in its own precision. */
static bool step_outside(reader *r, part *p, int direction) {
    if (p->season)
        return refuse(r, "where a season ends is not settled", "Name a month: before March 1861");
    if (p->unknown) {
        int span = p->unknown == 2 ? 100 : 10;
        p->year = direction < 0 ? p->year - 1 : p->year + span;
        p->unknown = 0;
    } else if (p->day) {
        int64_t days = gl_days_from_date(p->year, (unsigned)p->month, (unsigned)p->day) + direction, year;
        unsigned month, day;
        gl_date_from_days(days, &year, &month, &day);
        p->year = (int)year;
        p->month = (int)month;
        p->day = (int)day;
    } else if (p->month) {
        int months = p->year * 12 + p->month - 1 + direction;
        p->year = months < 0 ? -1 : months / 12;
        p->month = (months + 12) % 12 + 1;
    } else {
        p->year += direction;
    }
    return p->year <= 9999 || refuse(r, "the year is beyond 9999", four_digits);
}

/* "before", "after": outside the date; "until", "since": with it. */
static bool write_open(reader *r, const gl_typed_token *tokens, size_t count, int direction, bool outside,
                       gl_buf *out) {
    part p;
    if (!read_part(r, tokens, count, &p) || !is_whole(r, &p))
        return false;
    if (outside && (!exists(r, &p) || !step_outside(r, &p, direction)))
        return false;
    if (direction < 0)
        gl_buf_add_text(out, "../");
    add_part(out, &p);
    if (direction > 0)
        gl_buf_add_text(out, "/..");
    return true;
}

static bool write_single(reader *r, const gl_typed_token *tokens, size_t count, gl_buf *out) {
    part p;
    if (!read_part(r, tokens, count, &p))
        return false;
    if (p.century && p.century <= 99) {
        part from = {.year = (p.century - 1) * 100 + 1, .about = p.about, .perhaps = p.perhaps}, to = from;
        to.year = p.century * 100;
        add_part(out, &from);
        gl_buf_add_char(out, '/');
        add_part(out, &to);
        return true;
    }
    if (!is_whole(r, &p))
        return false;
    add_part(out, &p);
    return true;
}

/* --------------------------------------------------------------------------------------------- ranges */

static bool is_bare_year(const part *p) {
    return p->has_year && !p->unknown && !p->month && !p->season;
}

/* "14-16 March 1860", "March to May 1860", "March 14 to 16, 1860", "1861-62". */
static void complete(part *from, part *to) {
    if (to->bare && is_bare_year(from) && to->bare > from->year % 100) {
        to->has_year = true;
        to->year = from->year - from->year % 100 + to->bare;
        to->bare = 0;
    }
    if (from->bare && to->day) {
        from->day = from->bare;
        from->bare = 0;
    }
    if (from->day && !from->month)
        from->month = to->month;
    if (to->day && !to->month)
        to->month = from->month;
    if (!from->has_year && to->has_year && !to->unknown) {
        from->has_year = true;
        from->year = to->year;
    }
}

/* One qualification, said before the first or after the last date, is meant for both. */
static void share_qualification(part *from, part *to) {
    bool from_says = from->about || from->perhaps, to_says = to->about || to->perhaps;
    const part *says = from_says ? from : to;
    if (from_says == to_says)
        return;
    from->about = to->about = says->about;
    from->perhaps = to->perhaps = says->perhaps;
}

static bool write_range(reader *r, const gl_typed_token *tokens, size_t count, size_t parting, gl_buf *out) {
    part from, to;
    if (!read_part(r, tokens, parting, &from) ||
        !read_part(r, tokens + parting + 1, count - parting - 1, &to))
        return false;
    complete(&from, &to);
    share_qualification(&from, &to);
    if (from.bare || to.bare || from.century || to.century || !is_whole(r, &from) || !is_whole(r, &to))
        return false;
    add_part(out, &from);
    gl_buf_add_char(out, '/');
    add_part(out, &to);
    return true;
}

/* How surely a token parts a range: a word, a dash that stands apart, the only dash or slash. */
static int parts_range(const reader *r, const gl_typed_token *token, bool between) {
    if (token->kind == GL_TYPED_UNTIL || token->kind == GL_TYPED_OR ||
        (between && token->kind == GL_TYPED_AND))
        return 3;
    if (!is_mark(token, '-') && !is_mark(token, '/'))
        return 0;
    if (token->spaced)
        return 2;
    unsigned same = 0;
    for (size_t i = 0; i < r->count; i++)
        same += is_mark(&r->tokens[i], (char)token->value);
    return same == 1;
}

static bool find_range(reader *r, const gl_typed_token *tokens, size_t count, bool between, gl_buf *out) {
    for (int sure = 3; sure > 0; sure--) {
        for (size_t i = 1; i + 1 < count; i++) {
            if (parts_range(r, &tokens[i], between) == sure && write_range(r, tokens, count, i, out))
                return true;
        }
    }
    return false;
}

/* ---------------------------------------------------------------------------------------- the whole text */

static bool write_suffixed(reader *r, const gl_typed_token *tokens, size_t count, gl_buf *out) {
    int direction = tokens[count - 1].kind == GL_TYPED_LATER ? 1 : -1;
    count--;
    if (count && (tokens[count - 1].kind == GL_TYPED_OR || tokens[count - 1].kind == GL_TYPED_AND))
        count--;
    return write_open(r, tokens, count, direction, false, out);
}

static bool write_tokens(reader *r, gl_buf *out) {
    const gl_typed_token *tokens = r->tokens;
    size_t count = r->count;
    bool negated = count && tokens[0].kind == GL_TYPED_NOT;
    if (negated)
        tokens++, count--;
    if (!count)
        return false;
    gl_typed_kind kind = tokens[0].kind, last = tokens[count - 1].kind;
    if (kind == GL_TYPED_BEFORE || kind == GL_TYPED_AFTER) {
        int direction = (kind == GL_TYPED_BEFORE) == !negated ? -1 : 1;
        return write_open(r, tokens + 1, count - 1, direction, !negated, out);
    }
    if (negated)
        return false;
    if (kind == GL_TYPED_UNTIL)
        return write_open(r, tokens + 1, count - 1, -1, false, out);
    if (kind == GL_TYPED_SINCE)
        return find_range(r, tokens + 1, count - 1, false, out) ||
               write_open(r, tokens + 1, count - 1, 1, false, out);
    if (kind == GL_TYPED_BETWEEN)
        return find_range(r, tokens + 1, count - 1, true, out);
    if (last == GL_TYPED_LATER || last == GL_TYPED_EARLIER)
        return write_suffixed(r, tokens, count, out);
    return write_single(r, tokens, count, out) || find_range(r, tokens, count, false, out);
}

static bool read_tokens(reader *r, gl_span typed) {
    gl_typed_token token;
    for (gl_span rest = typed;;) {
        if (!gl_typed_next(&rest, &token))
            return false;
        if (token.kind == GL_TYPED_END)
            return true;
        if (token.kind == GL_TYPED_FILLER)
            continue;
        if (r->count == TOKENS_MOST)
            return false;
        r->tokens[r->count++] = token;
    }
}

static glassine_status not_understood(const reader *r, gl_span typed, glassine_error *error) {
    gl_span shown = gl_span_part(typed, 0, TYPED_MOST);
    glassine_status status = gl_fail(error, GLASSINE_REFUSED, NULL, NULL, "date \"%.*s\": %s",
                                     GL_SPAN_ARGS(shown), r->trouble ? r->trouble : "not understood");
    gl_error_remedy(error, "%s",
                    r->remedy ? r->remedy
                              : "Write 1860, Mar 1860, 14 Mar 1860, about 1860, 1861 to 1863, before 1870, "
                                "1850s, spring 1861, or EDTF");
    return status;
}

static glassine_status check_written(reader *r, gl_span typed, gl_span written, gl_buf *out,
                                     glassine_error *error) {
    gl_date date;
    const char *fault = NULL;
    if (!gl_edtf_parse(written, &date, NULL, &fault)) {
        r->trouble = fault;
        r->remedy = look_again;
        return not_understood(r, typed, error);
    }
    gl_buf_add(out, written);
    return out->failed ? gl_fail_memory(error) : GLASSINE_OK;
}

glassine_status gl_edtf_from_typed(gl_span typed, gl_buf *out, glassine_error *error) {
    reader r = {.count = 0};
    gl_date date;
    gl_span text = gl_text_trim(typed);
    if (gl_edtf_parse(text, &date, NULL, NULL)) {
        gl_buf_add(out, text);
        return out->failed ? gl_fail_memory(error) : GLASSINE_OK;
    }
    if (text.length > TYPED_MOST || !read_tokens(&r, text))
        return not_understood(&r, text, error);
    gl_buf written = GL_BUF_EMPTY;
    glassine_status status = write_tokens(&r, &written)
                                 ? check_written(&r, text, gl_buf_span(&written), out, error)
                                 : not_understood(&r, text, error);
    gl_buf_free(&written);
    return status;
}
