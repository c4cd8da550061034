/* A record as JSON, its members in canonical order (spec/json-document.md). */
#ifndef CONVERTERS_JSON_RECORD_H
#define CONVERTERS_JSON_RECORD_H

#include "output.h"
#include "view.h"

#define JSON_DOCUMENT_VERSION "1.0"

typedef struct json_writer {
    glassine_bundle *bundle;
    bool history; /* slips too */
    bool lines;   /* a record stands alone: it says its key, and whether it holds something private */
    conv_output out;
    conv_view view;
} json_writer;

/* The record that the view looks at. */
void json_add_record(json_writer *w);

/* Members of an object that was opened; a comma before them, unless they are the first. */
void json_member(conv_output *out, glassine_span name);
void json_open_object(conv_output *out, const char *name);
void json_string_member(conv_output *out, const char *name, glassine_span value); /* absent: nothing */
void json_true_member(conv_output *out, const char *name, bool value);            /* false: nothing */

/* "cautions": of records of a document; nothing where there are none. */
void json_add_cautions(conv_output *out, const conv_cautions *cautions);

#endif
