#include "audit/rules.h"

#include <string.h>

#define GL_RULE(code, statement, meaning, remedy) {code, statement, meaning, remedy, false},
#define GL_ASKED(code, statement, meaning, remedy) {code, statement, meaning, remedy, true},
static const gl_rule rules[] = {
#include "audit/rules/B.def"
#include "audit/rules/C.def"
#include "audit/rules/E.def"
#include "audit/rules/K.def"
#include "audit/rules/L.def"
#include "audit/rules/R.def"
#include "audit/rules/S.def"
};
#undef GL_RULE
#undef GL_ASKED

size_t gl_rule_count(void) {
    return sizeof rules / sizeof rules[0];
}

const gl_rule *gl_rule_at(size_t index) {
    return &rules[index];
}

const gl_rule *gl_rule_find(const char *code) {
    for (size_t i = 0; i < gl_rule_count(); i++)
        if (strcmp(rules[i].code, code) == 0)
            return &rules[i];
    return NULL;
}
