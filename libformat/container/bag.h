/* BagIt inside (RFC 8493): manifests as sorted lines, bag-info, the fixed small files. */
#ifndef GL_CONTAINER_BAG_H
#define GL_CONTAINER_BAG_H

#include "container/writer.h"

/* A manifest in memory: "SHA256  name" lines, sorted by name. */
typedef struct gl_manifest gl_manifest;
gl_manifest *gl_manifest_new(void);
void gl_manifest_free(gl_manifest *manifest);
glassine_status gl_manifest_parse(gl_manifest *manifest, gl_span text, const char *place, glassine_error *error);
bool gl_manifest_set(gl_manifest *manifest, gl_span name, const gl_digest *digest);
void gl_manifest_remove(gl_manifest *manifest, gl_span name);
bool gl_manifest_find(const gl_manifest *manifest, gl_span name, gl_digest *digest);
size_t gl_manifest_count(const gl_manifest *manifest);
void gl_manifest_print(const gl_manifest *manifest, gl_buf *out);

/* What an edition needs to write of the bag. Adds or replaces, as far as they changed: bagit.txt, read-me.txt,
 * bag-info.txt (Payload-Oxum, Bagging-Date, External-Identifier urn:uuid:…, External-Description,
 * Bag-Software-Agent), manifest-sha256.txt and tagmanifest-sha256.txt. `payload` and `tags` hold the digests of
 * what is in the directory to be (without the files this function writes itself). */
typedef struct gl_bag_facts {
    gl_span uuid, title, tool;
    int64_t at;
    uint64_t payload_bytes, payload_files;
} gl_bag_facts;
glassine_status gl_bag_write(gl_writer *writer, const gl_zip *previous, const gl_bag_facts *facts,
                             const gl_manifest *payload, gl_manifest *tags, glassine_error *error);

/* Reads both manifests of an open file and checks them against its entries by name: every payload entry listed
 * and the reverse, every tag file but tagmanifest itself listed; bagit.txt as RFC 8493 has it; no other
 * manifest, no fetch.txt (B-codes). Digests of scans are checked by the audit. */
glassine_status gl_bag_read(const gl_zip *zip, const glassine_limits *limits, gl_manifest *payload,
                            gl_manifest *tags, glassine_error *error);

#endif
