#include "slips/chain.h"

gl_digest gl_chain_link(gl_hash *hash, const gl_digest *before, const gl_digest *line) {
    uint8_t both[2 * sizeof before->bytes];
    memcpy(both, before->bytes, sizeof before->bytes);
    memcpy(both + sizeof before->bytes, line->bytes, sizeof line->bytes);
    return gl_hash_once(hash, both, sizeof both);
}

static gl_digest parts_digest(gl_hash *hash, gl_span front, gl_span back) {
    gl_hash_start(hash);
    gl_hash_add(hash, front.text, front.length);
    gl_hash_add(hash, back.text, back.length);
    return gl_hash_end(hash);
}

gl_digest gl_chain_parts(gl_hash *hash, const gl_digest *before, gl_span front, gl_span back) {
    gl_digest line = parts_digest(hash, front, back);
    return gl_chain_link(hash, before, &line);
}

/* The member is cut out with the comma before it: `at` stands before it in every edition line. */
gl_digest gl_chain_edition_line(gl_hash *hash, gl_span line, gl_span log) {
    const size_t name = sizeof ",\"log\":\"" - 1;
    size_t from = (size_t)(log.text - line.text) - name, to = from + name + log.length + 1;
    return parts_digest(hash, gl_span_part(line, 0, from), gl_span_part(line, to, line.length));
}

gl_digest gl_chain_edition(gl_hash *hash, const gl_digest *before, gl_span line, gl_span log) {
    gl_digest digest = gl_chain_edition_line(hash, line, log);
    return gl_chain_link(hash, before, &digest);
}

gl_digest gl_chain_lines(gl_hash *hash, const gl_digest *before, gl_span lines) {
    gl_digest chain = *before;
    for (size_t at = 0; at < lines.length;) {
        const char *end = memchr(lines.text + at, '\n', lines.length - at);
        size_t length = end ? (size_t)(end - lines.text) - at : lines.length - at;
        gl_digest line = gl_hash_once(hash, lines.text + at, length);
        chain = gl_chain_link(hash, &chain, &line);
        at += length + 1;
    }
    return chain;
}
