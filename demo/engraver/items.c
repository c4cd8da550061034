#include "items.h"

#include <stdio.h>
#include <string.h>

#define ALONE 1, 1

const item ITEMS[] = {
    {"K-001", "single", 1, 4, ALONE, EARLY, 0, 0, "PORT SORREL", "14 MR 62", {0}, 0},
    {"K-002", "single", 2, 9, ALONE, EARLY, 0, 7, NULL, NULL, {0}, 0},
    {"K-003", "single", 5, 3, ALONE, LATE, 0, 0, "WHIMBREL BAY", "2 AU 66", {0}, 2},
    {"K-004", "single", 5, 7, ALONE, EARLY, 0, 12, NULL, NULL, {0}, 1},
    {"K-005", "single", 9, 4, ALONE, LATE, 0, 0, "LOW TARN", "30 NO 67", {0}, 2},
    {"K-006", "single", 9, 4, ALONE, EARLY, 0, 7, NULL, NULL, {0}, 0},
    {"K-007", "single", 2, 2, ALONE, EARLY, 0, 0, "PORT SORREL", "9 DE 61", {0}, 1},
    {"K-008", "single", 8, 7, ALONE, LATE, 0, 31, NULL, NULL, {0}, 2},
    {"K-009", "single", 12, 5, ALONE, LATE, SELVEDGE_BOTTOM, 0, NULL, NULL, {0}, 1},
    {"K-010", "single", 4, 1, ALONE, EARLY, SELVEDGE_LEFT, 0, "ST AVEL", "21 JY 63", {0}, 0},
    {"K-011", "single", 6, 3, ALONE, LATE, 0, 12, NULL, NULL, {0}, 2},
    {"K-012", "pair", 8, 6, 1, 2, LATE, 0, 0, "WHIMBREL BAY", "11 OC 66", {0}, 2},
    {"K-013", "block", 3, 5, 2, 2, EARLY, 0, 0, NULL, NULL, {0}, 0},
    {"K-014",
     "cover",
     2,
     9,
     ALONE,
     EARLY,
     0,
     7,
     "PORT SORREL",
     "3 FE 62",
     {"Mrs Adela Thornwick", "Heron Cottage", "Whimbrel Bay", "Sorrel Islands"},
     0},
    {"K-015",
     "cover",
     6,
     10,
     ALONE,
     LATE,
     0,
     0,
     "LOW TARN",
     "18 JA 68",
     {"The Harbour Clerk", "Customs Stair", "Port Sorrel", NULL},
     2},
    {"K-016",
     "cover",
     4,
     8,
     ALONE,
     EARLY,
     0,
     12,
     "ST AVEL",
     "27 SP 62",
     {"Tobias Marlpit Esq", "The Lamp House", "Low Tarn", "By packet"},
     1},
    {"K-017",
     "cover",
     7,
     5,
     ALONE,
     LATE,
     0,
     0,
     "WHIMBREL BAY",
     "6 MY 66",
     {"Miss Ottoline Fenn", "Schoolhouse Lane", "St Avel", NULL},
     1},
    {"K-018", "piece", 1, 7, ALONE, EARLY, 0, 0, "PORT SORREL", "25 JU 62", {0}, 0},
    {"K-019", "single", 10, 8, ALONE, LATE, 0, 31, NULL, NULL, {0}, 2},
    {"K-020", "single", 2, 9, ALONE, LATE, 0, 0, "ST AVEL", "8 AP 67", {0}, 2},
    {"K-021", "single", 11, 6, ALONE, EARLY, 0, 0, NULL, NULL, {0}, 1},
    {"K-022", "single", 12, 10, ALONE, LATE, 0, 7, NULL, NULL, {0}, 1},
    {"K-023", "single", 3, 10, ALONE, EARLY, 0, 0, "LOW TARN", "16 FE 63", {0}, 0},
    {"K-024", "single", 7, 8, ALONE, EARLY, 0, 12, NULL, NULL, {0}, 1},
};
const size_t ITEM_COUNT = sizeof ITEMS / sizeof *ITEMS;

/* Every item has a front and a back; these have a detail too, and one of them was photographed. */
static const int DETAILS[] = {1, 2, 3, 5, 6, 8, 12, 14, 15, 16, 17, 18};

bool item_is_cover(const item *it) {
    return strcmp(it->kind, "cover") == 0;
}

scan scan_at(size_t number) {
    if (number >= 2 * ITEM_COUNT) {
        const item *of = ITEMS + DETAILS[number - 2 * ITEM_COUNT] - 1;
        if (strcmp(of->kind, "piece") == 0)
            return (scan){of, PHOTOGRAPH, AS_JPEG};
        return (scan){of, DETAIL, number % 3 == 0 ? AS_PNG : AS_JPEG};
    }
    const item *of = ITEMS + number / 2;
    if (number % 2)
        return (scan){of, BACK, item_is_cover(of) ? AS_JPEG : AS_PNG};
    if (number / 2 % 6 == 1)
        return (scan){of, FRONT, AS_TIFF};
    return (scan){of, FRONT, number / 2 % 6 == 4 ? AS_PNG : AS_JPEG};
}

void scan_name(const scan *s, char *out, size_t size) {
    static const char *const sides[] = {"front", "back", "detail", "photograph"};
    static const char *const endings[] = {"jpg", "png", "tif"};
    const char *cover = item_is_cover(s->of) ? "cover " : "";
    snprintf(out, size, "%s %s%s.%s", s->of->label, cover, sides[s->side], endings[s->kind]);
}
