/* The chain over the lines of a log (spec/log.md). */
#ifndef GL_SLIPS_CHAIN_H
#define GL_SLIPS_CHAIN_H

#include "base/hash.h"

/* One link: the value behind a line, from the value before it and SHA-256 over the line's text. */
gl_digest gl_chain_link(gl_hash *hash, const gl_digest *before, const gl_digest *line);
/* The value behind an edition line; its `log` member, whose value `log` is (within `line`, without quotes),
 * is left out of the text. */
gl_digest gl_chain_edition(gl_hash *hash, const gl_digest *before, gl_span line, gl_span log);
/* SHA-256 over such a line's text without that member: what it is linked by. */
gl_digest gl_chain_edition_line(gl_hash *hash, gl_span line, gl_span log);
/* The value behind an edition line whose `log` member stands, or will, between the two parts. */
gl_digest gl_chain_parts(gl_hash *hash, const gl_digest *before, gl_span front, gl_span back);
/* The value behind all of `lines`, each ended by \n, no edition line among them. */
gl_digest gl_chain_lines(gl_hash *hash, const gl_digest *before, gl_span lines);

#endif
