/* gather: a folder of images becomes items with scans. */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "folder.h"
#include "record.h"
#include "refuse.h"
#include "verbs.h"

typedef struct known_item {
    const char *label;
    glassine_record *record;
} known_item;

typedef struct gathering {
    known_item *items; /* those in the bundle before, sorted by label */
    size_t item_count;
    size_t taken;
    known_item current; /* of the image before: images of one label come one after the other */
    size_t made;
    glassine_node *list;
} gathering;

static int by_label(const void *a, const void *b) {
    return strcmp(((const known_item *)a)->label, ((const known_item *)b)->label);
}

static glassine_status know_items(cli_call *call, gathering *all) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(call->bundle, "item", false, &cursor, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    size_t room = 0;
    for (glassine_record *record; (record = glassine_cursor_next(cursor)) != NULL;) {
        if (all->item_count == room) {
            room = room > 0 ? room * 2 : 64;
            known_item *more = realloc(all->items, room * sizeof *more);
            if (more == NULL) {
                glassine_cursor_free(cursor);
                return cli_memory(call->error);
            }
            all->items = more;
        }
        all->items[all->item_count++] = (known_item){cli_label(call, record), record};
    }
    glassine_cursor_free(cursor);
    if (all->item_count > 0) {
        qsort(all->items, all->item_count, sizeof *all->items, by_label);
    }
    return GLASSINE_OK;
}

static glassine_status make_item(cli_call *call, gathering *all, const char *label, glassine_record **item) {
    const glassine_assignment item_label = {.field = "label", .value = label};
    glassine_status status =
        glassine_draft_enter(call->draft, "item", &item_label, 1, NULL, item, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_record *stamp;
    const glassine_assignment on = {.field = "item", .value = cli_id(call, *item)};
    all->made++;
    return glassine_draft_enter(call->draft, "stamp", &on, 1, NULL, &stamp, call->error);
}

/* The item of that label; *item NULL where two have it, which is told. */
static glassine_status item_of(cli_call *call, gathering *all, const cli_image *image,
                               glassine_record **item) {
    if (all->current.label == NULL || strcmp(all->current.label, image->label) != 0) {
        const known_item wanted = {image->label, NULL};
        known_item *found = all->item_count > 0
                                ? bsearch(&wanted, all->items, all->item_count, sizeof wanted, by_label)
                                : NULL;
        all->current = (known_item){image->label, found != NULL ? found->record : NULL};
        bool twice =
            found != NULL && ((found > all->items && by_label(found - 1, found) == 0) ||
                              (found + 1 < all->items + all->item_count && by_label(found, found + 1) == 0));
        if (twice) {
            all->current.record = NULL;
        } else if (found == NULL) {
            glassine_status status = make_item(call, all, image->label, &all->current.record);
            if (status != GLASSINE_OK) {
                return status;
            }
        }
    }
    *item = all->current.record;
    if (*item == NULL) {
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, image->name,
                                "Give them labels of their own, or use 'attach' with an id",
                                "left out: several items are called %s", image->label);
    }
    return GLASSINE_OK;
}

/* The bytes of all images into the draft; marks those that are there already, in the bundle or earlier in the
 * folder. */
static glassine_status take_bytes(cli_call *call, const cli_folder *folder, bool *known) {
    const char **paths = cli_pool_take(call->pool, (folder->count + 1) * sizeof *paths);
    if (paths == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < folder->count; i++) {
        paths[i] = folder->images[i].path;
    }
    return glassine_draft_gather(call->draft, paths, folder->count, known, call->error);
}

/* The first word of a caption that is a side: "cover back" and "back detail" show the back. NULL: it says none. */
static const char *side_of(const char *caption) {
    static const char *const SIDES[] = {"front", "back", "detail"};
    for (const char *word = caption; word != NULL && *word != '\0';) {
        size_t length = strcspn(word, " ");
        for (size_t i = 0; i < sizeof SIDES / sizeof SIDES[0]; i++) {
            if (length == strlen(SIDES[i]) && strncasecmp(word, SIDES[i], length) == 0) {
                return SIDES[i];
            }
        }
        word += length + strspn(word + length, " ");
    }
    return NULL;
}

static glassine_status gather_image(cli_call *call, gathering *all, const cli_image *image) {
    glassine_record *item, *scan;
    glassine_status status = item_of(call, all, image, &item);
    if (status != GLASSINE_OK || item == NULL) {
        return status;
    }
    const char *side = side_of(image->caption);
    const glassine_assignment fields[] = {{.field = "caption", .value = image->caption},
                                          {.field = "side", .value = side}};
    size_t count = image->caption == NULL ? 0 : side == NULL ? 1 : 2;
    bool known;
    status = glassine_draft_attach(call->draft, item, image->path, fields, count, &scan, &known, call->report,
                                   call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    all->taken++;
    glassine_node *row = glassine_node_object(all->list, NULL, NULL);
    glassine_node_string(row, "file", NULL, image->name);
    glassine_node_text(row, "item", NULL, glassine_record_id(call->bundle, item));
    glassine_node_string(row, "label", NULL, image->label);
    glassine_node_text(row, "scan", NULL, glassine_record_id(call->bundle, scan));
    return GLASSINE_OK;
}

static void tell(cli_call *call, const gathering *all, const cli_folder *folder) {
    glassine_node_integer(call->result, "items", "items made", (int64_t)all->made);
    glassine_node_integer(call->result, "scans", "scans taken in", (int64_t)all->taken);
    glassine_node_integer(call->result, "passed_over", "passed over", (int64_t)(folder->count - all->taken));
    glassine_node_integer(call->result, "skipped", "skipped", (int64_t)folder->skipped);
}

static glassine_status gather(cli_call *call, gathering *all, const cli_folder *folder) {
    bool *known = cli_pool_take(call->pool, folder->count + 1);
    if (known == NULL) {
        return cli_memory(call->error);
    }
    glassine_status status = take_bytes(call, folder, known);
    all->list = glassine_node_list(call->result, "taken", NULL);
    for (size_t i = 0; i < folder->count && status == GLASSINE_OK; i++) {
        if (known[i]) {
            glassine_report_finding(call->report, GLASSINE_NOTE, NULL, folder->images[i].name, NULL,
                                    "passed over: it is in the bundle already");
        } else {
            status = gather_image(call, all, &folder->images[i]);
        }
    }
    return status;
}

glassine_status cli_gather(cli_call *call) {
    cli_folder folder;
    gathering all = {0};
    glassine_status status = cli_folder_read(call, call->args->words[0], &folder);
    if (status == GLASSINE_OK) {
        status = know_items(call, &all);
    }
    if (status == GLASSINE_OK) {
        status = gather(call, &all, &folder);
    }
    if (status == GLASSINE_OK) {
        tell(call, &all, &folder);
    }
    free(all.items);
    return status;
}
