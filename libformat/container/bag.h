/* BagIt inside (RFC 8493): manifests as sorted lines, bag-info, the fixed small files (spec/bag.md). */
#ifndef GL_CONTAINER_BAG_H
#define GL_CONTAINER_BAG_H

#include "container/writer.h"

#define GL_BAG_DECLARATION "bagit.txt"
#define GL_BAG_INFO "bag-info.txt"
#define GL_BAG_PAYLOAD "manifest-sha256.txt"
#define GL_BAG_TAGS "tagmanifest-sha256.txt"
#define GL_BAG_README "read-me.txt"
#define GL_BAG_PAGE "open-me.html" /* optional; derived from the rest */
#define GL_BAG_ABOUT "data/about.json"

/* bagit.txt, RFC 8493, 2.1.1. */
#define GL_BAG_DECLARED "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

/* A manifest in memory: "SHA256  name" lines, sorted by name. */
typedef struct gl_manifest gl_manifest;
gl_manifest *gl_manifest_new(void);
void gl_manifest_free(gl_manifest *manifest);
/* Into an empty manifest. Lines of that form, sorted by the bytes of the name, each ended by \n (B021;
 * `place` in errors). */
glassine_status gl_manifest_parse(gl_manifest *manifest, gl_span text, const char *place,
                                  glassine_error *error);
bool gl_manifest_set(gl_manifest *manifest, gl_span name, const gl_digest *digest); /* false: no memory */
void gl_manifest_remove(gl_manifest *manifest, gl_span name);
bool gl_manifest_find(const gl_manifest *manifest, gl_span name, gl_digest *digest); /* digest may be NULL */
/* Has it other lines than when it was parsed, or settled last? */
bool gl_manifest_changed(const gl_manifest *manifest);
void gl_manifest_settle(gl_manifest *manifest);
size_t gl_manifest_count(const gl_manifest *manifest);
/* Walks the lines, in no order that matters; start with *at = 0. */
bool gl_manifest_next(const gl_manifest *manifest, size_t *at, gl_span *name, gl_digest *digest);
/* Sorted; out->failed where memory ran out. */
void gl_manifest_print(const gl_manifest *manifest, gl_buf *out);

/* What an edition needs to write of the bag. Adds or replaces, as far as they changed: bagit.txt,
 * read-me.txt, bag-info.txt (Payload-Oxum, Bagging-Date, External-Identifier urn:uuid:…,
 * External-Description, Bag-Software-Agent), manifest-sha256.txt and tagmanifest-sha256.txt. `payload` and
 * `tags` hold the digests of what is in the directory to be (without the files this function writes itself;
 * they are put into `tags`). */
typedef struct gl_bag_facts {
    gl_span uuid, title, tool;
    int64_t at;
    uint64_t payload_bytes, payload_files;
} gl_bag_facts;
glassine_status gl_bag_write(gl_writer *writer, const gl_zip *previous, const gl_bag_facts *facts,
                             const gl_manifest *payload, gl_manifest *tags, glassine_error *error);

/* Is this inner name one of the files that gl_bag_write writes itself? */
bool gl_bag_writes(gl_span inner);

/* Reads both manifests of an open file and checks them against its entries by name: every payload entry
 * listed and the reverse, every tag file but tagmanifest itself listed; bagit.txt as RFC 8493 has it; no
 * other manifest, no fetch.txt (B-codes). Both manifests must be empty. Digests are checked of the files that
 * are read here; of others by gl_bag_check and gl_bag_read_file. */
glassine_status gl_bag_read(const gl_zip *zip, const glassine_limits *limits, gl_manifest *payload,
                            gl_manifest *tags, glassine_error *error);

/* Streams an entry's content and compares its digest with its line (B024, B034); the tag manifest itself,
 * which no line is for, has its CRC checked only. */
glassine_status gl_bag_check(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                             const gl_manifest *tags, glassine_error *error);
/* The same of many entries, on all processors; `watch` (may be NULL) counts the bytes of their content. The error is that
 * of the first in the list that has one. */
glassine_status gl_bag_check_many(const gl_zip *zip, const gl_entry *const *entries, size_t count,
                                  const gl_manifest *payload, const gl_manifest *tags, gl_watch *watch,
                                  glassine_error *error);
/* For one of several threads: as gl_bag_check, counted by `watch`, stopped by it. */
glassine_status gl_bag_check_watched(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                     const gl_manifest *tags, gl_watch *watch, glassine_error *error);
/* Compares the digest of an entry's whole content, which was read, with its line. */
glassine_status gl_bag_check_content(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                     const gl_manifest *tags, gl_span content, glassine_error *error);
/* Whole content of a file as gl_zip_read gives it, its digest compared with its line. */
glassine_status gl_bag_read_file(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                 const gl_manifest *tags, uint64_t limit, gl_buf *out, glassine_error *error);

#endif
