/* Every rule of spec/rules.md by its code. */
#ifndef GL_AUDIT_RULES_H
#define GL_AUDIT_RULES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct gl_rule {
    const char *code;
    const char *statement; /* what the spec demands */
    const char *meaning;   /* what its breach means for the person */
    const char *remedy;    /* what helps */
    bool asked;            /* on what people type or ask: no file can break it */
} gl_rule;

size_t gl_rule_count(void);
const gl_rule *gl_rule_at(size_t index);       /* sorted by code within a letter: B, C, E, K, L, R, S */
const gl_rule *gl_rule_find(const char *code); /* NULL: no such code */

#endif
