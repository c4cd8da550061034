/* The text that goes with the scans: lists of commands for `glassine batch`, and the truth to compare with.
 */
#ifndef ENGRAVER_LISTS_H
#define ENGRAVER_LISTS_H

#include <stdbool.h>

/* marks.txt: design, plate, states and known marks; items.txt: what the items are; observations.txt: what is
 * to be seen on them under a glass; places.txt: where on the plate each stamp came from. */
bool lists_write(const char *folder);

#endif
