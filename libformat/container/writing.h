/* What a writer is made of. Private to this layer. */
#ifndef GL_CONTAINER_WRITING_H
#define GL_CONTAINER_WRITING_H

#include "base/map.h"
#include "container/footer.h"
#include "container/writer.h"

struct gl_writer {
    int fd;
    char *path;
    const gl_zip *zip; /* NULL: a new file */
    gl_arena *arena;   /* names */
    gl_span base;
    uint32_t edition;
    uint16_t date, time;
    bool *dropped;   /* by index in zip */
    gl_entry *fresh; /* what this edition wrote, in the order of the file */
    size_t fresh_count, fresh_room;
    gl_map *fresh_names; /* inner name -> index in fresh */
    uint64_t start;      /* length of the file at the edition before */
    uint64_t at;         /* where the next entry goes */
    uint64_t tail;       /* bytes behind `start` when the writer began */
    char *tail_path;     /* where they were copied to; NULL: nowhere yet */
    bool begun;          /* the file has been written to */
    bool broken;         /* writing failed: finish refuses */
    bool finished;
    gl_end end; /* what was written last, where it is finished */
};

/* Saves and cuts off a tail before the first byte is written; checks that the file is as it was opened. */
glassine_status gl_writer_begin(gl_writer *writer, glassine_error *error);
/* Puts the file back to what it was before gl_writer_begin, as far as the system lets it. */
void gl_writer_undo(gl_writer *writer);

/* An entry of this edition that would be called `inner`: its name, times, place; refused where the name
 * cannot be had or stands already. */
glassine_status gl_writer_entry(gl_writer *writer, gl_span inner, gl_entry *entry, glassine_error *error);
/* The local header at entry->header_at, the data being behind it already; then the entry belongs to the
 * edition. */
glassine_status gl_writer_seal(gl_writer *writer, const gl_entry *entry, glassine_error *error);
/* Writes content bytes; a failure breaks the writer. */
glassine_status gl_writer_put(gl_writer *writer, const void *bytes, size_t length, uint64_t offset,
                              glassine_error *error);
/* Forgets what was written from writer->at on; returns `status`. */
glassine_status gl_writer_forget(gl_writer *writer, glassine_status status);
/* An entry's raw bytes out of another file, under the name `inner`; see gl_writer_add_raw. */
glassine_status gl_writer_take_raw(gl_writer *writer, const gl_file *from, const gl_entry *entry,
                                   gl_span inner, glassine_error *error);
gl_span gl_writer_inner(const gl_writer *writer, gl_span name);

#endif
