/* Pages of help that belong to no single verb. */
#ifndef CLI_TOPICS_H
#define CLI_TOPICS_H

#include <stddef.h>

typedef struct cli_topic {
    const char *name;
    const char *summary;
    /* paragraphs, separated by line feeds; a line that begins with two spaces stays as it is */
    const char *text;
} cli_topic;

size_t cli_topic_count(void);
const cli_topic *cli_topic_at(size_t index);
const cli_topic *cli_topic_find(const char *name); /* NULL: there is none */

#endif
