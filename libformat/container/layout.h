/* The bytes of the container's records (spec/container.md; APPNOTE 6.3.10, section 4.3): an entry decides its
 * local header and its directory record, a footer decides its Zip64 records and its end record, all to the
 * byte. Private to this layer. */
#ifndef GL_CONTAINER_LAYOUT_H
#define GL_CONTAINER_LAYOUT_H

#include "container/zip.h"

enum {
    GL_LOCAL_SIZE = 30,  /* a local header without its name and extra field */
    GL_RECORD_SIZE = 46, /* a directory record without these */
    GL_END_SIZE = 22,    /* the end record without its comment */
    GL_END64_SIZE = 56,
    GL_LOCATOR_SIZE = 20,
    GL_EXTRA_HEAD = 4, /* header id and size of an extra field */
    GL_NAME_MAX = 512, /* of an entry, with its base folder */
    GL_BASE_MAX = 57,  /* "glassine-" and 48 characters */
    GL_COMMENT_MAX = 160,
    GL_LOCAL_MAX = GL_LOCAL_SIZE + GL_NAME_MAX + GL_EXTRA_HEAD + 16,
    GL_RECORD_MAX = GL_RECORD_SIZE + GL_NAME_MAX + GL_EXTRA_HEAD + 24,
    GL_END64_BOTH = GL_END64_SIZE + GL_LOCATOR_SIZE,
    GL_END_MAX = GL_END64_BOTH + GL_END_SIZE + GL_COMMENT_MAX
};

#define GL_LOCAL_SIGN UINT32_C(0x04034b50)
#define GL_RECORD_SIGN UINT32_C(0x02014b50)
#define GL_END_SIGN UINT32_C(0x06054b50)
#define GL_END64_SIGN UINT32_C(0x06064b50)
#define GL_LOCATOR_SIGN UINT32_C(0x07064b50)

#define GL_MADE_BY 0x032d  /* Unix, APPNOTE 4.5 */
#define GL_NEEDED_PLAIN 20 /* deflate, folders */
#define GL_NEEDED_ZIP64 45
#define GL_ATTRIBUTES UINT32_C(0x81a40000) /* a regular file, rw-r--r-- */
#define GL_FLAG_UTF8 0x0800                /* bit 11 */
#define GL_ZIP64_ID 0x0001
#define GL_FULL16 UINT32_C(0xffff) /* "see the Zip64 value" */
#define GL_FULL32 UINT32_C(0xffffffff)

#define GL_SCANS "data/scans/"
#define GL_EDITION_MAX UINT32_C(99999999) /* eight digits in the names of segments */

uint16_t gl_get16(const uint8_t *bytes);
uint32_t gl_get32(const uint8_t *bytes);
uint64_t gl_get64(const uint8_t *bytes);

/* Needs the entry's sizes or offset a Zip64 field somewhere? */
bool gl_layout_zip64(const gl_entry *entry);
uint16_t gl_layout_needed(const gl_entry *entry);
uint16_t gl_layout_flags(gl_span name);
/* The local header with name and extra field: its size, and its bytes. */
size_t gl_layout_local_size(const gl_entry *entry);
size_t gl_layout_local(const gl_entry *entry, uint8_t out[GL_LOCAL_MAX]);
size_t gl_layout_record(const gl_entry *entry, uint8_t out[GL_RECORD_MAX]);

bool gl_layout_end_zip64(const gl_footer *footer);
/* The Zip64 end record and its locator, 0 bytes where they are not called for. */
size_t gl_layout_end64(const gl_footer *footer, uint8_t out[GL_END64_BOTH]);
/* The end record with its comment. */
size_t gl_layout_end(const gl_footer *footer, uint8_t out[GL_END_MAX]);
/* The comment's grammar; fills edition, start, sum, major, minor. False where it is not kept to. */
bool gl_layout_comment(gl_span comment, gl_footer *footer);

/* Is the entry one whose data the sum leaves out: stored, below data/scans/? */
bool gl_layout_is_scan(gl_span base, const gl_entry *entry);

#endif
