/* Converters: what a bundle holds, in other formats. On glassine.h alone. */
#ifndef CONVERTERS_H
#define CONVERTERS_H

#include "glassine.h"

typedef struct glassine_json_options {
    bool with_private; /* private slips, fields and records too; the document says so */
    bool history;      /* every slip, under "slips" */
} glassine_json_options;

/* The whole bundle as one JSON document (spec/json-document.md), handed on in pieces. It depends on the set
 * of slips and on whose bundle it is, and on nothing else. `options` NULL: none of them. */
glassine_status glassine_to_json(glassine_bundle *bundle, const glassine_json_options *options,
                                 glassine_write write, void *context, glassine_error *error);

/* The same records as JSON Lines: TYPE.jsonl for each type that has records, and about.json, into `folder`,
 * which is made where it is not there. No file is replaced. What was written goes into `report` (may be
 * NULL). */
glassine_status glassine_to_json_lines(glassine_bundle *bundle, const char *folder,
                                       const glassine_json_options *options, glassine_report *report,
                                       glassine_error *error);

/* What makes the document of `b` out of that of `a`: RFC 6902, with `add`, `remove` and `replace` only. */
glassine_status glassine_patch(glassine_bundle *a, glassine_bundle *b, const glassine_json_options *options,
                               glassine_write write, void *context, size_t *operations,
                               glassine_error *error);

/* What differs, as CSV: a row for each field, with the columns item, record, type, label, in (which side has
 * the record: first, second, both), field, reach, first, second. Cells as in spec/csv.md, lines end with a
 * line feed. */
glassine_status glassine_diff_csv(glassine_bundle *a, glassine_bundle *b,
                                  const glassine_diff_options *options, glassine_write write, void *context,
                                  size_t *rows, glassine_error *error);

typedef struct glassine_csv_options {
    bool with_private; /* private fields and records too; the sheets say so */
    bool with_aside;   /* records that are set aside too */
    bool without_bom;  /* no byte order mark: for programs that stumble over it */
    bool flat;         /* one table to read instead: items.csv, an item a row */
} glassine_csv_options;

/* TYPE.csv for each type that has records, read-me.txt and csv-metadata.json into `folder` (spec/csv.md),
 * which is made where it is not there. A file that exists is never replaced: refused, naming it, before
 * anything is written. What was written, and warnings, go into `report` (may be NULL). */
glassine_status glassine_to_csv(glassine_bundle *bundle, const char *folder,
                                const glassine_csv_options *options, glassine_report *report,
                                glassine_error *error);

typedef enum glassine_face {
    GLASSINE_FACE_ITEMS,    /* to look, and to answer */
    GLASSINE_FACE_TALK,     /* one item a screen */
    GLASSINE_FACE_SCHEDULE, /* picture, storage place, values; needs with_private */
    GLASSINE_FACE_HANDOVER  /* what those who take over must know */
} glassine_face;

#define GLASSINE_SCAN_LIMIT 1600

typedef struct glassine_html_options {
    uint32_t scan_limit; /* pixels on the longer side of a picture; 0: as many as the scan has */
    bool with_private;   /* private fields and records too; the page says so */
    glassine_face face;
    /* a selection's label: its items in its order; NULL: those of a dispatch, else all */
    const char *selection;
    /* where scans are looked for whose bytes the bundle does not have; NULL: nowhere */
    glassine_bundle *scans;
} glassine_html_options;

/* The page (spec/page.md): one HTML file that needs nothing beside it, handed on in pieces. Scans that are
 * not there or cannot be shown are findings of `report` (may be NULL). */
glassine_status glassine_to_html(glassine_bundle *bundle, const glassine_html_options *options,
                                 glassine_write write, void *context, glassine_report *report,
                                 glassine_error *error);

/* An SVG picture of a plate (spec/plates.md): every position with what can be said of it, a legend, the
 * figures. It is 190 mm wide and at most 254 mm high, so that it prints on one page of A4 and of Letter. No
 * meaning hangs on colour: outline, filling and sign say the same. */
glassine_status glassine_chart_svg(glassine_bundle *bundle, glassine_record *plate, glassine_write write,
                                   void *context, glassine_report *report, glassine_error *error);
typedef struct glassine_xlsx_options {
    bool with_private; /* private fields and records too, and the insurance list; the workbook says so */
    bool with_aside;   /* records that are set aside too */
    bool pictures;     /* a small picture of each item in its sheet */
} glassine_xlsx_options;

/* The same tables as one workbook, a sheet for each type, with an about sheet and a chart of each plate
 * (spec/xlsx.md). The file must not exist. What was written, and warnings, go into `report` (may be NULL). */
glassine_status glassine_to_xlsx(glassine_bundle *bundle, const char *path,
                                 const glassine_xlsx_options *options, glassine_report *report,
                                 glassine_error *error);

typedef struct glassine_sheets_options {
    bool preview;        /* tells of the slips that would be made, and leaves the draft empty */
    bool accept_partial; /* takes the rows that can be taken; without it all or none */
    bool strike_missing; /* sets aside the records that a sheet has no row of any more */
    const char *why;     /* kept with each slip; NULL: none */
    const char *map; /* how a foreign sheet is to be read (spec/foreign-sheets.md); NULL: it is one of ours */
    void (*progress)(void *context, uint64_t done, uint64_t total); /* rows; NULL: nobody is told */
    void *context;
} glassine_sheets_options;

/* Sheets that to-csv wrote, changed since (spec/csv.md): each cell that differs from what its row was made
 * from goes into the draft as a statement that follows exactly the slips in the row's `version`; a row
 * without an id is a new record. `draft` is an empty draft of the bundle and is not saved. Every row that
 * cannot be taken is a finding with its line, column and reason; unless options say otherwise it is refused
 * then, with an empty draft, and the report tells of what would have been taken. Wants attention where a row
 * was not taken or a field is contested. */
glassine_status glassine_from_csv(glassine_bundle *bundle, glassine_draft *draft, const char *const *sheets,
                                  size_t count, const glassine_sheets_options *options,
                                  glassine_report *report, glassine_error *error);

/* The same for a JSON document that to-json wrote, changed since (spec/json-document.md). Where it has its
 * history, the slips that the bundle lacks are taken in as they are, first. */
glassine_status glassine_from_json(glassine_bundle *bundle, glassine_draft *draft, const char *path,
                                   const glassine_sheets_options *options, glassine_report *report,
                                   glassine_error *error);
/* A new bundle out of such a document with its history: its slips, title and keeper, and a UUID of its own;
 * all or nothing. `note` (may be NULL) is the edition's. */
glassine_status glassine_from_json_new(const char *document, const char *path, const char *note,
                                       glassine_report *report, glassine_error *error);
/* The same for a workbook that to-xlsx wrote: its sheets that have the columns `id` and `version`. */
glassine_status glassine_from_xlsx(glassine_bundle *bundle, glassine_draft *draft, const char *path,
                                   const glassine_sheets_options *options, glassine_report *report,
                                   glassine_error *error);

/* A first map of a foreign sheet, CSV or a workbook, into the new file `map`: for a person to correct. The
 * report says how many questions it leaves open, and wants attention then. */
glassine_status glassine_sheet_map_draft(const char *sheet, const char *map, glassine_report *report,
                                         glassine_error *error);

#endif
