#include_next <errno.h>
#ifndef EDQUOT
#define EDQUOT 1069
#endif
