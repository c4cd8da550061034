#include "lists.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "die.h"
#include "noise.h"
#include "paper.h"

static FILE *list_open(const char *folder, const char *name) {
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return fopen(path, "w");
}

static bool list_close(FILE *file) {
    bool good = !ferror(file);
    return fclose(file) == 0 && good;
}

/* ---- the plate */

static void write_positions(FILE *out, const plate_mark *mark) {
    if (!mark->row)
        fprintf(out, " \"positions=column %d\"", mark->column);
    else if (!mark->column)
        fprintf(out, " \"positions=row %d\"", mark->row);
    else
        fprintf(out, " positions=R%d/%d", mark->row, mark->column);
}

static void write_mark(FILE *out, const plate_mark *mark) {
    fputs("enter mark plate=1", out);
    write_positions(out, mark);
    fprintf(out, " appearance=%s origin=%s", mark->appearance, mark->origin);
    if (mark->cause)
        fprintf(out, " cause=%s", mark->cause);
    if (mark->name)
        fprintf(out, " \"name=%s\"", mark->name);
    fprintf(out, " x=%d y=%d spread=6 visibility=%d", mark->x, mark->y, mark->visibility);
    if (mark->late_only)
        fputs(" first_state=late", out);
    if (mark->note)
        fprintf(out, " \"note=%s\"", mark->note);
    fputc('\n', out);
}

static bool write_marks(const char *folder) {
    FILE *out = list_open(folder, "marks.txt");
    if (!out)
        return false;
    fputs("enter design label=KF title=Kingfisher \"authority=Sorrel Islands\" denomination=2d "
          "\"colour=sea-green\""
          " issued=1861-11-02 \"method=line-engraved\" \"printer=Tarn and Pellow\" width_um=18000 "
          "height_um=22000\n"
          "enter plate label=1 design=KF rows=12 columns=10 numbering=across pitch_x_um=20000 "
          "pitch_y_um=24000\n"
          "enter plate_state plate=1 name=early order=1 from=1861-11 to=1864\n"
          "enter plate_state plate=1 name=late order=2 from=1865-02 \"note=Recut in places, one position "
          "entered"
          " afresh, a crack spreading\"\n",
          out);
    for (size_t i = 0; i < PLATE_MARK_COUNT; i++)
        write_mark(out, PLATE_MARKS + i);
    return list_close(out);
}

/* ---- the items */

static void stamp_name(const item *of, int row, int column, char *out, size_t size) {
    if (of->rows * of->columns == 1)
        snprintf(out, size, "%s", of->label);
    else
        snprintf(out, size, "%s.%d", of->label, row * of->columns + column + 1);
}

static void write_selvedge(FILE *out, unsigned selvedge) {
    static const char *const sides[] = {"left", "right", "top", "bottom"};
    const char *before = " selvedge=";
    for (int side = 0; side < 4; side++) {
        if (selvedge & 1U << side) {
            fprintf(out, "%s%s", before, sides[side]);
            before = ",";
        }
    }
}

static void write_stamps(FILE *out, const item *of) {
    static const char *const shades[] = {"deep sea-green", "sea-green", "pale sea-green"};
    for (int row = 0; row < of->rows; row++) {
        for (int column = 0; column < of->columns; column++) {
            char name[32];
            stamp_name(of, row, column, name, sizeof name);
            bool entered = row + column > 0; /* the first stamp came with its item */
            if (entered)
                fprintf(out, "enter stamp item=%s", of->label);
            else if (of->rows * of->columns > 1)
                fprintf(out, "revise %s", of->label);
            else
                fprintf(out, "revise %s", name);
            fprintf(out, " design=KF \"colour=%s\" \"perforation=14\"", shades[of->shade]);
            if (of->rows * of->columns > 1)
                fprintf(out, " row=%d column=%d", row + 1, column + 1);
            write_selvedge(out, of->selvedge);
            fputc('\n', out);
        }
    }
}

static void write_marking(FILE *out, const item *of) {
    if (of->obliterator)
        fprintf(out, "enter marking item=%s kind=obliterator number=%d colour=black\n", of->label,
                of->obliterator);
    if (!of->town)
        return;
    static const char *const months[] = {"JA", "FE", "MR", "AP", "MY", "JU",
                                         "JY", "AU", "SP", "OC", "NO", "DE"};
    int day = 0, year = 0, month = 0;
    char name[3] = "";
    sscanf(of->date, "%d %2s %d", &day, name, &year);
    while (month < 11 && strcmp(months[month], name) != 0)
        month++;
    fprintf(
        out,
        "enter marking item=%s kind=postmark \"town=%s\" \"text=%s\" on=18%02d-%02d-%02d dated_by=postmark\n",
        of->label, of->town, of->date, year, month + 1, day);
}

static void write_item(FILE *out, const item *of, size_t number) {
    if (item_is_cover(of))
        fprintf(out, "revise %s kind=%s holding=owned \"addressee=%s\" \"destination=%s\"", of->label,
                of->kind, of->address[0], of->address[of->address[3] && number != 15 ? 2 : 1]);
    else
        fprintf(out, "revise %s kind=%s holding=owned", of->label, of->kind);
    fprintf(out, " \"storage=Cabinet B, tray %zu\" cost_minor=%zu currency=XXX", number / 6 + 1,
            4500 + number * 1375 % 9000);
    if (number == 7) /* as an old list has it: rows by columns; a spreadsheet program would work it out */
        fputs(" \"note==12*10\"", out);
    fputc('\n', out);
    write_stamps(out, of);
    write_marking(out, of);
}

static bool write_items(const char *folder) {
    FILE *out = list_open(folder, "items.txt");
    if (!out)
        return false;
    for (size_t i = 0; i < ITEM_COUNT; i++)
        write_item(out, ITEMS + i, i);
    return list_close(out);
}

/* ---- what is to be seen */

/* Is the place on paper, away from the teeth? */
static bool on_paper(const item *of, int row, int column, const plate_mark *mark) {
    outline o = outline_of(of);
    float x = (float)mark->x * DIE_WIDTH / 1000 + (float)(column * PITCH_X);
    float y = (float)mark->y * DIE_HEIGHT / 1000 + (float)(row * PITCH_Y);
    return outline_depth(&o, x, y) > 4;
}

static void write_seen(FILE *out, const item *of, int row, int column, dice *d) {
    char name[32];
    stamp_name(of, row, column, name, sizeof name);
    for (size_t i = 0; i < PLATE_MARK_COUNT; i++) {
        const plate_mark *mark = PLATE_MARKS + i;
        /* Everybody overlooks something, and measures a little off. */
        bool noticed = dice_unit(d) * 100 < (float)mark->visibility;
        int dx = (int)roundf(dice_between(d, -4, 4)), dy = (int)roundf(dice_between(d, -4, 4));
        if (noticed && plate_mark_is_at(mark, of->row + row, of->column + column, of->state) &&
            on_paper(of, row, column, mark))
            fprintf(out, "observe %s appearance=%s x=%d y=%d\n", name, mark->appearance, mark->x + dx,
                    mark->y + dy);
    }
}

static bool write_observations(const char *folder) {
    FILE *out = list_open(folder, "observations.txt");
    if (!out)
        return false;
    dice d = {4711, 0};
    for (size_t i = 0; i < ITEM_COUNT; i++)
        for (int row = 0; row < ITEMS[i].rows; row++)
            for (int column = 0; column < ITEMS[i].columns; column++)
                write_seen(out, ITEMS + i, row, column, &d);
    return list_close(out);
}

static bool write_places(const char *folder) {
    FILE *out = list_open(folder, "places.txt");
    if (!out)
        return false;
    for (size_t i = 0; i < ITEM_COUNT; i++) {
        const item *of = ITEMS + i;
        for (int row = 0; row < of->rows; row++) {
            for (int column = 0; column < of->columns; column++) {
                char name[32];
                stamp_name(of, row, column, name, sizeof name);
                fprintf(out, "%s %d %s\n", name, (of->row + row - 1) * PLATE_COLUMNS + of->column + column,
                        of->state == LATE ? "late" : "early");
            }
        }
    }
    return list_close(out);
}

bool lists_write(const char *folder) {
    return write_marks(folder) && write_items(folder) && write_observations(folder) && write_places(folder);
}
