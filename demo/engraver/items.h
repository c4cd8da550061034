/* The keeper's items: where on the plate each came from (which the keeper does not know), and its scans. */
#ifndef ENGRAVER_ITEMS_H
#define ENGRAVER_ITEMS_H

#include "plate.h"

enum { SELVEDGE_LEFT = 1, SELVEDGE_RIGHT = 2, SELVEDGE_TOP = 4, SELVEDGE_BOTTOM = 8 };

typedef struct item {
    const char *label, *kind;
    int row, column;   /* of its first stamp on the plate */
    int rows, columns; /* of the multiple */
    plate_state state;
    unsigned selvedge;
    int obliterator;         /* number in the bars; 0: none */
    const char *town, *date; /* of the dated postmark, or NULL */
    const char *address[4];  /* of a cover */
    int shade;               /* 0 deep, 1 middle, 2 pale */
} item;

extern const item ITEMS[];
extern const size_t ITEM_COUNT;

typedef enum scan_side { FRONT, BACK, DETAIL, PHOTOGRAPH } scan_side;
typedef enum scan_kind { AS_JPEG, AS_PNG, AS_TIFF } scan_kind;

typedef struct scan {
    const item *of;
    scan_side side;
    scan_kind kind;
} scan;

#define SCAN_COUNT 60
/* The scan's number 0 … SCAN_COUNT - 1. */
scan scan_at(size_t number);
/* "K-014 cover front.tif" */
void scan_name(const scan *s, char *out, size_t size);
bool item_is_cover(const item *it);

#endif
