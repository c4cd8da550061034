/* Prints spec/rules.md out of the library's table of rules. */
#include <stdio.h>
#include <string.h>

#include "audit/rules.h"

static const char *title_of(char letter) {
    switch (letter) {
    case 'B':
        return "B: the bag (bag.md)";
    case 'C':
        return "C: the container (container.md)";
    case 'E':
        return "E: editions and about.json (log.md)";
    case 'K':
        return "K: signatures (slips.md)";
    case 'L':
        return "L: limits (limits.md)";
    case 'R':
        return "R: records (records.md)";
    default:
        return "S: slips and lines of the log (slips.md, log.md)";
    }
}

/* A bar would end the table's cell. */
static void print_cell(const char *text) {
    for (; *text; text++)
        fputs(*text == (char)124 ? "\\|" : (char[]){*text, 0}, stdout);
}

int main(void) {
    puts(
        "# Rule codes\n\n"
        "Every MUST of this specification has a code. Messages and audit findings carry it. For each code that a\n"
        "file can break, `testvectors/bad/` has at least one bundle that breaks this rule and no other; its\n"
        "name begins with the code. `scripts/build-spec` lists them beside the rules.\n\n"
        "This page is made of the library's own table by `dump_rules`; a test compares the two.");
    char letter = 0;
    for (size_t i = 0; i < gl_rule_count(); i++) {
        const gl_rule *rule = gl_rule_at(i);
        if (rule->code[0] != letter) {
            letter = rule->code[0];
            printf(
                "\n## %s\n\n| code | rule | what a breach means | what helps |\n| --- | --- | --- | --- |\n",
                title_of(letter));
        }
        printf("| %s | ", rule->code);
        print_cell(rule->statement);
        printf(" | ");
        print_cell(rule->meaning);
        printf(" | ");
        print_cell(rule->remedy);
        puts(" |");
    }
    return 0;
}
